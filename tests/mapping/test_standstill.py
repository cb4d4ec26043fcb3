"""An answer that is lost does not end a probe; a vehicle that says nothing, or that moves, does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

import pytest

from witnessmark.clock import NS, ManualClock
from witnessmark.link.frame import Peer
from witnessmark.mapping.probe_log import Logged, LoggedAnswer
from witnessmark.mapping.read_request import ReadRequest
from witnessmark.mapping.reader import ProbeStopped, Reader
from witnessmark.mapping.standstill import EVERY_S, Standstill

EVERYBODY = (Peer(0x7DF, None, functional=True),)
STANDS, MOVES, SILENCE = b"\x41\x0d\x00", b"\x41\x0d\x03", b""


ASIDE_S = 2.0
"""How long a request that ended in silence cannot be asked again here."""


class Told:
    """A reader that is answered from a list, by request; nothing when it is used up."""

    functional = True

    def __init__(self, speeds: Sequence[bytes]) -> None:
        self.clock = ManualClock()
        self.speeds = list(speeds)
        self.asked: list[bytes] = []
        self.silent_ns: dict[bytes, int] = {}

    def set_aside(self, peer: Peer, request: ReadRequest) -> bool:
        since = self.silent_ns.get(request.payload)
        return since is not None and self.clock.mono_ns() - since < ASIDE_S * NS

    def ask(self, peer: Peer, request: ReadRequest, *, watch: bool = False) -> Logged:
        self.asked.append(request.payload)
        payload = self.speeds.pop(0) if request.payload == b"\x01\x0d" and self.speeds else SILENCE
        if not payload:
            self.silent_ns[request.payload] = self.clock.mono_ns()
        answers = (LoggedAnswer(source="7E8", payload=payload.hex().upper(), first_ns="0", last_ns="0"),)
        return Logged(
            target="7DF", request=request.payload.hex().upper(), asked_ns="0", answers=answers if payload else ()
        )


def watched(*later: bytes) -> tuple[Standstill, Told]:
    told = Told([STANDS, STANDS, *later])
    still = Standstill(None, lambda question: True, EVERYBODY)
    still.first(cast(Reader, told))
    told.clock.advance(EVERY_S)
    told.asked.clear()
    return still, told


def test_one_answer_that_is_lost_is_asked_for_once_more_and_nothing_else_is_asked_meanwhile() -> None:
    still, told = watched(SILENCE, STANDS)
    still.again(cast(Reader, told))
    assert told.asked == [b"\x01\x0d", b"\x01\x0d", b"\x01\x42"]
    told.clock.advance(EVERY_S - 0.1)
    still.again(cast(Reader, told))
    assert len(told.asked) == 3, "the next look is due after its time"


@pytest.mark.parametrize(
    ("later", "why"),
    [
        ((SILENCE, SILENCE), "the speed cannot be read"),
        ((SILENCE, MOVES), "the vehicle moves: 3 km/h"),
        ((MOVES, STANDS), "the vehicle moves: 3 km/h"),
    ],
    ids=["silent twice", "lost, then moving", "moving"],
)
def test_what_gives_no_answer_twice_or_moves_ends_it(later: tuple[bytes, ...], why: str) -> None:
    still, told = watched(*later)
    with pytest.raises(ProbeStopped, match=why):
        still.again(cast(Reader, told))
    assert told.clock.mono_ns() >= round(EVERY_S * NS)


def test_a_vehicle_that_says_nothing_at_the_first_look_is_not_asked_twice() -> None:
    told = Told([STANDS])
    with pytest.raises(ProbeStopped, match="the speed cannot be read"):
        Standstill(None, lambda question: True, EVERYBODY).first(cast(Reader, told))
    assert told.asked.count(b"\x01\x0d") == 2, "who tells it, and the look itself"


def test_a_watch_that_could_not_be_read_is_tried_again_and_says_on_whose_word_it_rests() -> None:
    told, said = Told([SILENCE, STANDS, MOVES]), list[str]()
    still = Standstill(None, lambda question: True, EVERYBODY, said.append)
    still.first(cast(Reader, told))
    assert ["nothing but your word" in one for one in said] == [True, False] and "voltage" in said[1]
    still.again(cast(Reader, told))
    assert told.asked.count(b"\x01\x0d") == 1, "not due yet"
    told.clock.advance(EVERY_S)
    still.again(cast(Reader, told))
    assert said[2:] == ["the speed can be read now, and is watched from here on"]
    told.clock.advance(EVERY_S)
    with pytest.raises(ProbeStopped, match="the vehicle moves: 3 km/h"):
        still.again(cast(Reader, told))


def test_a_vehicle_that_is_switched_on_and_rolls_is_noticed_with_the_first_unit_that_answers() -> None:
    told = Told([SILENCE, MOVES])
    still = Standstill(None, lambda question: True, EVERYBODY)
    still.first(cast(Reader, told))
    still.answered()
    still.again(cast(Reader, told))
    assert told.asked.count(b"\x01\x0d") == 1, "it ended in silence a moment ago: nothing waits for it"
    told.clock.advance(ASIDE_S)
    still.answered()
    with pytest.raises(ProbeStopped, match="the vehicle moves: 3 km/h"):
        still.again(cast(Reader, told))


def test_what_never_can_be_read_is_asked_for_all_along_and_ends_nothing() -> None:
    told = Told([])
    still = Standstill(None, lambda question: True, EVERYBODY)
    still.first(cast(Reader, told))
    for _ in range(3):
        told.clock.advance(EVERY_S)
        still.again(cast(Reader, told))
    assert told.asked.count(b"\x01\x0d") == told.asked.count(b"\x01\x42") == 4
