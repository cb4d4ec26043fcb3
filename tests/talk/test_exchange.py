"""One request and all that answered it. Times from ISO 14229-2:2021, clause 8: P2 50 ms, P2* 5000 ms."""

from __future__ import annotations

import pytest

from witnessmark.clock import Stamp
from witnessmark.errors import OutcomeUnknown
from witnessmark.link.frame import Message, Peer
from witnessmark.talk.exchange import Exchange, fits
from witnessmark.talk.timing import Timing

MS = 1_000_000
UNIT = Peer(0x7A0, 0x7A8)
START = bytes.fromhex("3101030108")
PENDING = bytes.fromhex("7F3178")
STARTED = bytes.fromhex("71010301")


def at(ms: float) -> Stamp:
    ns = round(ms * MS)
    return Stamp(ns, ns)


def message(ms: float, payload: bytes, peer: Peer = UNIT) -> Message:
    return Message(peer, payload, at(ms), at(ms), (payload,))


def sent(payload: bytes = START, peer: Peer = UNIT, budget_s: float | None = None, unsure: bool = False) -> Exchange:
    exchange = Exchange(peer, payload, Timing(), budget_s=budget_s, unsure=unsure)
    exchange.begun(at(0))
    return exchange


def test_a_positive_answer_ends_it() -> None:
    exchange = sent()
    assert exchange.receive(message(20, STARTED)) == "positive"
    assert (exchange.result, exchange.expired) == ("positive", "")
    assert exchange.answer is not None and exchange.answer.first == at(20)


def test_a_negative_answer_is_data_and_ends_it_with_its_code() -> None:
    exchange = sent()
    assert exchange.receive(message(20, bytes.fromhex("7F3122"))) == "negative"
    assert (exchange.result, exchange.code) == ("negative", 0x22)


def test_silence_expires_p2_and_says_so() -> None:
    exchange = sent()
    exchange.tick(49 * MS)
    assert exchange.open and exchange.deadline_ns() == 50 * MS
    exchange.tick(50 * MS)
    assert (exchange.result, exchange.expired) == ("silence", "P2")
    with pytest.raises(OutcomeUnknown) as caught:
        exchange.raise_silence()
    assert (caught.value.budget, caught.value.reached) == ("P2", "maybe")


def test_each_pending_answer_starts_p2_star_anew() -> None:
    exchange = sent()
    for ms in (40, 5000, 9900):
        exchange.tick(round(ms * MS))
        assert exchange.receive(message(ms, PENDING)) == "pending"
    assert exchange.deadline_ns() == (9900 + 5000) * MS
    assert exchange.receive(message(14_000, STARTED)) == "positive"
    assert [one.verdict for one in exchange.replies] == ["pending", "pending", "pending", "positive"]


def test_silence_after_pending_names_p2_star() -> None:
    exchange = sent()
    exchange.receive(message(40, PENDING))
    exchange.tick(5040 * MS)
    assert (exchange.result, exchange.expired) == ("silence", "P2*")


def test_the_pending_budget_ends_a_unit_that_goes_on_with_0x78() -> None:
    exchange = sent(budget_s=10)
    for ms in (40, 4000, 8000):
        exchange.receive(message(ms, PENDING))
    exchange.tick(9_999 * MS)
    assert exchange.open and exchange.deadline_ns() == 10_000 * MS
    exchange.tick(10_000 * MS)
    assert (exchange.result, exchange.expired) == ("silence", "pending budget")


def test_without_0x78_the_budget_does_not_lengthen_p2() -> None:
    exchange = sent(budget_s=10)
    exchange.tick(50 * MS)
    assert exchange.expired == "P2"


def test_a_begun_answer_stops_p2_while_the_transport_watches() -> None:
    exchange = sent(bytes.fromhex("22F190"))
    exchange.answer_begun(0x7A8, 45 * MS, watched=True)
    exchange.tick(900 * MS)
    assert exchange.open and exchange.deadline_ns() is None
    assert exchange.receive(message(901, bytes.fromhex("62F190") + b"1" * 17)) == "positive"


def test_a_begun_answer_that_nobody_watches_has_p2_star() -> None:
    exchange = sent(bytes.fromhex("22F190"))
    exchange.answer_begun(0x7A8, 45 * MS, watched=False)
    assert exchange.deadline_ns() == 5045 * MS


def test_a_broken_answer_is_kept_and_leaves_p2_for_another() -> None:
    exchange = sent(bytes.fromhex("22F190"))
    exchange.answer_begun(0x7A8, 45 * MS, watched=True)
    exchange.answer_failed(0x7A8, (b"\x10\x14",), at(1045))
    assert exchange.replies[0].verdict == "malformed" and exchange.replies[0].raw == (b"\x10\x14",)
    exchange.tick(1095 * MS)
    assert (exchange.result, exchange.expired) == ("silence", "P2")


def test_a_suppressed_request_stays_open_for_p2_and_then_nothing_was_asked_for() -> None:
    exchange = sent(bytes.fromhex("3E80"))
    exchange.tick(49 * MS)
    assert exchange.open
    exchange.tick(50 * MS)
    assert (exchange.result, exchange.expired) == ("suppressed", "")


