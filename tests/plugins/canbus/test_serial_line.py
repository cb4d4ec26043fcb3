"""What only the serial line shows: its commands, a port taken or forbidden, lines that are half right."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from typing import Any

import pytest
import serial
from tests.plugins.canbus.far_ends import SlcanFarEnd

import witnessmark_canbus
from witnessmark.clock import SystemClock
from witnessmark.errors import InputError, LinkError, LocalError
from witnessmark.link import address as addresses
from witnessmark.link.frame import Event, Frame


@pytest.fixture
def far() -> Iterator[SlcanFarEnd]:
    end = SlcanFarEnd()
    yield end
    end.close()


def opened(text: str, listen_only: bool = False) -> Any:
    return witnessmark_canbus.open_link(addresses.parse(text), SystemClock(), listen_only)


def frame(can_id: int, data: bytes = b"\x01") -> Frame:
    return Frame(can_id, data, SystemClock().stamp())


def received(link: Any, count: int) -> list[Frame | Event]:
    came: list[Frame | Event] = []
    while len(came) < count:
        new = link.receive(5.0)
        assert new, f"only {came}"
        came += new
    return came


def test_it_opens_with_the_bit_rate_asked_for_and_closes_the_channel(far: SlcanFarEnd) -> None:
    opened(far.address).close()
    far.heard(1, 0.2)
    assert b"S6" in far.commands, "500 kbit/s (the serial-line protocol, as python-can's documentation lists it)"
    assert far.commands.index(b"S6") < len(far.commands) - 1 - far.commands[::-1].index(b"O")
    assert far.commands[-1] == b"C"


def test_listening_only_opens_silent_and_sends_nothing(far: SlcanFarEnd) -> None:
    link = opened(far.address, listen_only=True)
    assert (link.capabilities.listen, link.capabilities.can_send) == ("silent", False)
    with pytest.raises(LocalError, match="only listens"):
        link.send(frame(0x7E0))
    link.close()
    assert far.heard(1, 0.2) == []
    assert b"L" in far.commands and b"O" not in far.commands


def test_a_port_that_another_program_holds_is_busy_and_hears_nothing(far: SlcanFarEnd) -> None:
    other = os.open(far.path, os.O_RDWR | os.O_NOCTTY)
    fcntl.flock(other, fcntl.LOCK_EX)
    with pytest.raises(LinkError) as caught:
        opened(far.address)
    os.close(other)
    assert (caught.value.kind, caught.value.reached) == ("busy", "nothing")
    assert far.heard(1, 0.05) == [] and far.commands == []


def test_a_second_link_on_the_same_port_is_refused(far: SlcanFarEnd) -> None:
    link = opened(far.address)
    with pytest.raises(LinkError) as caught:
        opened(far.address)
    assert caught.value.kind == "busy"
    link.close()
    opened(far.address).close()


def test_a_forbidden_port_says_so(far: SlcanFarEnd, monkeypatch: pytest.MonkeyPatch) -> None:
    def forbid(path: str, flags: int) -> int:
        raise PermissionError(13, "Permission denied", path)

    monkeypatch.setattr("witnessmark_canbus.port_claim.os.open", forbid)  # the tests may run as root
    with pytest.raises(LinkError) as caught:
        opened(far.address)
    assert (caught.value.kind, caught.value.reached) == ("permission", "nothing")
    assert "group" in caught.value.hint


def test_a_filter_keeps_the_other_identifiers_away(far: SlcanFarEnd) -> None:
    link = opened(far.address + "&filter=7E8,700/780,18DAF110x")
    wanted = Frame(0x18DAF110, b"\x02", SystemClock().stamp(), extended=True)
    far.say([frame(0x123), frame(0x7E8), wanted, frame(0x77F), frame(0x780)])
    assert [one.can_id for one in received(link, 3) if isinstance(one, Frame)] == [0x7E8, 0x18DAF110, 0x77F]
    assert link.receive(0.0) == []
    link.close()


def test_acknowledgements_are_silence_and_a_refusal_is_told(far: SlcanFarEnd) -> None:
    link = opened(far.address)
    far.write(b"\rz\rZ\r\a")
    (event,) = received(link, 1)
    assert isinstance(event, Event) and (event.kind, event.raw) == ("refused", b"\a")
    link.close()


@pytest.mark.parametrize("line", [b"t7E8801\r", b"t7E\r", b"T7E8801\r", b"t7E8102z\r", b"tXYZ101\r", b"hello\r"])
def test_a_line_that_is_half_a_frame_is_garbled_and_kept(far: SlcanFarEnd, line: bytes) -> None:
    link = opened(far.address)
    far.write(line + b"t7E8101\r")
    came = received(link, 2)
    if line == b"t7E8102z\r":  # what follows the data is a time stamp where the interface adds one
        assert [one.data for one in came if isinstance(one, Frame)] == [b"\x02", b"\x01"]
    else:
        assert isinstance(came[0], Event) and (came[0].kind, came[0].raw) == ("garbled", line)
        assert isinstance(came[1], Frame) and came[1].data == b"\x01"
    link.close()


def test_an_interface_that_takes_nothing_more_is_stuck(far: SlcanFarEnd, monkeypatch: pytest.MonkeyPatch) -> None:
    link = opened(far.address)

    def full(self: object, data: bytes) -> int:
        raise serial.SerialTimeoutException("Write timeout")

    monkeypatch.setattr(serial.Serial, "write", full)
    with pytest.raises(LinkError) as caught:
        link.send(frame(0x7E0))
    assert (caught.value.kind, caught.value.reached) == ("stuck", "maybe")
    monkeypatch.undo()
    link.send(frame(0x7E1))
    assert [one.can_id for one in far.heard(1, 5.0)] == [0x7E1]
    link.close()


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("canbus:socketcan", "no interface and channel"),
        ("canbus:/can0", "no interface and channel"),
        ("canbus:teapot/1", "knows no interface"),
        ("canbus:virtual/1?bitrate=fast", "not a number"),
        ("canbus:virtual/1?fd=maybe", "neither yes nor no"),
        ("canbus:virtual/1?filter=800", "no identifier"),
        ("canbus:virtual/1?baud=1", "not known"),
    ],
)
def test_an_address_that_is_wrong_says_where(text: str, what: str) -> None:
    with pytest.raises(InputError, match=what):
        opened(text)


def test_a_bit_rate_that_the_interface_does_not_have_is_refused(far: SlcanFarEnd) -> None:
    with pytest.raises(InputError, match="python-can refuses it"):
        opened(far.address.replace("500000", "123456"))
