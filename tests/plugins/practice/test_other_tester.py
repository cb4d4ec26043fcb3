"""Another tester on the practice truck's bus: heard whole, and never in the way of somebody else's conversation."""

from __future__ import annotations

import pytest
from tests.plugins.practice.bay import Bay

from witnessmark.errors import InputError
from witnessmark.wire.isotp.passive import Message, PassiveReassembler
from witnessmark_practice.identity import VIN
from witnessmark_practice.node import ANSWER_ID, REQUEST_ID

NUMBER = "62F190" + VIN.encode().hex().upper()


def messages(bay: Bay, can_id: int) -> list[str]:
    """What a listener on the bus hears whole."""
    passive = PassiveReassembler()
    told = [one for frame in bay.frames for one in passive.feed(frame.can_id, frame.data, round(frame.at_s * 1e9))]
    return [one.payload.hex().upper() for one in told if isinstance(one, Message) and one.key == can_id]


@pytest.fixture
def bay() -> Bay:
    bay = Bay()
    bay.ready()
    return bay


def test_a_long_answer_to_another_tester_is_heard_whole(bay: Bay) -> None:
    bay.do("tester", "22F190")
    bay.wait(0.2)
    assert messages(bay, ANSWER_ID) == [NUMBER]
    assert bay.do("read", "tester") == NUMBER


def test_what_is_answered_at_once_is_told_and_what_comes_later_can_be_read(bay: Bay) -> None:
    assert bay.do("read", "tester") == "no answer"
    assert bay.do("tester", "1003") == "answered 500300C801F4"
    assert bay.do("tester", "31017320") == "answered 7F3178"
    bay.wait(1)
    assert bay.do("read", "tester") == "7F3178 7101732001"


def test_a_request_longer_than_a_frame_is_asked_whole(bay: Bay) -> None:
    bay.do("tester", "22F187F191F195F190")
    bay.wait(0.2)
    assert messages(bay, REQUEST_ID)[0] == "22F187F191F195F190"
    assert bay.do("read", "tester").startswith("62F187")


def test_it_takes_no_part_in_the_conversation_of_somebody_else(bay: Bay) -> None:
    bay.do("tester", "3E00")
    bay.wait(0)
    bay.send("0322F190")
    bay.wait(0.2)
    assert not [frame for frame in bay.frames if frame.can_id == REQUEST_ID], "no flow control but the asker's own"


def test_a_session_is_kept_alive_only_where_it_was_told_to_and_until_it_is_left(bay: Bay) -> None:
    bay.do("tester", "1003")
    bay.wait(6)
    assert bay.truck.unit.session == 1
    bay.do("tester", "1003", "keep")
    bay.frames.clear()
    bay.wait(9)
    assert bay.truck.unit.session == 3
    assert messages(bay, REQUEST_ID) == ["3E80"] * 4
    bay.do("tester", "1001")
    bay.frames.clear()
    bay.wait(9)
    assert not bay.frames


def test_a_whole_run_by_another_tester_takes_one_act(bay: Bay) -> None:
    assert bay.do("elsewhere", "pump-rear", "10 s") == "asked; what was answered: read tester"
    bay.wait(30)
    assert messages(bay, REQUEST_ID) == ["1003", "31017320", *["3E80"] * 5, "31027320", "1001"]
    (run,) = bay.truck.unit.actuator.runs
    assert run.ended_by == "stop"
    assert run.end_s is not None and run.end_s - run.start_s == pytest.approx(10.0, abs=1e-6)


def test_the_seconds_of_a_run_stand_in_its_request_where_it_takes_them(bay: Bay) -> None:
    bay.do("elsewhere", "valve-rear-left", "4 s")
    bay.wait(10)
    assert [one for one in messages(bay, REQUEST_ID) if one.startswith("2F")] == ["2F71010304", "2F710100"]


def test_a_refused_run_is_not_stopped_and_can_be_read(bay: Bay) -> None:
    bay.do("roll")
    bay.do("elsewhere", "pump-rear", "4 s")
    bay.wait(10)
    assert messages(bay, REQUEST_ID) == ["1003", "31017320", "1001"]
    assert bay.do("read", "tester") == "7F3188"


def test_stop_ends_what_runs_elsewhere_at_once(bay: Bay) -> None:
    bay.do("elsewhere", "pump-rear", "10 s")
    bay.wait(5)
    bay.do("elsewhere", "stop")
    bay.wait(1)
    (run,) = bay.truck.unit.actuator.runs
    assert run.ended_by == "stop"
    assert run.end_s is not None and run.end_s == pytest.approx(5.0, abs=0.1)
    bay.wait(30)
    assert messages(bay, REQUEST_ID).count("31027320") == 1


@pytest.mark.parametrize(
    ("item", "amount", "what"),
    [
        ("pump-roof", "4 s", "'pump-roof' is not a wire command"),
        ("pump-rear", "300 s", "'300 s' is not an amount"),
        ("pump-rear", "0 s", "not a time to run"),
        ("stop", "", "nothing runs"),
    ],
)
def test_what_another_tester_cannot_do_is_refused(bay: Bay, item: str, amount: str, what: str) -> None:
    with pytest.raises(InputError, match=what):
        bay.do("elsewhere", item, amount)


def test_nobody_takes_a_run_of_a_truck_that_sleeps() -> None:
    bay = Bay()
    assert bay.do("elsewhere", "pump-rear", "4 s") == "nobody took it"
