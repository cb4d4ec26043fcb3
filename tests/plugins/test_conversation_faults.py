"""What becomes of a request when the interface or the control unit fails under it: nothing is called done that was not
seen, and what was sent is never called unsent."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from tests.plugins.canbus.far_ends import SlcanFarEnd
from tests.plugins.kline.unit import KlineUnit

import witnessmark_canbus
import witnessmark_kline
from witnessmark.clock import SystemClock
from witnessmark.errors import OutcomeUnknown
from witnessmark.link import address as addresses
from witnessmark.link.frame import Frame, Peer
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.exchange import Exchange
from witnessmark.testing import Reply
from witnessmark.testing.verdict import pause

START = b"\x31\x01\x12\x34"
STARTED = b"\x71\x01\x12\x34"
FRAME = b"\x04\x71\x01\x12\x34"


class CanUnit:
    """A control unit behind a serial-line interface, worked by hand."""

    peer = Peer(0x7E0, 0x7E8)

    def __init__(self) -> None:
        self.far = SlcanFarEnd()
        self.module: Any = witnessmark_canbus
        self.address = self.far.address

    def heard(self) -> bool:
        return bool(self.far.heard(1, 5.0))

    def answer(self, times: int) -> None:
        self.far.say([Frame(0x7E8, FRAME, SystemClock().stamp())] * times)

    def noise(self) -> None:
        self.far.write(b"t7E8804\xff\xfe??\r")

    def unplug(self) -> None:
        self.far.unplug()

    def close(self) -> None:
        self.far.close()


class LineUnit:
    """A control unit on a K-line, worked by hand."""

    peer = KlineUnit.peer

    def __init__(self) -> None:
        self.far = KlineUnit()
        self.module: Any = witnessmark_kline
        self.address = self.far.address

    def heard(self) -> bool:
        return bool(self.far.requests(1, 5.0))

    def answer(self, times: int) -> None:
        for _ in range(times):
            self.far._write(self.far._spell(STARTED))

    def noise(self) -> None:
        self.far._write(self.far.garbage)

    def unplug(self) -> None:
        self.far.unplug()

    def close(self) -> None:
        self.far.close()


@contextmanager
def talking(kind: type[CanUnit] | type[LineUnit]) -> Iterator[tuple[CanUnit | LineUnit, Conversation]]:
    unit = kind()
    clock = SystemClock()
    link = unit.module.open_link(addresses.parse(unit.address), clock, False)
    try:
        talk = Conversation(link, clock)
        talk.expect(unit.peer)
        yield unit, talk
    finally:
        link.close()
        unit.close()


def finish(talk: Conversation, exchange: Exchange) -> Exchange:
    while exchange.open:
        talk.pump(0.005)
    return exchange


each = pytest.mark.parametrize("kind", [CanUnit, LineUnit])


@each
def test_unplugged_after_a_start_was_sent_its_outcome_is_lost_and_it_may_have_acted(kind: type[CanUnit]) -> None:
    with talking(kind) as (unit, talk):
        exchange = talk.begin(unit.peer, START)
        assert unit.heard()
        unit.unplug()
        finish(talk, exchange)
        assert exchange.result == "lost" and exchange.reached in ("maybe", "all")
        assert talk.failure is not None and talk.failure.kind == "gone"


@each
def test_unplugged_while_a_routine_runs_the_next_request_is_lost_too(kind: type[CanUnit]) -> None:
    with talking(kind) as (unit, talk):
        exchange = talk.begin(unit.peer, START)
        assert unit.heard()
        unit.answer(1)
        assert finish(talk, exchange).result == "positive"
        unit.unplug()
        stop = finish(talk, talk.begin(unit.peer, b"\x31\x02\x12\x34", urgent=True))
        assert stop.result == "lost", "never called stopped"


@each
def test_a_unit_that_never_answers_is_unknown(kind: type[CanUnit]) -> None:
    with talking(kind) as (unit, talk):
        exchange = finish(talk, talk.begin(unit.peer, START))
        assert (exchange.result, exchange.reached) == ("silence", "all")
        with pytest.raises(OutcomeUnknown):
            exchange.raise_silence()


@each
def test_a_unit_that_answers_twice_is_heard_once(kind: type[CanUnit]) -> None:
    with talking(kind) as (unit, talk):
        exchange = talk.begin(unit.peer, START)
        assert unit.heard()
        unit.answer(2)
        assert finish(talk, exchange).result == "positive"
        assert len(exchange.answers) == 1


@each
def test_garbage_before_the_answer_changes_nothing(kind: type[CanUnit]) -> None:
    with talking(kind) as (unit, talk):
        exchange = talk.begin(unit.peer, START)
        assert unit.heard()
        unit.noise()
        unit.answer(1)
        assert finish(talk, exchange).result == "positive"


def test_a_scripted_late_answer_on_the_line_is_never_the_answer_to_another_request() -> None:
    with talking(LineUnit) as (unit, talk):
        assert isinstance(unit, LineUnit)
        unit.far.reply_with(Reply((STARTED,), late_s=0.4))
        exchange = finish(talk, talk.begin(unit.peer, START))
        assert exchange.result == "silence"
        pause(0.5)  # nobody receives: it waits on the line when the next request leaves
        other = finish(talk, talk.begin(unit.peer, b"\x22\xf1\x90"))
        assert other.result == "silence", "the late 71 answers no 22, and is no echo of ours"
        assert [one.verdict for one in other.replies] == ["late"]
