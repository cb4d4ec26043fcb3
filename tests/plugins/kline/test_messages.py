"""Messages on a simulated line: headers, times, who said what, and what ends a message without a length."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from tests.plugins.kline.simulated_line import SimulatedLine, five_baud_unit

from witnessmark.clock import ManualClock
from witnessmark.errors import LinkError, LocalError
from witnessmark.link.frame import Event, Message, Peer
from witnessmark.wire import kline
from witnessmark_kline.message_link import KlineLink

UNIT = Peer(0x28, 0x28)
ALL = Peer(0x33, None, functional=True)


@pytest.fixture
def line() -> SimulatedLine:
    return SimulatedLine(ManualClock())


@pytest.fixture
def link(line: SimulatedLine) -> KlineLink:
    """A link to units that need no waking."""
    return KlineLink(line, line.clock, init="none")


def sent(line: SimulatedLine) -> bytes:
    return bytes(byte for _, byte in line.sent)


def heard(link: KlineLink, line: SimulatedLine, seconds: float = 1.0) -> list[Message | Event]:
    end_s = line.now_s + seconds
    came: list[Message | Event] = []
    while line.now_s < end_s:
        came += link.receive(0.01)
    return came


def messages(came: Sequence[Message | Event]) -> list[tuple[int | None, str]]:
    return [(one.peer.source, one.payload.hex()) for one in came if isinstance(one, Message)]


def test_a_request_and_its_answers_in_the_addressed_form(link: KlineLink, line: SimulatedLine) -> None:
    link.send(UNIT, b"\x21\x01")
    assert sent(line) == kline.encode(b"\x21\x01", target=0x28, source=0xF1)
    line.say(kline.encode(b"\x7f\x21\x78", target=0xF1, source=0x28), 0.03)
    line.say(kline.encode(b"\x61\x01" + bytes(100), target=0xF1, source=0x28), 0.2)
    came = heard(link, line)
    assert messages(came) == [(0x28, "7f2178"), (0x28, "6101" + "00" * 100)]
    assert {one.peer for one in came if isinstance(one, Message)} == {UNIT}
    long = [one for one in came if isinstance(one, Message)][-1]
    assert long.last.mono_ns - long.first.mono_ns == pytest.approx(105 * 10 / 10400 * 1e9, rel=0.02)
    assert [one.kind for one in came if isinstance(one, Event)] == ["begun", "begun"]


def test_p3_passes_between_an_answer_and_the_next_request(link: KlineLink, line: SimulatedLine) -> None:
    link.send(UNIT, b"\x3e\x01")
    line.say(kline.encode(b"\x7e", target=0xF1, source=0x28), 0.03)
    heard(link, line, 0.04)
    ended_s = line.now_s
    before = len(line.sent)
    link.send(UNIT, b"\x3e\x01")
    began_s = line.sent[before][0]
    assert began_s - ended_s >= 0.055 - 0.010, "P3 counts from the answer's last byte, up to 10 ms before"


def test_every_unit_answers_a_functional_request_for_itself(link: KlineLink, line: SimulatedLine) -> None:
    link.send(ALL, b"\x3e\x01")
    assert sent(line)[:3] == b"\xc2\x33\xf1"
    for unit, after_s in ((0x11, 0.03), (0x28, 0.08)):
        line.say(kline.encode(b"\x7e", target=0xF1, source=unit), after_s)
    assert messages(heard(link, line)) == [(0x11, "7e"), (0x28, "7e")]


def test_iso_9141_requests_and_answers_end_by_quiet(line: SimulatedLine) -> None:
    five_baud_unit(line, 0x33, b"\x08\x08")
    link = KlineLink(line, line.clock, init="5baud")
    link.wake(ALL)
    line.sent.clear()
    link.send(ALL, b"\x01\x00")
    assert sent(line) == bytes.fromhex("68 6A F1 01 00 C4"), "ISO 9141-2, header from memory; sum modulo 256"
    line.say(bytes.fromhex("48 6B 10 41 00 BE 3E B8 11 C9"), 0.03, 0.001)
    line.say(bytes.fromhex("48 6B 18 41 00 80 00 00 00 8C"), 0.10, 0.001)
    assert messages(heard(link, line)) == [(0x10, "4100be3eb811"), (0x18, "410080000000")]
    with pytest.raises(LocalError, match="too many"):
        link.send(ALL, bytes(8))


def test_the_form_without_addresses_speaks_of_whom_we_asked(line: SimulatedLine) -> None:
    five_baud_unit(line, 0x28, b"\xe5\x8f")
    link = KlineLink(line, line.clock, init="5baud")
    link.wake(UNIT)
    line.sent.clear()
    link.send(UNIT, b"\x21\x01")
    assert sent(line) == bytes.fromhex("02 21 01 24")
    line.say(kline.encode(b"\x61\x01\x55"), 0.03)
    assert messages(heard(link, line)) == [(0x28, "610155")]


def test_a_wrong_sum_and_half_a_message_are_garbled_and_kept(link: KlineLink, line: SimulatedLine) -> None:
    link.send(UNIT, b"\x21\x01")
    line.say(bytes.fromhex("83 F1 28 61 01 55 00"), 0.03)
    line.say(bytes.fromhex("83 F1 28 61"), 0.2)
    line.say(kline.encode(b"\x61\x01\x55", target=0xF1, source=0x28), 0.6)
    came = heard(link, line)
    garbled = [(one.detail, one.raw.hex()) for one in came if isinstance(one, Event) and one.kind == "garbled"]
    assert garbled == [("checksum", "83f12861015500"), ("incomplete", "83f12861")]
    assert messages(came) == [(0x28, "610155")]


def test_a_session_that_lapsed_is_woken_again_and_a_live_one_is_not(line: SimulatedLine) -> None:
    five_baud_unit(line, 0x28, b"\xef\x8f")
    link = KlineLink(line, line.clock, init="5baud")
    assert len(link.wake(UNIT)) == 1
    line.clock.advance(4.9)
    assert link.wake(UNIT) == []
    line.clock.advance(0.2)
    line.done.clear()
    assert len(link.wake(UNIT)) == 1, "P3 at most 5 s (from memory of ISO 14230-2)"
    assert link.capabilities.keepalive_s == 5.0


def test_listening_only_tells_both_sides_and_never_writes(line: SimulatedLine) -> None:
    link = KlineLink(line, line.clock, listen_only=True)
    line.say(kline.encode(b"\x21\x01", target=0x28, source=0xF1), 0.0)
    line.say(kline.encode(b"\x61\x01", target=0xF1, source=0x28), 0.1)
    line.say(kline.encode(b"\x21\x02", target=0x30, source=0xF2), 0.2)
    came = heard(link, line)
    assert [(one.peer.target, one.payload.hex()) for one in came if isinstance(one, Message)] == [
        (0x28, "2101"), (0x28, "6101"), (0x30, "2102"),
    ]  # fmt: skip
    for act in (lambda: link.send(UNIT, b"\x3e"), lambda: link.wake(UNIT)):
        with pytest.raises(LocalError, match="only listens"):
            act()
    assert line.sent == [] and [what for what, *_ in line.done] == []


def test_an_address_of_another_bus_is_refused(link: KlineLink, line: SimulatedLine) -> None:
    with pytest.raises(LocalError, match="no K-line address"):
        link.send(Peer(0x7E0, 0x7E8), b"\x3e\x00")
    assert line.sent == []


def test_a_cable_that_goes_is_told_once_then_refuses(link: KlineLink, line: SimulatedLine) -> None:
    def fail(wait_s: float) -> bytes:
        raise LinkError("pulled", kind="gone", hint="plug it in")

    line.read = fail  # type: ignore[method-assign]
    (told,) = link.receive(0.1)
    assert isinstance(told, Event) and told.kind == "lost"
    for act in (lambda: link.receive(0.1), lambda: link.send(UNIT, b"\x3e")):
        with pytest.raises(LinkError, match="pulled"):
            act()
    link.close()
    assert line.closed


def test_a_line_that_is_never_quiet_gets_no_request(link: KlineLink, line: SimulatedLine) -> None:
    line.say(kline.encode(b"\x7e", target=0xF1, source=0x28) * 600, 0.0)
    with pytest.raises(LinkError, match="never quiet") as caught:
        link.send(UNIT, b"\x3e\x01")
    assert (caught.value.kind, caught.value.reached, line.sent) == ("busy", "nothing", [])
    assert len(messages(link.receive(0.0))) > 300, "what came meanwhile is kept"
