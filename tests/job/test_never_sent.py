"""Every refusal, at the vehicle's ears: nothing that acts was heard, and the journal says which rule refused."""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import pytest
from tests.job.bus import ListeningLink
from tests.job.stand import (
    GEAR,
    LEAD,
    MAP,
    PEER,
    PROCEDURE,
    SOFTWARE,
    SPEED,
    START,
    TECHNICIAN,
    VOLTAGE,
    MemoryJournal,
    Stand,
)

from witnessmark.clock import ManualClock
from witnessmark.host.face import LIVE
from witnessmark.job.allowed.approval import approve, withdraw
from witnessmark.job.heard.hearing import OTHER_TESTER
from witnessmark.link.frame import Message, Peer
from witnessmark.mapping.load import from_document


def a_map(**command: Any) -> dict[str, Any]:
    document = copy.deepcopy(MAP)
    document["wire_commands"][0] |= command
    return document


def says(request: bytes, answer: str) -> Callable[[Stand], None]:
    def change(stand: Stand) -> None:
        stand.unit.table[request] = [(0.02, bytes.fromhex(answer))]

    return change


def silent(request: bytes) -> Callable[[Stand], None]:
    def change(stand: Stand) -> None:
        stand.unit.table[request] = []

    return change


def other_tester(stand: Stand) -> None:
    stamp = stand.clock.stamp()
    stand.link.events.append(Message(PEER, b"\x3e\x00", stamp, stamp))
    stand.turn()


def say(what: str) -> Callable[[Stand], None]:
    def change(stand: Stand) -> None:
        stand.do(do="say", what=what)
        stand.until(lambda: stand.state.reservoir_empty is (what == "empty"))

    return change


def withdrawn(stand: Stand) -> None:
    stand.journal.append(withdraw(LEAD, from_document(stand.document), "recalled"))


def older(seconds: float) -> Callable[[Stand], None]:
    def change(stand: Stand) -> None:
        # The view is of the moment before: the person answers it as the reading has just grown too old.
        stand.clock.advance(seconds)

    return change


def unchanged(stand: Stand) -> None:
    pass


@dataclass(frozen=True)
class Case:
    rule: str
    change: Callable[[Stand], None] = unchanged
    document: dict[str, Any] | None = None
    procedure: str = PROCEDURE
    answers: tuple[tuple[str, bool], ...] = ()
    approved: bool = True
    shown: str = "arm"


NEVER = ("forbidden-service", "programming-session", "functional", "never-sent", "too-long", "not-asked")
"""Rules of which map and procedure alone say that they refuse."""

