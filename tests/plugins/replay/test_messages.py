"""Recorded conversations answer again, and what was never recorded is said to be so."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

import witnessmark_replay
from witnessmark.clock import NS, ManualClock, SystemClock
from witnessmark.errors import LocalError
from witnessmark.link import address as addresses
from witnessmark.link.frame import Event, Message, Peer
from witnessmark.link.port import MessageLink
from witnessmark.testing.verdict import Aside

UNIT = Peer(0x7E0, 0x7E8)
VIN = b"\x22\xf1\x90"
LOG = """(10.000000) can0 7E0#0322F19000000000
(10.010000) can0 7E8#037F227800000000
(10.500000) can0 7E8#100A62F190414243
(10.501000) can0 7E0#3000000000000000
(10.502000) can0 7E8#2144454647000000
(11.000000) can0 7E0#0322F19000000000
(11.020000) can0 7E8#0562F19058590000
(12.000000) can0 7DF#023E000000000000
(12.010000) can0 7E8#027E000000000000
(12.011000) can0 7E9#027E000000000000
(13.000000) can0 7E0#0322F1A000000000
(13.020000) can0 7E8#037F223100000000
"""


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock()


@pytest.fixture
def link(tmp_path: Path, clock: ManualClock) -> Any:
    path = tmp_path / "bay.log"
    path.write_text(LOG, encoding="ascii")
    opened = witnessmark_replay.open_link(addresses.parse(f"replay:{path}?as=messages"), clock, False)
    assert isinstance(opened, MessageLink)
    yield opened
    opened.close()


def payloads(came: Sequence[Message | Event]) -> list[str]:
    return [one.payload.hex() if isinstance(one, Message) else one.kind for one in came]


def test_answers_come_after_their_recorded_delay(link: Any, clock: ManualClock) -> None:
    assert list(link.wake(UNIT)) == []
    link.send(UNIT, VIN)
    seen = []
    for step_s in (0.0, 0.010, 0.489, 0.001, 0.002, 5.0):
        clock.advance(step_s)
        seen.append(payloads(link.receive(0.0)))
    assert seen == [[], ["7f2278"], [], ["begun"], ["62f19041424344454647"], []]


def test_an_answer_keeps_its_frames_and_the_recordings_time(link: Any, clock: ManualClock) -> None:
    link.send(UNIT, VIN)
    clock.advance(1.0)
    whole = next(one for one in link.receive(0.0) if isinstance(one, Message) and one.payload[0] == 0x62)
    assert whole.peer == UNIT and whole.origin == "received"
    assert whole.raw == (bytes.fromhex("100A62F190414243"), bytes.fromhex("2144454647000000"))
    assert whole.first.device_ns is not None and whole.last.device_ns is not None
    assert whole.last.device_ns - whole.first.device_ns == 2_000_000
    assert whole.first.mono_ns <= whole.last.mono_ns == clock.mono_ns()


def test_the_same_request_gets_its_next_recorded_answer_and_then_the_last(link: Any, clock: ManualClock) -> None:
    got = []
    for _ in range(3):
        link.send(UNIT, VIN)
        clock.advance(2.0)
        got.append(payloads(link.receive(0.0))[-1])
    assert got == ["62f19041424344454647", "62f1905859", "62f1905859"]


def test_a_functional_request_is_answered_by_all(link: Any, clock: ManualClock) -> None:
    link.send(Peer(0x7DF, None, functional=True), b"\x3e\x00")
    clock.advance(1.0)
    assert [(one.peer.source, one.payload.hex()) for one in link.receive(0.0)] == [(0x7E8, "7e00"), (0x7E9, "7e00")]


def test_a_recorded_refusal_is_an_answer(link: Any, clock: ManualClock) -> None:
    link.send(UNIT, b"\x22\xf1\xa0")
    clock.advance(1.0)
    assert payloads(link.receive(0.0)) == ["7f2231"]


@pytest.mark.parametrize(
    ("peer", "request_"), [(UNIT, b"\x22\xf1\x91"), (Peer(0x7E1, 0x7E9), VIN), (Peer(0x7E0, 0x7E8, extended=True), VIN)]
)
def test_a_request_that_was_never_recorded_is_said_to_be_so(
    link: Any, clock: ManualClock, peer: Peer, request_: bytes
) -> None:
    link.send(peer, request_)
    (told,) = link.receive(0.0)
    assert isinstance(told, Event) and told.kind == "refused" and told.peer == peer
    assert "was never recorded in bay.log, which asks 7DF, 7E0" in told.detail
    clock.advance(10.0)
    assert list(link.receive(0.0)) == []


def test_a_closed_or_overlong_request_is_refused(link: Any) -> None:
    with pytest.raises(LocalError, match="too many"):
        link.send(UNIT, bytes(4096))
    link.close()
    link.close()
    link.interrupt()
    for use in (lambda: link.send(UNIT, VIN), lambda: link.receive(0.0)):
        with pytest.raises(LocalError, match="closed"):
            use()


def test_played_fast_all_answers_are_due_at_once(tmp_path: Path) -> None:
    path = tmp_path / "bay.log"
    path.write_text(LOG, encoding="ascii")
    clock = ManualClock()
    link: Any = witnessmark_replay.open_link(addresses.parse(f"replay:{path}?as=messages&timing=fast"), clock, False)
    link.send(UNIT, VIN)
    assert payloads(link.receive(0.0)) == ["7f2278", "62f19041424344454647"]
    assert clock.mono_ns() % NS == 0
    link.close()


STEPPED = """(10.000000) can0 7E0#0322F19000000000
(10.010000) can0 7E8#100A62F190414243
(10.011000) can0 7E0#3000000000000000
(9.000000) can0 7E8#2144454647000000
"""
"""Recorded while the recording's clock was set back."""


