"""The address of a K-line cable: what it takes, what it refuses, and a port that is taken or forbidden."""

from __future__ import annotations

import pytest
import serial
from tests.plugins.kline.unit import KlineUnit

import witnessmark_kline
from witnessmark.clock import SystemClock
from witnessmark.errors import InputError, LinkError
from witnessmark.link import address as addresses


def opened(text: str) -> object:
    return witnessmark_kline.open_link(addresses.parse(text), SystemClock(), False)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("kline:", "no port"),
        ("kline:/dev/x?init=slow", "init=slow is not known"),
        ("kline:/dev/x?echo=maybe", "echo=maybe is not known"),
        ("kline:/dev/x?tester=1F1", "out of range"),
        ("kline:/dev/x?baud=fast", "out of range"),
        ("kline:/dev/x?gap_ms=0", "out of range"),
    ],
)
def test_an_address_that_is_wrong_says_so(text: str, what: str) -> None:
    with pytest.raises(InputError, match=what):
        opened(text)


def test_a_port_that_another_program_holds_is_busy() -> None:
    unit = KlineUnit()
    other = serial.Serial(unit.path, exclusive=True)
    with pytest.raises(LinkError) as caught:
        opened(unit.address)
    assert (caught.value.kind, caught.value.reached) == ("busy", "nothing")
    other.close()
    unit.close()


def test_a_forbidden_port_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def forbid(*arguments: object, **settings: object) -> None:
        raise serial.SerialException(13, "could not open port: Permission denied")

    monkeypatch.setattr(serial, "Serial", forbid)  # the tests may run as root
    with pytest.raises(LinkError) as caught:
        opened("kline:/dev/ttyUSB9")
    assert (caught.value.kind, caught.value.reached) == ("permission", "nothing")