@pytest.mark.parametrize(
    ("asked", "said", "answers"),
    [
        ("1085", "5085", True),
        ("1089", "5089", True),
        ("1089", "5009", True),
        ("1003", "5003", True),
        ("1003", "5083", False),
        ("1085", "5089", False),
        ("1085", "5081", False),
        ("1085", "7F1012", True),
    ],
)
def test_a_session_of_iso_14230_3_is_answered_by_its_own_number(asked: str, said: str, answers: bool) -> None:
    """ISO 14230-3 (from memory): the answer repeats the mode, bit 7 is a part of it."""
    assert fits(bytes.fromhex(asked), bytes.fromhex(said)) is answers


def test_a_session_that_nobody_confirmed_is_silence_whatever_its_bit_7_says() -> None:
    exchange = sent(bytes.fromhex("1085"))
    exchange.tick(50 * MS)
    assert exchange.result == "silence"


def test_pending_reopens_a_suppressed_request_and_its_answer_counts() -> None:
    exchange = sent(bytes.fromhex("318103010A"))
    assert exchange.receive(message(30, PENDING)) == "pending"
    exchange.tick(60 * MS)
    assert exchange.open
    assert exchange.receive(message(3000, STARTED)) == "positive"


def test_pending_and_then_silence_is_silence_even_for_a_suppressed_request() -> None:
    exchange = sent(bytes.fromhex("318103010A"))
    exchange.receive(message(30, PENDING))
    exchange.tick(5030 * MS)
    assert (exchange.result, exchange.expired) == ("silence", "P2*")


@pytest.mark.parametrize(
    "answer",
    ["71020301", "71010302", "62F190", "7F2231", "3101030108"],
    ids=["other sub-function", "other identifier", "other service", "other service refused", "a request"],
)
def test_what_cannot_answer_the_request_is_left_out(answer: str) -> None:
    exchange = sent()
    assert exchange.receive(message(20, bytes.fromhex(answer))) is None
    assert exchange.open and exchange.replies == []


def test_the_answer_to_an_input_output_start_does_not_confirm_its_stop() -> None:
    # ISO 14229-1:2020, 12.2: the answer echoes the control parameter, 03 adjust, 00 return control.
    stop = sent(bytes.fromhex("2F710100"))
    assert stop.receive(message(20, bytes.fromhex("6F71010301"))) is None
    assert stop.receive(message(20, bytes.fromhex("6F71010000"))) == "positive"


def test_another_control_unit_does_not_answer_a_physical_request() -> None:
    exchange = sent()
    assert exchange.receive(message(20, STARTED, Peer(0x7A1, 0x7A9))) is None


def test_a_functional_request_keeps_a_set_keyed_by_source_until_its_time_is_up() -> None:
    exchange = sent(bytes.fromhex("3E00"), Peer(0x7DF, functional=True))
    exchange.receive(message(10, bytes.fromhex("7E00"), Peer(0x7E0, 0x7E8)))
    exchange.receive(message(12, bytes.fromhex("7F3E11"), Peer(0x7E1, 0x7E9)))
    exchange.receive(message(14, bytes.fromhex("7F3E78"), Peer(0x7E2, 0x7EA)))
    exchange.tick(50 * MS)
    assert exchange.open
    exchange.receive(message(4000, bytes.fromhex("7E00"), Peer(0x7E2, 0x7EA)))
    exchange.tick(4001 * MS)
    assert exchange.result == "positive"
    assert {source: one.verdict for source, one in exchange.answers.items()} == {
        0x7E8: "positive",
        0x7E9: "negative",
        0x7EA: "positive",
    }


def test_a_functional_request_that_all_refuse_is_negative_and_one_nobody_answers_is_silence() -> None:
    refused = sent(bytes.fromhex("3E00"), Peer(0x7DF, functional=True))
    refused.receive(message(10, bytes.fromhex("7F3E11"), Peer(0x7E0, 0x7E8)))
    refused.tick(50 * MS)
    silent = sent(bytes.fromhex("3E00"), Peer(0x7DF, functional=True))
    silent.tick(50 * MS)
    assert (refused.result, silent.result) == ("negative", "silence")


def test_an_answer_that_an_earlier_request_may_have_caused_is_ambiguous() -> None:
    exchange = sent(unsure=True)
    assert exchange.receive(message(20, STARTED)) == "ambiguous"
    assert exchange.result == "positive"


def test_a_lost_link_ends_it() -> None:
    exchange = sent()
    exchange.lost(5 * MS)
    assert exchange.result == "lost" and exchange.deadline_ns() is None
    assert exchange.receive(message(20, STARTED)) is None


def test_the_links_latency_is_added_to_both_times() -> None:
    exchange = Exchange(UNIT, START, Timing(p2_s=0.02, p2_star_s=1.0), added_ns=7 * MS)
    exchange.begun(at(0))
    assert exchange.deadline_ns() == 27 * MS
    exchange.receive(message(10, PENDING))
    assert exchange.deadline_ns() == (10 + 1000 + 7) * MS


def test_the_answer_to_tester_present_of_iso_14230_has_no_sub_function() -> None:
    assert fits(b"\x3e\x01", b"\x7e") and fits(b"\x3e\x00", b"\x7e\x00") and fits(b"\x3e\x01", b"\x7f\x3e\x12")
    assert not fits(b"\x3e\x00", b"\x7e\x02") and not fits(b"\x31\x01\x12\x34", b"\x7e")
