"""What keeps a K-line session: tester present of ISO 14230-3, or any request where there is none (ISO 9141-2)."""

from __future__ import annotations

from itertools import pairwise

import pytest
from tests.plugins.kline.simulated_line import SimulatedLine, five_baud_unit

from witnessmark.clock import NS, ManualClock
from witnessmark.errors import LocalError
from witnessmark.link.frame import Peer
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.news import News, Unasked
from witnessmark.talk.timing import Timing
from witnessmark.wire import kline
from witnessmark_kline.message_link import KlineLink
from witnessmark_kline.timing import P3_MOST_S

UNIT = Peer(0x28, 0x28)
ALL = Peer(0x33, None, functional=True)


class Served:
    """A unit on the line that answers from a table by the whole bytes of a request, and notes when it was asked."""

    def __init__(self, key_bytes: bytes, answers: dict[bytes, bytes], address: int) -> None:
        self.line = SimulatedLine(ManualClock())
        five_baud_unit(self.line, address, key_bytes)
        self.answers = answers
        self.asked: list[tuple[float, bytes]] = []
        self._waking, self.line.react = self.line.react, self._react
        link = KlineLink(self.line, self.line.clock, init="5baud")
        link.wake(ALL if address == ALL.target else UNIT)
        self.talk = Conversation(link, self.line.clock)

    def run(self, seconds: float) -> list[News]:
        end_ns = self.line.clock.mono_ns() + round(seconds * NS)
        news: list[News] = []
        while self.line.clock.mono_ns() < end_ns:
            news += self.talk.pump(0.005)
        return news

    def wakings(self) -> float:
        """How often the address 28 was called at 5 baud."""
        return sum(what == "low" and seconds == 0.2 for what, _, seconds in self.line.done) / LOW_BITS

    def gaps_s(self) -> list[float]:
        return [later - at for (at, _), (later, _) in pairwise(self.asked)]

    def _react(self, sent: bytes) -> None:
        for request, answer in self.answers.items():
            if bytes(byte for _, byte in self.line.sent[-len(request) :]) == request:
                self.asked.append((self.line.now_s, request))
                if answer:
                    self.line.say(answer, 0.03, 0.001)
                return
        self._waking(sent)


LOW_BITS = 1 + 8 - (0x28).bit_count()
"""Start bit, and the bits of the address that are low."""


def of_14230(answered: bool) -> Served:
    request = kline.encode(b"\x3e\x01" if answered else b"\x3e\x02", target=0x28, source=0xF1)
    answer = kline.encode(b"\x7e", target=0xF1, source=0x28) if answered else b""
    return Served(b"\xef\x8f", {request: answer}, 0x28)


@pytest.mark.parametrize("answered", [True, False])
def test_a_unit_of_iso_14230_is_kept_awake_by_its_own_tester_present(answered: bool) -> None:
    unit = of_14230(answered)
    keep = unit.talk.keep_alive(UNIT, Timing(keep_alive=b"\x3e\x01" if answered else b"\x3e\x02"))
    news = unit.run(20)
    assert [one for one in news if isinstance(one, Unasked)] == [], "its answers are no news"
    assert len(unit.asked) == 10 and max(unit.gaps_s()) < 2.2 < P3_MOST_S
    assert keep.answers == (10 if answered else 0)
    assert unit.wakings() == 1, "it never fell asleep"
    assert len(keep.moments) == 10 and keep.largest_gap_ns(unit.line.clock.mono_ns()) < 2.2 * NS


def test_units_of_iso_9141_are_kept_awake_by_a_request_that_reads() -> None:
    request = bytes.fromhex("68 6A F1 01 00 C4")
    unit = Served(b"\x08\x08", {request: bytes.fromhex("48 6B 10 41 00 BE 3E B8 11 C9")}, 0x33)
    keep = unit.talk.keep_alive(ALL, Timing(keep_alive=b"\x01\x00"))
    news = unit.run(20)
    assert [one for one in news if isinstance(one, Unasked)] == []
    assert len(unit.asked) == len(keep.moments) == 10 and max(unit.gaps_s()) < 2.2


def test_a_refusal_of_tester_present_is_told() -> None:
    unit = of_14230(True)
    unit.answers = dict.fromkeys(unit.answers, kline.encode(b"\x7f\x3e\x12", target=0xF1, source=0x28))
    unit.talk.keep_alive(UNIT, Timing(keep_alive=b"\x3e\x01"))
    told = [one.message.payload for one in unit.run(5) if isinstance(one, Unasked)]
    assert told == [b"\x7f\x3e\x12"] * 2


def test_an_answer_that_comes_while_a_stop_is_open_is_no_part_of_that_exchange() -> None:
    unit = of_14230(True)
    stop = kline.encode(b"\x31\x02\x12\x34", target=0x28, source=0xF1)
    unit.answers[stop] = kline.encode(b"\x71\x02\x12\x34", target=0xF1, source=0x28)
    unit.talk.keep_alive(UNIT, Timing(keep_alive=b"\x3e\x01"))
    unit.run(2)
    assert len(unit.asked) == 1, "its answer is on the way"
    exchange = unit.talk.begin(UNIT, b"\x31\x02\x12\x34", urgent=True)
    unit.run(1)
    assert exchange.result == "positive" and [one.verdict for one in exchange.replies] == ["positive"]


def test_where_all_units_hear_a_request_nothing_is_sent_to_one_of_them() -> None:
    """ISO 9141-2 has no physical addresses (from memory): what is meant for one unit would reach every other."""
    unit = Served(b"\x08\x08", {}, 0x28)
    link = unit.talk.link
    assert isinstance(link, KlineLink)
    link.wake(UNIT)
    before = len(unit.line.sent)
    with pytest.raises(LocalError, match="all units"):
        link.send(UNIT, b"\x31\x01\x12\x34")
    assert len(unit.line.sent) == before