def test_a_recording_whose_clock_was_set_back_gives_no_stamps_that_run_backwards(
    tmp_path: Path, clock: ManualClock
) -> None:
    path = tmp_path / "stepped.log"
    path.write_text(STEPPED, encoding="ascii")
    link: Any = witnessmark_replay.open_link(addresses.parse(f"replay:{path}?as=messages"), clock, False)
    sent = link.send(UNIT, VIN)
    clock.advance(5.0)
    (answer,) = [one for one in link.receive(0.0) if isinstance(one, Message)]
    assert answer.payload.hex() == "62f19041424344454647"
    assert sent.mono_ns <= answer.first.mono_ns <= answer.last.mono_ns <= clock.mono_ns()
    link.close()


def test_an_interrupt_before_a_wait_ends_that_one_and_no_other(tmp_path: Path) -> None:
    path = tmp_path / "bay.log"
    path.write_text(LOG, encoding="ascii")
    real = SystemClock()
    link: Any = witnessmark_replay.open_link(addresses.parse(f"replay:{path}?as=messages"), real, False)
    link.send(UNIT, VIN)
    link.interrupt()
    link.interrupt()
    assert payloads(link.receive(0.001)) == []
    came = []
    while len(came) < 3:
        came += payloads(link.receive(5.0))
    assert came == ["7f2278", "begun", "62f19041424344454647"], "nothing that was due is lost by it"
    link.close()


def test_closing_ends_a_wait_and_interrupts_meanwhile_do_nothing(tmp_path: Path) -> None:
    path = tmp_path / "bay.log"
    path.write_text(LOG, encoding="ascii")
    link: Any = witnessmark_replay.open_link(addresses.parse(f"replay:{path}?as=messages"), SystemClock(), False)
    waiting = Aside(lambda: link.receive(3600.0))
    closing = Aside(link.close)
    while not closing.done:
        link.interrupt()
    closing.result("close() does not return", 10.0)
    try:
        assert list(waiting.result("close() did not end the wait", 10.0)) == []
    except LocalError:
        pass  # it was closed before the wait began