CASES = {
    "another tester was heard in the last 10 s": Case("other-tester", other_tester),
    "it is addressed to all control units": Case(
        "functional", document=copy.deepcopy(MAP) | {"address": {"request": "7DF", "answer": "7A8"}}
    ),
    "it is addressed to the map's functional identifier": Case(
        "functional",
        document=copy.deepcopy(MAP) | {"address": {"request": "7A0", "answer": "7A8", "functional": "7A0"}},
    ),
    **{
        f"it is addressed by {name}": Case(rule, document=copy.deepcopy(MAP) | {"address": address})
        for name, rule, address in (
            ("7DF with a leading zero", "functional", {"request": "07DF", "answer": "7A8"}),
            ("another priority", "functional", {"request": "0CDB33F1", "answer": "18DAF128", "bits": 29}),
            ("another functional target", "functional", {"request": "18DB10F1", "answer": "18DAF128", "bits": 29}),
            ("mixed functional addressing", "functional", {"request": "18CD33F1", "answer": "18CEF128", "bits": 29}),
            ("all nodes as one target", "functional", {"request": "18DAFFF1", "answer": "18DAF128", "bits": 29}),
            (
                "the address of all on a K-line",
                "functional",
                {"request": "33", "answer": "33", "bits": 8, "transport": "iso14230"},
            ),
            (
                "a functional group",
                "functional",
                {"request": "E400", "answer": "1010", "bits": 16, "transport": "iso13400"},
            ),
            ("where it is answered", "never-sent", {"request": "7A0", "answer": "7A0"}),
            ("an address byte", "never-sent", {"request": "7A0", "answer": "7A8", "extension": "55"}),
        )
    },
    "its routine erases memory": Case("never-sent", document=a_map(start="3101FF00{seconds}", stop="3102FF00")),
    "its routine fires": Case("never-sent", document=a_map(start="3101E201{seconds}", stop="3102E201")),
    "its stop names another routine": Case("never-sent", document=a_map(stop="31020302")),
    "its stop is of another service": Case("never-sent", document=a_map(stop="2F030100")),
    "its hole stands in its identifier": Case("never-sent", document=a_map(start="3101{seconds}0103")),
    "its hole stands in its sub-function": Case("forbidden-service", document=a_map(start="31{seconds}030103")),
    "its results request reads two identifiers": Case("never-sent", document=a_map(results="22F190F191")),
    "it is longer than the map's longest": Case("too-long", document=a_map(longest_s=7)),
    "it is longer than the procedure's longest": Case(
        "too-long", procedure=PROCEDURE.replace('longest_run = "20 s"', 'longest_run = "7 s"')
    ),
    "its seconds do not fit the hole": Case(
        "too-long", procedure=PROCEDURE.replace('seconds = "8 s"', 'seconds = "8.5 s"')
    ),
    "it is longer than the pump may be on": Case(
        "too-long", procedure=PROCEDURE.replace('on_time = "30 s"', 'on_time = "7 s"')
    ),
    "it has a precondition that the procedure does not ask": Case(
        "not-asked", document=a_map(preconditions=["gear", "reservoir"])
    ),
    "the reservoir was recorded empty": Case("reservoir-empty", say("empty")),
    "it was never approved": Case("not-approved", approved=False, shown="busy"),
    "the approval was withdrawn": Case("not-approved", withdrawn),
    "the software is another than was approved": Case("identification", says(SOFTWARE, "62F1890103")),
    "the control unit does not tell its software": Case("identification", says(SOFTWARE, "7F2231")),
    "the control unit is silent": Case("no-answer", silent(SOFTWARE)),
    "a precondition is not answered": Case("no-answer", silent(GEAR)),
    "the vehicle moves": Case("moving", says(SPEED, "62700203")),
    "the supply is low": Case("condition", says(VOLTAGE, "6270016E")),
    "the selector is not in park": Case("condition", says(GEAR, "62700302")),
    "the selector says something without a name": Case("unreadable", says(GEAR, "627003FF")),
    "a precondition cannot be read": Case("unreadable", says(GEAR, "7F2231")),
    "a person says no": Case("question", answers=(("nobody-near", False),)),
    "a person says no to what nobody can read": Case("question", answers=(("hood", False),)),
    "the pressure was read too long ago": Case("pressure", older(91)),
    "it needs a programming session": Case("programming-session", document=a_map(session=2)),
    **{
        f"it uses service {service}": Case("forbidden-service", document=a_map(start=f"{service}010301"))
        for service in ("27", "29", "2E", "34", "35", "36", "37", "38", "11", "28", "85", "10", "3D", "87")
    },
    "its stop is a start": Case("forbidden-service", document=a_map(stop="31010301")),
    "its stop writes": Case("forbidden-service", document=a_map(stop="2E030100")),
    "its results request is a start": Case("forbidden-service", document=a_map(results="31010301")),
}


def test_what_does_not_hold_has_an_open_nipple_shut_first_and_says_that_the_documents_may_be_wrong() -> None:
    stand = Stand()
    try:
        stand.go_to("arm")
        assert stand.state.open_nipples
        says(GEAR, "62700302")(stand)
        stand.send(do="answers", view=stand.view["id"], answers={one["id"]: True for one in stand.view["questions"]})
        stand.until(lambda: stand.errors)
        assert "OPEN under PRESSURE: close it first, put it right, then arm again" in stand.errors[-1]["hint"]
        assert "the procedure or the map may be wrong" in stand.errors[-1]["hint"]
    finally:
        stand.close()


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_nothing_is_sent_when(case: Case) -> None:
    stand = Stand(procedure=case.procedure, map_document=case.document, approved=case.approved)
    try:
        stand.go_to("busy" if case.rule in NEVER else case.shown)
        if case.rule in NEVER:
            assert "Its run is never sent" in stand.view["text"] and "opened" not in str(stand.bodies("step"))
            assert stand.unit.heard == [], "nothing is asked of a unit for what is never sent"
        case.change(stand)
        view = stand.view
        if view["kind"] == "arm":
            yes = {one["id"]: True for one in view["questions"]}
            stand.send(do="answers", view=view["id"], answers=yes | dict(case.answers))
            stand.until(lambda: stand.errors)
        else:
            stand.arm_anyway()
        stand.turn(5)
        assert stand.acts == [] and b"\x10\x03" not in stand.unit.heard
        assert [one.rule for one in stand.bodies("refused")] == [case.rule]
        assert stand.errors[-1]["rule"] == case.rule and stand.errors[-1]["reached"] == "nothing"
        assert stand.errors[-1]["what"] and "intent" not in stand.kinds() and "armed" not in stand.kinds()
    finally:
        stand.close()


