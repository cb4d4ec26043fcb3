"""Frames played back: the same ones that python-can's reader finds, with their gaps, and an end that is told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import can
import pytest

import witnessmark_replay
from witnessmark.clock import NS, Clock, ManualClock, SystemClock
from witnessmark.errors import InputError, LinkError, LocalError
from witnessmark.link import address as addresses
from witnessmark.link.frame import Event, Frame

LOG = """(10.000000) can0 7E0#0322F19000000000
(10.000500) can0 7E8#100A62F190414243
(10.250000) can0 18DAF110#0102030405060708
(12.000000) can0 123#R
"""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "bay.log"
    path.write_text(LOG, encoding="ascii")
    return path


def opened(path: Path, options: str = "", clock: Clock | None = None) -> Any:
    return witnessmark_replay.open_link(addresses.parse(f"replay:{path}{options}"), clock or SystemClock(), False)


def test_played_fast_the_frames_are_those_that_python_can_reads(log: Path) -> None:
    """Oracle: python-can's CanutilsLogReader."""
    with can.CanutilsLogReader(log) as reader:
        expected = [
            (one.arbitration_id, bytes(one.data), one.is_extended_id, one.is_remote_frame, round(one.timestamp * 1e6))
            for one in reader
        ]
    link = opened(log, "?timing=fast")
    came = link.receive(0.0)
    frames = [one for one in came if isinstance(one, Frame)]
    assert [
        (one.can_id, one.data, one.extended, one.kind == "remote", (one.stamp.device_ns or 0) // 1000) for one in frames
    ] == expected
    assert isinstance(came[-1], Event) and came[-1].kind == "lost" and "ends here" in came[-1].detail
    with pytest.raises(LinkError, match="over"):
        link.receive(0.0)
    link.close()


def test_the_recorded_gaps_pass_on_the_links_clock(log: Path) -> None:
    clock = ManualClock()
    link = opened(log, clock=clock)
    counts = []
    for step_s in (0.0, 0.0004, 0.0001, 0.2495, 1.7499, 0.0001):
        clock.advance(step_s)
        counts.append(len([one for one in link.receive(0.0) if isinstance(one, Frame)]))
    assert counts == [1, 0, 1, 1, 0, 1]
    assert clock.mono_ns() % NS == 0
    link.close()


def test_a_recording_cannot_be_sent_to(log: Path) -> None:
    link = opened(log)
    assert not link.capabilities.can_send
    with pytest.raises(LocalError, match="cannot be sent to") as caught:
        link.send(Frame(0x7E0, b"\x01", SystemClock().stamp()))
    assert "as=messages" in caught.value.hint
    link.close()


def test_damage_in_the_file_is_told(tmp_path: Path) -> None:
    path = tmp_path / "torn.log"
    path.write_text(LOG.replace("7E8#10", "7E8?10"), encoding="ascii")
    link = opened(path, "?timing=fast")
    came = link.receive(0.0)
    (garbled,) = [one for one in came if isinstance(one, Event) and one.kind == "garbled"]
    assert "line 2" in garbled.detail
    assert sum(isinstance(one, Frame) for one in came) == 3
    link.close()


@pytest.mark.parametrize(
    ("options", "what"),
    [
        ("?as=video", "neither frames nor messages"),
        ("?timing=slow", "neither recorded nor fast"),
        ("?x=1", "not known"),
    ],
)
def test_an_address_that_is_wrong_says_so(log: Path, options: str, what: str) -> None:
    with pytest.raises(InputError, match=what):
        opened(log, options)


def test_no_file_is_named() -> None:
    with pytest.raises(InputError, match="no file"):
        witnessmark_replay.open_link(addresses.parse("replay:"), SystemClock(), False)


def test_listening_only_is_kept_for_frames_and_refused_for_messages(log: Path) -> None:
    witnessmark_replay.open_link(addresses.parse(f"replay:{log}"), SystemClock(), True).close()
    with pytest.raises(LocalError, match="nothing to hear"):
        witnessmark_replay.open_link(addresses.parse(f"replay:{log}?as=messages"), SystemClock(), True)


def test_a_clock_that_was_set_back_holds_nothing_up_and_keeps_the_order(tmp_path: Path) -> None:
    path = tmp_path / "stepped.log"
    path.write_text("(10.0) can0 100#01\n(9.0) can0 100#02\n(9.5) can0 100#03\n(10.5) can0 100#04\n", encoding="ascii")
    clock = ManualClock()
    link = opened(path, clock=clock)
    came = link.receive(0.0)
    assert [one.data.hex() for one in came if isinstance(one, Frame)] == ["01", "02", "03"]
    clock.advance(0.5)
    came = link.receive(0.0)
    assert [getattr(one, "data", b"").hex() or one.kind for one in came] == ["04", "lost"]
    link.close()


def test_a_recording_without_a_frame_ends_at_once_and_says_so(tmp_path: Path) -> None:
    path = tmp_path / "torn.log"
    path.write_text("(10.0) can0 7E0?00\n(11.0) can0 7E\n", encoding="ascii")
    with pytest.raises(InputError) as caught:
        opened(path)
    assert caught.value.hint


def test_a_long_burst_comes_in_batches_so_that_a_stop_waits_for_one_at_most(tmp_path: Path) -> None:
    path = tmp_path / "burst.log"
    path.write_text("".join(f"(10.{number:06d}) can0 100#{number:04X}\n" for number in range(2500)), encoding="ascii")
    link = opened(path, "?timing=fast")
    sizes = []
    while not sizes or sizes[-1]:
        came = link.receive(0.0)
        sizes.append(len([one for one in came if isinstance(one, Frame)]))
        if any(isinstance(one, Event) for one in came):
            break
    assert sizes == [1000, 1000, 500]
    link.close()
