"""The owner of the wire, over both ports, with both ends in memory."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from tests.talk.ends import UNIT, MemoryFrameLink, MemoryMessageLink, Unit

from witnessmark.clock import NS, ManualClock, Stamp
from witnessmark.errors import LinkError, LocalError
from witnessmark.link.frame import Event, Frame, Message, Peer
from witnessmark.link.guard import BROKEN
from witnessmark.link.port import Capabilities
from witnessmark.talk.carrier import OtherRequest
from witnessmark.talk.conversation import LONGEST_S, Conversation
from witnessmark.talk.exchange import Exchange
from witnessmark.talk.news import News, Unasked
from witnessmark.wire.isotp import Settings

START = bytes.fromhex("3101030108")
STOP = bytes.fromhex("31020301")
STARTED, STOPPED = bytes.fromhex("71010301"), bytes.fromhex("71020301")
READ_VIN = bytes.fromhex("22F190")
VIN = bytes.fromhex("62F190") + b"1" * 17
FLOOR_S = 0.01
MS = 1_000_000


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock(0)


@pytest.fixture
def unit(clock: ManualClock) -> Unit:
    return Unit(clock)


@pytest.fixture
def link(unit: Unit) -> MemoryMessageLink:
    return MemoryMessageLink(unit)


@pytest.fixture
def talk(link: MemoryMessageLink, clock: ManualClock) -> Conversation:
    return Conversation(link, clock, floor_real_s=FLOOR_S)


def run(talk: Conversation, clock: ManualClock, seconds: float) -> list[News]:
    """Let time pass in steps of 5 ms, pumping."""
    news = []
    for _ in range(round(seconds / 0.005)):
        clock.advance(0.004)
        news += talk.pump()
    return news


def framed(unit: Unit, clock: ManualClock, settings: Settings | None = None) -> tuple[Conversation, MemoryFrameLink]:
    link = MemoryFrameLink(unit, settings)
    talk = Conversation(link, clock, floor_real_s=FLOOR_S)
    talk.expect(UNIT)
    return talk, link


def test_ask_returns_the_answer_and_wakes_the_peer_once(
    talk: Conversation, link: MemoryMessageLink, unit: Unit
) -> None:
    unit.table[READ_VIN] = [(0.02, VIN)]
    assert talk.ask(UNIT, READ_VIN).result == "positive"
    assert talk.ask(UNIT, READ_VIN).result == "positive"
    assert link.woken == [UNIT]


def test_ask_stops_waiting_when_interrupted(talk: Conversation, unit: Unit) -> None:
    assert talk.ask(UNIT, READ_VIN, interrupted=lambda: True).open
    assert unit.heard == [READ_VIN]


PENDING = bytes.fromhex("7F2278")


def test_ask_gives_up_a_unit_that_answers_0x78_for_ever(talk: Conversation, clock: ManualClock, unit: Unit) -> None:
    def again() -> list[tuple[float, bytes]]:
        return [(second / 2, PENDING) for second in range(200)]

    unit.table[READ_VIN] = again
    exchange = talk.ask(UNIT, READ_VIN)
    assert (exchange.result, exchange.expired, exchange.reached) == ("silence", "outer bound", "all")
    assert LONGEST_S <= clock.now_ns / NS < LONGEST_S + 0.1
    assert talk.set_aside_ns(UNIT, READ_VIN) is not None
    assert unit.heard == [READ_VIN] and talk.pump(0)[0] is exchange


@pytest.mark.parametrize("gap_s", [0.0, 1000.0])
def test_ask_gives_up_an_interface_that_does_not_take_its_turn(clock: ManualClock, unit: Unit, gap_s: float) -> None:
    """Once half sent, because its flow control says "wait" again and again; once kept in the queue."""
    talk, link = framed(unit, clock)
    link.capabilities = Capabilities(min_gap_s=gap_s)
    unit.table[READ_VIN] = [(0.0, VIN)]
    talk.ask(UNIT, READ_VIN)
    link.deaf = True
    begun_ns = clock.now_ns

    def wait() -> bool:
        link.extra.append(Frame(UNIT.source or 0, bytes.fromhex("310000"), clock.stamp()))
        return False

    long = b"\x2e\xf1\x90" + b"1" * 17
    exchange = talk.ask(UNIT, long, longest_s=2.0, interrupted=wait)
    assert exchange.result == "lost" and exchange.reached == ("nothing" if gap_s else "maybe")
    assert (clock.now_ns - begun_ns) / NS < 2.1
    sent = len(link.sent)
    link.extra.append(Frame(UNIT.source or 0, bytes.fromhex("300000"), clock.stamp()))
    run(talk, clock, 1.0)
    assert len(link.sent) == sent, "what was given up leaves no further frame"


def test_ask_gives_up_a_link_that_says_again_and_again_that_an_answer_begins(
    talk: Conversation, clock: ManualClock, link: MemoryMessageLink
) -> None:
    def begins() -> bool:
        link.events.append(Event("begun", clock.stamp(), peer=UNIT))
        return False

    exchange = talk.ask(UNIT, READ_VIN, interrupted=begins)
    assert (exchange.result, exchange.expired) == ("silence", "outer bound")
    assert clock.now_ns / NS < LONGEST_S + 0.1


def test_a_long_answer_comes_through_frames_with_its_raw_frames(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock, Settings(st_min=0))
    unit.table[READ_VIN] = [(0.02, VIN)]
    exchange = talk.ask(UNIT, READ_VIN)
    assert exchange.answer is not None and exchange.answer.payload == VIN
    assert [raw[0] >> 4 for raw in exchange.answer.raw] == [1, 2, 2]
    # Our request, and the flow control that let the answer go on, are both in the record.
    assert [raw[0] >> 4 for raw in exchange.raw] == [0, 3]
    assert [frame.can_id for frame in link.sent] == [0x7A0, 0x7A0]


def test_an_answer_that_breaks_off_is_kept_and_ends_in_silence(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock)
    unit.table[READ_VIN] = [(0.02, VIN)]
    link.only_frames = 2
    exchange = talk.ask(UNIT, READ_VIN)
    assert exchange.result == "silence"
    assert [one.verdict for one in exchange.replies] == ["malformed"]
    assert len(exchange.replies[0].raw) == 2


def test_a_request_whose_flow_control_never_comes_is_lost_and_reached_maybe(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock)
    link.deaf = True
    exchange = talk.ask(UNIT, bytes(range(20)))
    assert (exchange.result, exchange.reached, exchange.left) == ("lost", "maybe", None)


def test_one_request_at_a_time(talk: Conversation, unit: Unit) -> None:
    talk.begin(UNIT, READ_VIN)
    with pytest.raises(LocalError):
        talk.begin(UNIT, START)
    assert unit.heard == [READ_VIN]


def test_a_stop_leaves_at_once_while_the_start_is_open(talk: Conversation, clock: ManualClock, unit: Unit) -> None:
    unit.table[STOP] = [(0.01, STOPPED)]
    start = talk.begin(UNIT, START)
    stop = talk.begin(UNIT, STOP, urgent=True)
    assert unit.heard == [START, STOP]
    run(talk, clock, 0.2)
    assert (start.result, stop.result) == ("silence", "positive")


def test_a_refusal_that_either_of_two_requests_may_have_caused_settles_none(
    talk: Conversation, clock: ManualClock, unit: Unit
) -> None:
    talk.begin(UNIT, START)
    stop = talk.begin(UNIT, STOP, urgent=True)
    unit.say(bytes.fromhex("7F3122"))
    talk.pump()
    assert stop.open and [one.verdict for one in stop.replies] == ["ambiguous"]


def test_a_stop_drops_a_start_that_is_half_sent(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock)
    link.deaf = True
    start = talk.begin(UNIT, bytes.fromhex("31010301") + bytes(10))
    link.deaf = False
    unit.table[STOP] = [(0.0, STOPPED)]
    stop = talk.begin(UNIT, STOP, urgent=True)
    run(talk, clock, 0.2)
    assert (start.result, stop.result) == ("lost", "positive")
    assert unit.heard == [STOP]


def test_after_silence_the_same_request_waits_for_p2_star(talk: Conversation, clock: ManualClock, unit: Unit) -> None:
    assert talk.ask(UNIT, READ_VIN).result == "silence"
    with pytest.raises(LocalError, match="late answer"):
        talk.begin(UNIT, READ_VIN)
    assert talk.ask(UNIT, bytes.fromhex("22F18C")).result == "silence"
    run(talk, clock, 5.2)
    talk.begin(UNIT, READ_VIN)
    assert unit.heard.count(READ_VIN) == 2


def test_a_late_answer_is_told_as_late_and_never_answers_the_next(
    talk: Conversation, clock: ManualClock, unit: Unit
) -> None:
    assert talk.ask(UNIT, READ_VIN).result == "silence"
    unit.say(VIN)
    (late,) = talk.pump()
    assert isinstance(late, Unasked) and late.late
    other = talk.begin(UNIT, bytes.fromhex("22F18C"))
    unit.say(VIN)
    talk.pump()
    assert other.open and [one.verdict for one in other.replies] == ["late"]


def test_a_late_long_answer_does_not_keep_the_next_request_open(unit: Unit, clock: ManualClock) -> None:
    talk, _ = framed(unit, clock)
    assert talk.ask(UNIT, READ_VIN).result == "silence"
    other = talk.begin(UNIT, bytes.fromhex("22F18C"))
    unit.say(VIN)
    run(talk, clock, 0.02)
    assert [one.verdict for one in other.replies] == ["late"] and other.open
    run(talk, clock, 0.1)
    assert other.result == "silence"


def test_an_urgent_request_set_aside_gets_ambiguous_answers(talk: Conversation, clock: ManualClock, unit: Unit) -> None:
    assert talk.ask(UNIT, STOP).result == "silence"
    again = talk.begin(UNIT, STOP, urgent=True)
    unit.say(STOPPED)
    talk.pump()
    assert again.result == "positive" and [one.verdict for one in again.replies] == ["ambiguous"]


def test_an_answer_nobody_asked_for_is_foreign(talk: Conversation, unit: Unit) -> None:
    exchange = talk.begin(UNIT, START)
    unit.say(VIN)
    talk.pump()
    assert [one.verdict for one in exchange.replies] == ["foreign"] and exchange.open


def test_tester_present_leaves_within_every_two_seconds_but_not_into_an_open_request(
    talk: Conversation, clock: ManualClock, unit: Unit
) -> None:
    keep = talk.keep_alive(UNIT)
    run(talk, clock, 4.5)
    assert unit.heard == [b"\x3e\x80"] * 2
    unit.table[START] = [(0.04, bytes.fromhex("7F3178")), (3.0, STARTED)]
    start = talk.begin(UNIT, START)
    run(talk, clock, 2.5)
    assert start.open and unit.heard == [b"\x3e\x80", b"\x3e\x80", START]
    run(talk, clock, 0.6)
    assert start.result == "positive" and unit.heard[-1] == b"\x3e\x80"
    assert talk.end_keep_alive() is keep and len(keep.moments) == 3
    assert run(talk, clock, 5) == []


def test_tester_present_is_a_deadline_of_the_loop(talk: Conversation, clock: ManualClock) -> None:
    talk.keep_alive(UNIT)
    assert talk.deadline_ns() == round(1.9 * NS)


def test_an_interface_that_does_not_take_tester_present_is_not_asked_at_every_turn(
    talk: Conversation, clock: ManualClock, unit: Unit
) -> None:
    assert isinstance(talk.link, MemoryMessageLink)
    talk.keep_alive(UNIT)
    talk.link.stubborn = 3
    news = run(talk, clock, 2.8)
    assert [one.kind for one in news if isinstance(one, Event)] == ["refused"] * 3
    assert unit.heard == [b"\x3e\x80"], "it left at the fourth try, 0.75 s after the first"


def test_an_echo_is_never_a_reply(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock)
    exchange = talk.begin(UNIT, START)
    link.extra.append(Frame(0x7A8, bytes([4]) + STARTED, clock.stamp(), "echo"))
    link.extra.append(Frame(0x7A0, bytes([5]) + START, clock.stamp(), "echo"))
    talk.pump()
    assert exchange.open and exchange.replies == [] and talk.other_tester_ns is None


@pytest.mark.parametrize(
    ("can_id", "extended"),
    [
        (0x7A0, False),
        (0x7DF, False),
        (0x7E3, False),
        (0x18DA28F1, True),
        (0x18DA28F9, True),
        (0x0CDA28F1, True),
        (0x18CE28F1, True),
        (0x18DB33F1, True),
        (0x18DB1000, True),
        (0x18CD33F1, True),
    ],
)
def test_a_request_that_we_did_not_send_is_another_testers(
    unit: Unit, clock: ManualClock, can_id: int, extended: bool
) -> None:
    talk, link = framed(unit, clock)
    clock.advance(3)
    link.extra.append(Frame(can_id, b"\x02\x3e\x80", clock.stamp(), extended=extended))
    (news,) = talk.pump()
    assert isinstance(news, OtherRequest) and news.target == can_id
    assert talk.other_tester_ns == 3 * NS


def test_another_tester_is_heard_on_identifiers_that_nobody_named(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock)
    clock.advance(3)
    link.extra.append(Frame(0x6A0, b"\x02\x10\x03", clock.stamp()))
    assert talk.pump() == [] and talk.other_tester_ns is None
    link.extra.append(Frame(0x6A8, bytes.fromhex("065003003201F4"), clock.stamp()))
    (news,) = talk.pump()
    assert isinstance(news, OtherRequest) and news.target == 0x6A0 and talk.other_tester_ns == 3 * NS


@pytest.mark.parametrize("answer", ["0462F19044", "037F2231", "101462F190444444"])
def test_a_unit_that_answers_what_only_one_was_asked_is_noticed(unit: Unit, clock: ManualClock, answer: str) -> None:
    talk, link = framed(unit, clock)
    talk.begin(UNIT, bytes.fromhex("22F190"))
    talk.pump()
    link.extra.append(Frame(0x7B8, bytes.fromhex(answer), clock.stamp()))
    talk.pump()
    assert talk.also_answered_ns is not None and talk.other_tester_ns is None


def test_ordinary_traffic_and_the_answers_to_a_question_for_all_are_no_such_unit(
    unit: Unit, clock: ManualClock
) -> None:
    talk, link = framed(unit, clock)
    talk.begin(UNIT, bytes.fromhex("22F190"))
    link.extra += [Frame(0x7B8, bytes.fromhex(one), clock.stamp()) for one in ("0462F19144", "62F1904400000000")]
    run(talk, clock, 10)
    talk.begin(Peer(0x7DF, functional=True), bytes.fromhex("22F190"))
    link.extra.append(Frame(0x7B8, bytes.fromhex("0462F19044"), clock.stamp()))
    run(talk, clock, 10)
    assert talk.also_answered_ns is None


def test_an_answer_to_a_tester_is_no_other_testers_request(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock)
    link.extra += [Frame(can_id, b"\x02\x50\x03", clock.stamp(), extended=True) for can_id in (0x18DAF128, 0x18DAF1F5)]
    assert talk.pump() == [] and talk.other_tester_ns is None


def test_ordinary_traffic_is_no_other_tester(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock)
    link.extra.append(Frame(0x123, bytes(8), clock.stamp()))
    assert talk.pump() == [] and talk.other_tester_ns is None


def test_another_testers_request_over_a_message_link(
    talk: Conversation, link: MemoryMessageLink, clock: ManualClock
) -> None:
    link.events.append(Message(UNIT, b"\x3e\x00", clock.stamp(), clock.stamp()))
    (news,) = talk.pump()
    assert isinstance(news, OtherRequest) and talk.other_tester_ns == 0


def test_a_link_that_fails_ends_the_exchange_as_lost_and_sends_no_more(
    talk: Conversation, link: MemoryMessageLink, unit: Unit
) -> None:
    exchange = talk.begin(UNIT, START)
    link.broken = True
    news = talk.pump()
    assert exchange.result == "lost" and exchange.reached == "all"
    assert [type(one) for one in news] == [Event, Exchange]
    link.broken = False
    later = talk.begin(UNIT, STOP, urgent=True)
    assert (later.result, later.reached) == ("lost", "nothing") and unit.heard == [START]


def test_an_interface_that_did_not_take_a_request_loses_that_one_and_not_the_link(
    talk: Conversation, link: MemoryMessageLink, unit: Unit
) -> None:
    unit.table[STOP] = [(0.0, STOPPED)]
    link.stubborn = 1
    exchange = talk.ask(UNIT, START)
    assert (exchange.result, exchange.reached, talk.failure) == ("lost", "nothing", None)
    assert talk.ask(UNIT, STOP).result == "positive" and unit.heard == [STOP]


def test_what_a_link_refuses_when_its_turn_has_come_is_lost_and_told_and_no_error(
    talk: Conversation, link: MemoryMessageLink, clock: ManualClock, unit: Unit, monkeypatch: pytest.MonkeyPatch
) -> None:
    link.capabilities = Capabilities(min_gap_s=0.5)
    unit.table[STOP] = [(0.0, STOPPED)]
    assert talk.ask(UNIT, STOP).result == "positive"

    def refuse(*_: object) -> Stamp:
        raise LocalError("closed", hint="open it")

    monkeypatch.setattr(link, "send", refuse)
    exchange = talk.begin(UNIT, START)  # it waits for the gap
    talk.keep_alive(UNIT)
    news = run(talk, clock, 3)
    assert (exchange.result, exchange.reached, talk.failure) == ("lost", "nothing", None)
    assert [one.detail for one in news if isinstance(one, Event)].count("closed") in range(4, 8)


def test_a_broken_plugin_is_told_and_a_stop_can_still_leave(
    talk: Conversation, link: MemoryMessageLink, clock: ManualClock, unit: Unit, monkeypatch: pytest.MonkeyPatch
) -> None:
    receive, faults = link.receive, [LinkError("plugin x broke", kind=BROKEN, hint="tell its author")]
    unit.table[STOP] = [(0.0, STOPPED)]

    def broken(wait_s: float) -> Sequence[Message | Event]:
        if faults:
            raise faults.pop()
        return receive(wait_s)

    monkeypatch.setattr(link, "receive", broken)
    assert [one.detail for one in talk.pump() if isinstance(one, Event)] == ["plugin x broke"]
    assert talk.broken is not None and talk.failure is None
    stop = talk.begin(UNIT, STOP, urgent=True)
    run(talk, clock, 0.1)
    assert stop.result == "positive"


def test_a_link_that_says_lost_is_lost(talk: Conversation, link: MemoryMessageLink, clock: ManualClock) -> None:
    exchange = talk.begin(UNIT, START)
    link.events.append(Event("lost", clock.stamp(), detail="unplugged"))
    talk.pump()
    assert exchange.result == "lost" and talk.failure is not None


def test_a_gateway_that_refuses_the_request_is_no_answer_of_the_unit(
    talk: Conversation, link: MemoryMessageLink, clock: ManualClock
) -> None:
    exchange = talk.begin(UNIT, START)
    link.events.append(Event("refused", clock.stamp(), detail="unknown target", peer=UNIT))
    talk.pump()
    assert exchange.result == "lost" and exchange.replies == []


def test_begun_over_a_message_link_stops_p2(
    talk: Conversation, link: MemoryMessageLink, clock: ManualClock, unit: Unit
) -> None:
    exchange = talk.begin(UNIT, READ_VIN)
    link.events.append(Event("begun", clock.stamp(), peer=UNIT))
    run(talk, clock, 1.0)
    assert exchange.open
    unit.say(VIN)
    talk.pump()
    assert exchange.result == "positive"


def test_the_gap_a_link_needs_is_kept(
    talk: Conversation, link: MemoryMessageLink, clock: ManualClock, unit: Unit
) -> None:
    link.capabilities = Capabilities(min_gap_s=0.055)
    unit.table[READ_VIN] = [(0.01, VIN)]
    talk.ask(UNIT, READ_VIN)
    first_ns = unit.heard_ns[0]
    talk.begin(UNIT, START)
    assert unit.heard == [READ_VIN] and talk.deadline_ns() == first_ns + 55 * MS
    run(talk, clock, 0.1)
    assert unit.heard == [READ_VIN, START] and unit.heard_ns[1] >= first_ns + 55 * MS


def test_functional_answers_of_expected_peers_are_collected(unit: Unit, clock: ManualClock) -> None:
    talk, link = framed(unit, clock)
    exchange = talk.begin(Peer(0x7DF, functional=True), b"\x3e\x00")
    link.extra.append(Frame(0x7A8, b"\x02\x7e\x00", clock.stamp()))
    run(talk, clock, 0.2)
    assert exchange.result == "positive" and list(exchange.answers) == [0x7A8]


def test_an_exchange_ends_when_the_link_says_for_ever_that_its_answer_begins(
    talk: Conversation, clock: ManualClock, link: MemoryMessageLink
) -> None:
    exchange = talk.begin(UNIT, READ_VIN, budget_s=2.0)
    while exchange.open:
        link.events.append(Event("begun", clock.stamp(), peer=UNIT))
        assert clock.now_ns / NS < 8, "P2* is 5 s"
        talk.pump(0.01)
    assert (exchange.result, exchange.expired) == ("silence", "outer bound")


def test_a_stop_leaves_before_all_that_waits_for_the_gap_a_link_needs(clock: ManualClock, unit: Unit) -> None:
    link = MemoryMessageLink(unit)
    link.capabilities = Capabilities(min_gap_s=0.5)
    talk = Conversation(link, clock)
    unit.table[READ_VIN] = [(0.0, VIN)]
    talk.ask(UNIT, READ_VIN)
    start = talk.begin(UNIT, bytes.fromhex("31010301"))
    stop = talk.begin(UNIT, bytes.fromhex("31020301"), urgent=True)
    run(talk, clock, 1.2)
    assert unit.heard == [READ_VIN, bytes.fromhex("31020301")]
    assert (start.result, start.reached) == ("lost", "nothing") and stop.reached == "all"


class TakingTurns(MemoryMessageLink):
    """A link whose interface is busy with the request before until it says so."""

    busy = False

    def free(self) -> bool:
        return not self.busy

    def interrupt(self) -> None:
        self.busy = False

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        assert not self.busy, "the core would have waited here"
        return super().send(peer, payload)


def test_a_request_is_kept_until_the_interface_is_free(clock: ManualClock, unit: Unit) -> None:
    link = TakingTurns(unit)
    talk = Conversation(link, clock)
    link.busy = True
    exchange = talk.begin(UNIT, READ_VIN)
    run(talk, clock, 0.5)
    assert unit.heard == [] and exchange.open and talk.deadline_ns() is not None
    link.busy = False
    run(talk, clock, 0.01)
    assert unit.heard == [READ_VIN]


def test_a_start_that_waits_for_the_interface_never_leaves_once_a_stop_was_asked_for(
    clock: ManualClock, unit: Unit
) -> None:
    link = TakingTurns(unit)
    talk = Conversation(link, clock)
    link.busy = True
    start = talk.begin(UNIT, bytes.fromhex("31010301"))
    run(talk, clock, 0.1)
    stop = talk.begin(UNIT, bytes.fromhex("31020301"), urgent=True)
    assert unit.heard == [bytes.fromhex("31020301")] and stop.reached == "all"
    run(talk, clock, 1)
    assert unit.heard == [bytes.fromhex("31020301")] and (start.result, start.reached) == ("lost", "nothing")