@pytest.mark.parametrize("missing", ["nobody-near", "hood"])
def test_a_question_without_an_answer_refuses(missing: str) -> None:
    stand = Stand()
    try:
        stand.go_to("arm")
        answers = {one["id"]: True for one in stand.view["questions"] if one["id"] != missing}
        stand.do(do="answers", answers=answers)
        stand.until(lambda: stand.errors)
        assert stand.errors[-1]["rule"] == "question" and stand.acts == []
    finally:
        stand.close()


def test_a_vehicle_whose_speed_nobody_can_read_must_be_said_to_stand_still() -> None:
    document = copy.deepcopy(MAP)
    document["conditions"] = document["conditions"][1:]
    stand = Stand(map_document=document)
    try:
        stand.go_to("arm")
        assert "speed" in [one["id"] for one in stand.view["questions"]]
        stand.answer(speed=False)
        stand.until(lambda: stand.errors)
        assert stand.errors[-1]["rule"] == "question" and stand.acts == []
    finally:
        stand.close()


def test_what_could_not_be_read_is_asked_of_a_person_and_recorded_as_told() -> None:
    stand = Stand()
    try:
        stand.go_to("arm")
        stand.unit.table[GEAR] = [(0.02, bytes.fromhex("7F2231"))]
        stand.answer()
        stand.until(lambda: stand.view["kind"] == "arm" and "gear" in [one["id"] for one in stand.view["questions"]])
        stand.wait(0.1)
        stand.answer()
        stand.go_to("armed")
        told = [one for one in stand.bodies("condition") if one.name == "gear"]
        assert [(one.source, one.holds) for one in told] == [("told", True)]
    finally:
        stand.close()


@pytest.fixture
def armed() -> Any:
    stand = Stand()
    stand.go_to("armed")
    yield stand
    stand.close()


def test_another_tester_heard_while_armed_refuses_the_start(armed: Stand) -> None:
    other_tester(armed)
    armed.press("s")
    armed.until(lambda: armed.errors)
    assert armed.errors[-1]["rule"] == "other-tester" and armed.acts == []
    assert armed.kinds()[-2:] == ["disarmed", "refused"]


def test_a_reservoir_said_to_be_empty_while_it_is_armed_refuses_the_start(armed: Stand) -> None:
    armed.do(do="say", what="empty")
    armed.turn(5)
    armed.press("s")
    armed.until(lambda: armed.errors)
    assert armed.errors[-1]["rule"] == "reservoir-empty" and armed.acts == [] and "intent" not in armed.kinds()


def test_another_tester_heard_while_the_intent_is_written_refuses_the_start(armed: Stand) -> None:
    armed.thread.held = True
    armed.send(do="start", view=armed.view["id"])
    armed.turn(5)
    other_tester(armed)
    armed.thread.held = False
    armed.until(lambda: armed.bodies("outcome"))
    (outcome,) = armed.bodies("outcome")
    assert (outcome.result, outcome.stop) == ("refused", "not sent")
    assert armed.acts == [] and armed.bodies("refused")[-1].rule == "other-tester"


def test_another_testers_request_ten_seconds_ago_refuses_no_more(armed: Stand) -> None:
    other_tester(armed)
    armed.wait(10.1)
    armed.press("s")
    armed.until(lambda: armed.acts)
    assert armed.acts == [START]


@pytest.mark.parametrize("answer", ["62F1890999", "7F2231"])
def test_an_address_that_another_unit_answers_as_well_is_sent_nothing_that_acts(answer: str) -> None:
    stand = Stand()
    twin = Peer(PEER.target, 0x7B8)

    def both() -> list[tuple[float, bytes]]:
        stand.unit.say(bytes.fromhex(answer), after_s=0.03, peer=twin)
        return [(0.02, bytes.fromhex("62F1890102"))]

    try:
        stand.go_to("arm")
        stand.unit.table[SOFTWARE] = both
        stand.answer()
        stand.until(lambda: stand.view["kind"] == "armed" or stand.errors)
        if not stand.errors:
            stand.press("s")
            stand.until(lambda: stand.errors)
        stand.wait(1)
        assert stand.errors[-1]["rule"] == "functional" and stand.acts == []
    finally:
        stand.close()


