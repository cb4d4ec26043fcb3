"""Fast and 5-baud initialisation in virtual time, against the published examples."""

from __future__ import annotations

from itertools import pairwise

import pytest
from crccheck.checksum import Checksum8
from tests.plugins.kline.simulated_line import BYTE_S, SimulatedLine, fast_unit, five_baud_unit

from witnessmark.clock import ManualClock
from witnessmark.errors import LinkError
from witnessmark.link.frame import Peer
from witnessmark_kline.message_link import KlineLink

ALL = Peer(0x33, None, functional=True)
ENGINE = Peer(0x11, 0x11)


@pytest.fixture
def line() -> SimulatedLine:
    return SimulatedLine(ManualClock())


def link(line: SimulatedLine, init: str = "fast", echo: bool = True) -> KlineLink:
    return KlineLink(line, line.clock, init=init, echo=echo)


def sent(line: SimulatedLine) -> bytes:
    return bytes(byte for _, byte in line.sent)


@pytest.mark.parametrize("answer", ["83 F1 11 C1 8F EF C4", "83 F1 10 C1 E9 8F BD"])
def test_fast_initialisation_is_25_ms_low_25_ms_high_and_the_published_request(
    line: SimulatedLine, answer: str
) -> None:
    """The pattern of ISO 14230-2 and the exchange C1 33 F1 81 66 with both published answers."""
    fast_unit(line, bytes.fromhex(answer))
    (event,) = link(line).wake(ALL)
    quiet, low, high = line.done[:3]
    assert quiet[0] == "high" and quiet[2] >= 0.3, "W5: quiet for 300 ms before"
    assert (low[0], low[2], high[0], high[2]) == ("low", 0.025, "high", 0.025)
    assert sent(line) == bytes.fromhex("C1 33 F1 81 66")
    assert event.kind == "accepted" and event.raw == bytes.fromhex(answer)


def test_a_physical_start_has_the_physical_header_and_crcchecks_sum(line: SimulatedLine) -> None:
    fast_unit(line, bytes.fromhex("83 F1 11 C1 8F EF C4"))
    link(line).wake(ENGINE)
    assert sent(line)[:-1] == bytes.fromhex("81 11 F1 81")
    assert sent(line)[-1] == Checksum8.calc(sent(line)[:-1])


def test_p4_passes_between_our_bytes(line: SimulatedLine) -> None:
    fast_unit(line, bytes.fromhex("83 F1 11 C1 8F EF C4"))
    link(line).wake(ALL)
    times = [at for at, _ in line.sent]
    assert all(0.005 <= later - at <= 0.020 for at, later in pairwise(times)), "5 to 20 ms"


def test_the_address_goes_out_at_5_baud_and_the_key_bytes_are_answered_in_time(line: SimulatedLine) -> None:
    five_baud_unit(line, 0x33, b"\x08\x08")
    (event,) = link(line, "5baud").wake(ALL)
    bits = [what for what, _, seconds in line.done if seconds == 0.2]
    assert bits == ["low", "high", "high", "low", "low", "high", "high", "low", "low", "high"], "33, least bit first"
    assert sent(line) == b"\xf7", "the complement of key byte 2"
    at_key_byte_2 = line.heard[2][0]
    at_complement = line.sent[0][0] - BYTE_S
    assert 0.0249 <= at_complement - at_key_byte_2 <= 0.050, "W4: 25 to 50 ms"
    assert "key bytes 08 08, header exception" in event.detail
    assert event.raw == b"\x55\x08\x08\xcc"


@pytest.mark.parametrize(
    ("key_bytes", "header"),
    [
        (b"\x08\x08", "exception"),  # ISO 9141-2
        (b"\x94\x94", "exception"),
        (b"\xe9\x8f", "addresses"),  # bits from memory of ISO 14230-2, 5.2.4.1
        (b"\xef\x8f", "addresses"),
        (b"\xe5\x8f", "none"),
    ],
)
def test_the_key_bytes_choose_the_header(line: SimulatedLine, key_bytes: bytes, header: str) -> None:
    five_baud_unit(line, 0x11, key_bytes)
    (event,) = link(line, "5baud").wake(ENGINE)
    assert event.detail.endswith(f"header {header}")


@pytest.mark.parametrize(
    ("unit", "kind", "what"),
    [
        ({"silent_after": "address"}, "no_answer", "nobody answers the address 33"),
        ({"silent_after": "synchronisation"}, "no_answer", "key bytes do not come"),
        ({"silent_after": "key bytes"}, "no_answer", "does not confirm its address"),
        ({"sync": 0x54}, "garbled", "synchronisation byte came as 54"),
        ({"confirm": 0xEE}, "garbled", "the unit confirms 11, and 33 was called"),
    ],
)
def test_a_5_baud_initialisation_that_fails_says_at_which_step(
    line: SimulatedLine, unit: dict[str, object], kind: str, what: str
) -> None:
    five_baud_unit(line, 0x33, b"\x08\x08", **unit)  # type: ignore[arg-type]
    with pytest.raises(LinkError, match=what) as caught:
        link(line, "5baud").wake(ALL)
    assert (caught.value.kind, caught.value.reached) == (kind, "maybe")


@pytest.mark.parametrize(
    ("answer", "kind"),
    [
        ("", "no_answer"),
        ("83 F1 11 C1 8F EF C5", "garbled"),  # wrong sum
        ("83 F1 11 7F 81 10 94", "garbled"),
        ("83 F1 11 C1", "garbled"),
    ],
)
def test_a_fast_initialisation_that_fails_says_why(line: SimulatedLine, answer: str, kind: str) -> None:
    fast_unit(line, bytes.fromhex(answer))
    opened = link(line)
    with pytest.raises(LinkError) as caught:
        opened.wake(ALL)
    assert caught.value.kind == kind
    fast_unit(line, bytes.fromhex("83 F1 11 C1 8F EF C4"))
    assert [one.kind for one in opened.wake(ALL)] == ["accepted"], "the line can be used again"


def test_a_dead_cable_shows_at_the_first_byte(line: SimulatedLine) -> None:
    line.echo = False
    with pytest.raises(LinkError, match="did not come back") as caught:
        link(line).wake(ALL)
    assert caught.value.kind == "no_answer" and "supply" in caught.value.hint
    assert len(line.sent) == 1, "the rest is not sent"


def test_a_cable_without_echo_is_used_with_echo_no(line: SimulatedLine) -> None:
    line.echo = False
    fast_unit(line, bytes.fromhex("83 F1 11 C1 8F EF C4"))
    assert [one.kind for one in link(line, echo=False).wake(ALL)] == ["accepted"]


def test_a_collision_stops_the_request(line: SimulatedLine) -> None:
    line.spoil = lambda byte: byte & 0x7F
    with pytest.raises(LinkError, match="came back as") as caught:
        link(line).wake(ALL)
    assert (caught.value.kind, len(line.sent)) == ("garbled", 1)
