"""The carrier of frames looks only at the ends that have something going on, and comes to what looking at all gives."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from witnessmark.clock import ManualClock, Stamp
from witnessmark.link.frame import Event, Frame, Peer
from witnessmark.link.port import Capabilities
from witnessmark.talk.carrier import FrameCarrier, Heard

PEERS = tuple(Peer(0x700 + number, 0x780 + number) for number in range(6))


class ScriptedLink:
    """A FrameLink that gives the frames it is told to; each send takes a millisecond."""

    capabilities = Capabilities()

    def __init__(self) -> None:
        self.clock = ManualClock(0)
        self.next: list[Frame] = []
        self.sent: list[tuple[int, bytes]] = []

    def fileno(self) -> int | None:
        return None

    def interrupt(self) -> None:
        pass

    def close(self) -> None:
        pass

    def send(self, frame: Frame) -> Stamp:
        self.clock.advance(0.001)
        self.sent.append((frame.can_id, frame.data))
        return self.clock.stamp()

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        came, self.next = self.next, []
        return came


class LooksAtAll(FrameCarrier):
    """The plain rule: every end is looked at each time."""

    def receive(self, wait_s: float) -> list[Heard]:
        self._active |= set(self._endpoints)
        return super().receive(wait_s)

    def deadline_ns(self) -> int | None:
        self._active |= set(self._endpoints)
        return super().deadline_ns()


FRAMES = [bytes.fromhex(text) for text in (
    "0262F190", "101462F190313131", "2131313131313131", "2231313131313131", "23313131", "300000", "310000", "320000",
    "30020A", "037F2278", "", "F0", "2531", "10050000",
)]  # fmt: skip
number = st.integers(0, len(PEERS) - 1)
STEPS = st.one_of(
    st.tuples(st.just("frame"), number, st.sampled_from(FRAMES)),
    st.tuples(st.just("send"), number, st.sampled_from([b"\x3e\x00", b"\x22" + b"1" * 30])),
    st.tuples(st.just("drop"), number, st.none()),
    st.tuples(st.just("time"), st.sampled_from([0, 1, 20, 300, 1100]), st.none()),
)


@given(st.lists(STEPS, max_size=60))
def test_ends_at_rest_need_no_look(steps: list[tuple[str, int, Any]]) -> None:
    all_, some = ScriptedLink(), ScriptedLink()
    ends = (LooksAtAll(all_, all_.clock), all_), (FrameCarrier(some, some.clock), some)
    for one, _ in ends:
        for peer in PEERS[:5]:
            one.expect(peer)
    for what, place, value in steps:
        told: list[Any] = []
        for one, link in ends:
            heard: list[Heard] = []
            if what == "frame":
                link.next.append(Frame(0x780 + place, value, link.clock.stamp()))
            elif what == "send" and not one.busy(PEERS[place]):
                heard += one.send(PEERS[place], value)
            elif what == "drop" and one.busy(PEERS[place]):
                heard += one.drop(PEERS[place])
            elif what == "time":
                link.clock.advance(place / 1000)
            told.append((heard, one.receive(0.0), one.deadline_ns()))
        assert told[0] == told[1]
    assert all_.sent == some.sent