def test_another_tester_is_not_forgotten_when_the_link_is_opened_anew(armed: Stand) -> None:
    armed.press("x")
    armed.until(lambda: armed.view["kind"] == "arm")
    other_tester(armed)
    armed.link.broken = True
    armed.until(lambda: armed.errors)
    armed.link.broken = False
    opens = armed.opens
    armed.until(lambda: armed.view["kind"] == "close")  # nothing can be sent: what stands open is shut first
    armed.press("y")
    armed.press("r")
    armed.press("y")
    armed.arm_again()
    assert armed.opens == opens + 1 and armed.errors[-1]["rule"] == "other-tester" and armed.acts == []


@pytest.mark.parametrize(("after_s", "refused"), [(5, True), (19, True), (21, False)])
def test_another_tester_is_not_forgotten_by_the_next_program(armed: Stand, after_s: float, refused: bool) -> None:
    armed.press("x")
    armed.until(lambda: armed.view["kind"] == "arm")
    other_tester(armed)
    armed.wait(9)
    other_tester(armed)  # written once in ten seconds: that it was heard again is nowhere
    armed.close()
    armed.clock.advance(after_s - 9)
    heard = [one for one in armed.journal.made if one.kind == "event" and one.body["what"] == OTHER_TESTER]
    assert len(heard) == 1
    armed.start_runner(other_tester=heard[0].recorded)
    armed.arm_again()
    assert (armed.errors[-1:] and armed.errors[-1]["rule"] == "other-tester") == (refused or [])
    assert armed.acts == []


def test_another_tester_that_asks_all_units_of_the_map_is_heard() -> None:
    clock = ManualClock()
    bus = ListeningLink(clock)
    document = copy.deepcopy(MAP) | {"address": {"request": "7A0", "answer": "7A8", "functional": "700"}}
    stand = Stand(map_document=document, bus=bus, clock=clock)
    try:
        bus.ask("3E80", can_id=0x700)
        stand.turn()
        assert [one.what for one in stand.bodies("event")] == [OTHER_TESTER]
    finally:
        stand.close()


def test_a_withdrawal_is_seen_before_a_nipple_opens_or_a_question_is_asked_and_says_who_and_why() -> None:
    for procedure in (PROCEDURE, PROCEDURE.replace('order = "with"\n', 'order = "before"\n')):
        stand = Stand(procedure=procedure)
        try:
            stand.go_to("reading")
            stand.journal.append(withdraw(TECHNICIAN, from_document(MAP), "the pump was loud"))
            stand.go_to("busy")
            assert (
                f"withdrawn by {TECHNICIAN.id} on " in stand.view["text"] and "the pump was loud" in stand.view["text"]
            )
            assert "Until then nothing is asked and no nipple opened." in stand.view["text"]
            assert not {"arm", "open"} & {one["view"]["kind"] for one in stand.told if "view" in one}
            stand.journal.append(approve(LEAD, from_document(MAP)))
            stand.wait(2.1)
            stand.until(lambda stand=stand: stand.view["kind"] in ("arm", "open"))
            assert stand.acts == [] and stand.bodies("refused") == []
        finally:
            stand.close()


def test_a_withdrawal_while_it_runs_is_told_once_and_the_run_goes_on_to_its_end(armed: Stand) -> None:
    armed.press("s")
    armed.until(lambda: armed.acts)
    armed.journal.append(withdraw(TECHNICIAN, from_document(MAP), "the pump was loud"))
    armed.until(lambda: armed.bodies("outcome"))
    said = [one["said"] for one in armed.told if "withdrawn by" in str(one.get("said"))]
    assert len(said) == 1 and "What runs goes on to its end" in said[0]
    assert armed.bodies("outcome")[0].result == "completed"


def test_an_approval_withdrawn_while_armed_counts_at_once(armed: Stand) -> None:
    withdrawn(armed)
    armed.press("s")
    armed.until(lambda: armed.errors)
    assert armed.errors[-1]["rule"] == "not-approved" and armed.acts == [] and "intent" not in armed.kinds()
    runs = [one["run"]["state"] for one in armed.told if "run" in one]
    assert runs[-1] == "nothing sent" and runs[-1] not in LIVE  # the face shows a run no longer, and no key is a stop


