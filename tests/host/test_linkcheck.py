"""A link is tried with requests that only read, and what is wrong is said in plain words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from witnessmark.clock import ManualClock, Stamp
from witnessmark.errors import LinkError, LocalError
from witnessmark.host import linkcheck, plugins
from witnessmark.link.frame import Event, Frame, Peer
from witnessmark.link.port import Capabilities

Answer = Callable[[Frame], Sequence[tuple[int, bytes]]]


def unit(frame: Frame) -> Sequence[tuple[int, bytes]]:
    """A control unit at the standard addresses whose supply is 12.6 V."""
    if frame.data[:3] == b"\x02\x3e\x00" and frame.can_id in (0x7DF, 0x7E0):
        return [(0x7E8, b"\x02\x7e\x00")]
    if frame.data[:3] == b"\x02\x01\x42":
        return [(0x7E8, b"\x04\x41\x42\x31\x38")]
    return []


class ScriptedLink:
    """A link in which waiting moves a manual clock."""

    def __init__(self, clock: ManualClock, answer: Answer, heard: Sequence[Frame | Event] = ()) -> None:
        self.capabilities = Capabilities(listen="silent")
        self.clock = clock
        self.answer = answer
        self.waiting: list[Frame | Event] = list(heard)
        self.sent: list[Frame] = []
        self.closed = False

    def fileno(self) -> int | None:
        return None

    def interrupt(self) -> None:
        return

    def close(self) -> None:
        self.closed = True

    def send(self, frame: Frame) -> Stamp:
        self.sent.append(frame)
        self.clock.advance(0.001)
        self.waiting += [Frame(can_id, data, self.clock.stamp()) for can_id, data in self.answer(frame)]
        return self.clock.stamp()

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        self.clock.advance(max(wait_s, 0.0005))
        came, self.waiting = self.waiting, []
        return came


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock()


def found(
    monkeypatch: pytest.MonkeyPatch,
    link: ScriptedLink,
    peer: Peer | None = None,
    listen_only: bool = False,
) -> list[str]:
    monkeypatch.setattr(plugins, "open_link", lambda text, clock, listen: link)
    findings = list(linkcheck.check_link("any:1", link.clock, peer=peer, listen_only=listen_only))
    assert link.closed
    assert all(one.data[1:2] in (b"\x3e", b"\x01") for one in link.sent), "only services that read"
    return [f"{one.what} | {one.do}" if one.wrong else one.what for one in findings]


def event(clock: ManualClock, kind: str, detail: str = "", raw: bytes = b"") -> Event:
    return Event(kind, clock.stamp(), raw, detail)  # type: ignore[arg-type]


def test_a_good_link_is_measured_and_closed(monkeypatch: pytest.MonkeyPatch, clock: ManualClock) -> None:
    said = found(monkeypatch, ScriptedLink(clock, unit))
    assert said[0].startswith("opens; can listen without a trace, sends")
    assert "answers: 7E8" in said
    assert any(one.startswith("round trip ") and one.endswith("(median of 5)") for one in said)
    assert "supply 12.6 V" in said and said[-1] == "closed"
    assert not any("|" in one for one in said)


def test_listening_only_sends_nothing(monkeypatch: pytest.MonkeyPatch, clock: ManualClock) -> None:
    link = ScriptedLink(clock, unit, [Frame(0x123, b"\x01", clock.stamp())])
    assert found(monkeypatch, link, listen_only=True)[1] == "heard 1 frames or messages in 1 s of listening"
    assert link.sent == []


@pytest.mark.parametrize(
    ("event_", "words"),
    [
        (("garbled", "no frame", b"\xff\x00"), "garbled: bytes came that cannot be read (FF 00)"),
        (("bus_error", "bus error"), "wrong speed, it seems"),
        (("bus_error", "nobody acknowledged"), "check supply and plug, switch the ignition on"),
        (("bus_error", "no_answer: NOBODY"), "nobody acknowledges"),
        (("bus_off", "bus off"), "bus off: bus off | wrong speed or a wiring fault"),
        (("lost", "pulled"), "the interface went away: pulled | check plug and cable"),
        (("refused", "not now"), "the interface refuses: not now"),
    ],
)
def test_what_the_interface_says_becomes_plain_words(
    monkeypatch: pytest.MonkeyPatch, clock: ManualClock, event_: tuple[str, ...], words: str
) -> None:
    kind, detail, *raw = event_
    link = ScriptedLink(clock, lambda frame: [], [Event(kind, clock.stamp(), *raw or (b"",), detail)])  # type: ignore[arg-type]
    assert any(words in one for one in found(monkeypatch, link))


def test_no_answer_tells_a_silent_bus_from_a_busy_one(monkeypatch: pytest.MonkeyPatch, clock: ManualClock) -> None:
    silent = found(monkeypatch, ScriptedLink(clock, lambda frame: []))
    assert any("no answer from the standard addresses | no traffic either: check plug, supply" in one for one in silent)
    busy = ScriptedLink(clock, lambda frame: [], [Frame(0x123, b"\x01", clock.stamp())])
    assert any("no answer" in one and "--ask TARGET:SOURCE" in one for one in found(monkeypatch, busy))


def test_a_unit_at_another_address_is_asked_there(monkeypatch: pytest.MonkeyPatch, clock: ManualClock) -> None:
    def elsewhere(frame: Frame) -> Sequence[tuple[int, bytes]]:
        return [(0x768, b"\x02\x7e\x00")] if frame.can_id == 0x760 and frame.data[1] == 0x3E else []

    said = found(monkeypatch, ScriptedLink(clock, elsewhere), peer=linkcheck.parse_peer("760:768"))
    assert "answers: 768" in said and "supply voltage: not known here" in said


def test_an_answer_that_stays_out_is_said_and_the_rest_is_still_asked(
    monkeypatch: pytest.MonkeyPatch, clock: ManualClock
) -> None:
    asked: list[bytes] = []

    def loses_the_third(frame: Frame) -> Sequence[tuple[int, bytes]]:
        asked.append(frame.data[1:2])
        return [] if asked.count(b"\x3e") == 3 and frame.data[1] == 0x3E else unit(frame)

    said = found(monkeypatch, ScriptedLink(clock, loses_the_third))
    assert any(one.startswith("1 requests were answered, the next was not | check plug and wiring") for one in said)
    assert "supply 12.6 V" in said and not any(one.startswith("failed") for one in said)


def test_one_that_answers_all_and_then_nothing_is_not_said_to_have_answered_0_requests(
    monkeypatch: pytest.MonkeyPatch, clock: ManualClock
) -> None:
    said = found(monkeypatch, ScriptedLink(clock, lambda frame: unit(frame) if frame.can_id == 0x7DF else []))
    assert any(one.startswith("asked again, it was silent | check plug") for one in said)


def test_why_a_request_did_not_leave_is_told(monkeypatch: pytest.MonkeyPatch, clock: ManualClock) -> None:
    class Full(ScriptedLink):
        def send(self, frame: Frame) -> Stamp:
            raise LinkError("it takes no frame", kind="stuck", hint="wait")

    assert any("the interface refuses: it takes no frame" in one for one in found(monkeypatch, Full(clock, unit)))


def test_low_supply_is_said(monkeypatch: pytest.MonkeyPatch, clock: ManualClock) -> None:
    def weak(frame: Frame) -> Sequence[tuple[int, bytes]]:
        return [(0x7E8, b"\x04\x41\x42\x29\x04")] if frame.data[1] == 0x01 else unit(frame)

    assert "supply 10.5 V, which is low | connect a support" in found(monkeypatch, ScriptedLink(clock, weak))


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("permission", "cannot be opened (permission)"),
        ("busy", "cannot be opened (busy)"),
        ("no_answer", "(no answer)"),
    ],
)
def test_what_opening_raises_is_a_finding(
    monkeypatch: pytest.MonkeyPatch, clock: ManualClock, kind: str, words: str
) -> None:
    def refuse(text: str, clock: ManualClock, listen: bool) -> None:
        raise LinkError("it will not", kind=kind, hint="do this", reached="nothing")

    monkeypatch.setattr(plugins, "open_link", refuse)
    (one,) = linkcheck.check_link("any:1", clock)
    assert words in one.what and one.do == "do this"


def test_a_link_that_breaks_while_asking_is_told_and_closed(
    monkeypatch: pytest.MonkeyPatch, clock: ManualClock
) -> None:
    class Breaks(ScriptedLink):
        def send(self, frame: Frame) -> Stamp:
            raise LinkError("pulled", kind="gone", hint="plug it in")

    assert "failed while asking: pulled | plug it in" in found(monkeypatch, Breaks(clock, unit))


@pytest.mark.parametrize("text", ["", "x", "7E0:", "7E0:zz"])
def test_a_pair_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(LocalError, match="no pair of addresses"):
        linkcheck.parse_peer(text)
    assert linkcheck.parse_peer("18DA10F1:18DAF110") == Peer(0x18DA10F1, 0x18DAF110, extended=True)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("800:1", "800 does not fit 11"),
        ("7E0:8FF", "8FF does not fit 11"),
        ("FFFFFFFFF:1", "FFFFFFFFF does not fit 29"),
    ],
)
def test_an_address_that_no_frame_can_have_is_refused_before_the_link_is_opened(text: str, what: str) -> None:
    with pytest.raises(LocalError, match=what):
        linkcheck.parse_peer(text)