def test_an_intent_that_cannot_be_recorded_sends_nothing(armed: Stand) -> None:
    armed.journal.fails = lambda draft: "the disk is full" if draft.kind == "intent" else ""
    armed.press("s")
    armed.until(lambda: any(one.get("rule") for one in armed.errors))
    armed.turn(20)
    assert armed.acts == [] and b"\x10\x03" not in armed.unit.heard
    assert armed.errors[-1]["rule"] == "not-recorded" and "the disk is full" in armed.errors[-1]["what"]
    assert [one["run"]["state"] for one in armed.told if "run" in one][-1] == "nothing sent"


def test_arming_expires_by_itself(armed: Stand) -> None:
    armed.wait(60.1)
    armed.until(lambda: armed.view["kind"] != "armed")
    assert armed.bodies("disarmed")[-1].why == "not started in time" and armed.acts == []


def test_after_it_expired_arming_again_is_one_touch(armed: Stand) -> None:
    armed.wait(60.1)
    armed.until(lambda: armed.view["kind"] == "arm")
    armed.press("a")
    armed.go_to("armed")
    assert armed.acts == [] and len(armed.bodies("armed")) == 2


def test_a_second_run_waits_for_the_motor_to_rest() -> None:
    stand = Stand(procedure=PROCEDURE.replace('order = "with"\n', 'order = "before"\n'))
    try:
        stand.go_to("busy", "p2")
        assert "motor rests" in stand.view["text"]
        stand.arm_anyway()
        assert stand.errors[-1]["rule"] == "cool-down" and stand.acts[2:] == []
        stand.go_to("armed", "p2")
    finally:
        stand.close()


def test_the_rest_counts_on_in_a_new_runner_and_never_less_when_the_clocks_do_not_tell() -> None:
    stand = Stand()
    try:
        stand.go_to("close", "p1")
        # As after the machine was set back: the entries lie in the future of every clock.
        stand.clock.now_ns -= 3_600_000_000_000
        stand.crash()
        stand.go_to("busy", "p2")
        stand.arm_anyway()
        assert stand.errors[-1]["rule"] == "cool-down"
    finally:
        stand.close()


def test_a_reservoir_that_was_filled_again_refuses_no_more() -> None:
    stand = Stand()
    try:
        stand.go_to("arm")
        say("empty")(stand)
        stand.press("y")
        stand.press("o")
        stand.press("k", "it was looked at: no air")
        say("refill")(stand)
        stand.go_to("armed")
        assert stand.bodies("refused") == []
    finally:
        stand.close()


@pytest.mark.parametrize(
    ("invented", "practice", "proven", "refused"),
    [
        (False, False, "name only", 1),
        (False, True, "name only", 1),
        (True, False, "name only", 1),
        (True, True, "name only", 0),
        (False, False, "pin", 0),
        (True, False, "pin", 0),
    ],
)
def test_an_approval_by_name_only_is_enough_for_practice_data_on_a_practice_vehicle_alone(
    monkeypatch: pytest.MonkeyPatch, invented: bool, practice: bool, proven: str, refused: int
) -> None:
    monkeypatch.setattr(ManualClock, "practice", practice)
    document = copy.deepcopy(MAP) | {"invented": invented}

    def by_name(journal: MemoryJournal) -> None:
        draft = approve(LEAD, from_document(document))
        journal.append(replace(draft, body={**draft.body, "proven": proven}))

    stand = Stand(map_document=document, approved=False, before=by_name)
    try:
        stand.go_to("busy" if refused else "arm")
        if refused:
            assert "was approved by name only" in stand.view["text"]
            stand.arm_anyway()
        else:
            stand.answer()
        stand.until(lambda: stand.errors or stand.bodies("armed"))
        assert [one["rule"] for one in stand.errors] == ["not-approved"] * refused and stand.acts == []
    finally:
        stand.close()


def test_another_map_than_was_approved_is_not_approved() -> None:
    def other(journal: MemoryJournal) -> None:
        journal.append(approve(LEAD, from_document(a_map(longest_s=10))))

    stand = Stand(approved=False, before=other)
    try:
        stand.go_to("busy")
        stand.arm_anyway()
        assert stand.errors[-1]["rule"] == "not-approved"
    finally:
        stand.close()
