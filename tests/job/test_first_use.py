"""The first use of a learned wire command: guarded, entered, and only then a nipple opens with it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import msgspec
import pytest
from tests.job.learned import (
    NEVER,
    TRIAL_START,
    changed,
    lead_signs_off,
    lead_signs_on,
    learned_map,
    learned_stand,
    try_it,
)
from tests.job.stand import LEAD, MAP, PROCEDURE, SOFTWARE, START, STOP, MemoryJournal, Stand

from witnessmark.job.allowed import first_use
from witnessmark.job.allowed.approval import approve, withdraw
from witnessmark.job.walk.fold import advance, fold
from witnessmark.journal.bodies import FirstUse, to_body
from witnessmark.journal.entry import Draft
from witnessmark.mapping.first_use import QUESTIONS, SCREEN
from witnessmark.mapping.load import from_document


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = learned_stand()
    yield made
    made.close()


def refused(stand: Stand, rule: str, **answers: bool) -> str:
    """Answer the arm view, see it refused with nothing sent, and return why."""
    stand.go_to("arm")
    sent = list(stand.acts)
    stand.answer(**answers)
    stand.until(lambda: stand.errors)
    stand.turn(5)
    assert stand.acts == sent and stand.errors[-1]["rule"] == rule and stand.errors[-1]["reached"] == "nothing"
    assert stand.bodies("refused")[-1].rule == rule
    return str(stand.errors[-1]["what"])


def test_it_comes_before_the_nipple_opens_with_its_questions_and_its_warning(stand: Stand) -> None:
    stand.go_to("arm")
    assert set(QUESTIONS) <= {one["id"] for one in stand.view["questions"]}
    assert "earned here, not published by the maker" in stand.view["caution"] and "4 s" in stand.view["text"]
    assert stand.state.open_nipples == () and "opened" not in [one.act for one in stand.bodies("step")]


def test_nothing_is_asked_of_one_whose_approval_was_withdrawn_until_it_is_approved_again(stand: Stand) -> None:
    stand.go_to("arm")
    stand.answer()
    stand.go_to("armed")
    known = from_document(stand.document)
    stand.journal.append(withdraw(LEAD, known, "recalled"))
    stand.press("s")
    stand.until(lambda: stand.errors and stand.view["kind"] == "busy")
    assert stand.errors[-1]["rule"] == "not-approved"
    stand.wait(5)
    assert "questions" not in stand.view and "It waits for the shop lead" in stand.view["text"]
    stand.journal.append(approve(LEAD, known))
    stand.until(lambda: stand.view["kind"] == "arm")
    assert set(QUESTIONS) <= {one["id"] for one in stand.view["questions"]} and stand.acts == []


def test_a_first_use_in_another_bay_is_none_here(stand: Stand) -> None:
    try_it(stand)
    one = stand.state.plan[0]
    assert first_use.due(stand.state, one) is None
    last = stand.journal.of("J1")[-1]
    came = advance(stand.state, msgspec.structs.replace(last, kind="moved", body={}, seq=1000))
    assert first_use.due(came, one) is stand.state.command_of(one)


def test_it_runs_the_shortest_time_seen_says_so_and_opens_nothing(stand: Stand) -> None:
    stand.go_to("arm")
    stand.answer()
    stand.go_to("armed")
    shown = stand.view["shown"]
    assert (shown["learned"], shown["time"], shown["nipples"]) == (SCREEN, "4 s", "all shut")
    assert shown["lead present"] == LEAD.id and stand.bodies("armed")[0].lead == LEAD.id
    stand.press("s")
    stand.until(lambda: stand.view["kind"] == "running")
    assert "earned here" in stand.view["caution"] and not stand.view.get("buttons")
    stand.until(lambda: stand.view["kind"] == "result")
    (intent,), (outcome,) = stand.bodies("intent"), stand.bodies("outcome")
    assert intent.first_use and intent.learned and (intent.pass_id, intent.nipples) == ("", ())
    assert stand.acts == [TRIAL_START, STOP] and abs(int(outcome.duration_ns) / 1e9 - 4) < 0.1


def test_its_result_is_entered_before_anything_else_and_then_the_pass_goes_as_usual(stand: Stand) -> None:
    try_it(stand)
    (result,) = stand.bodies("first-use")
    assert (result.result, result.said) == ("worked", "pump heard, pedal still")
    assert result.identification == {"F189": "0102"} and result.start == "31010301{seconds}"
    stand.go_to("done")
    assert stand.acts[:4] == [TRIAL_START, STOP, START, STOP]
    assert [one.first_use for one in stand.bodies("intent")] == [True, False, False]
    assert [one.pass_id for one in stand.bodies("outcome")] == ["", "p1", "p2"]


def test_words_are_asked_for_with_the_result(stand: Stand) -> None:
    stand.go_to("armed")
    stand.press("s")
    stand.until(lambda: stand.view["kind"] == "result")
    stand.do(do="key", key="1", said=" ")
    assert stand.errors and stand.bodies("first-use") == [] and stand.state.result_due is not None


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_no_to_each_of_its_questions_refuses(stand: Stand, question: str) -> None:
    assert QUESTIONS[question] in refused(stand, "first-use", **{question: False})


@pytest.mark.parametrize("question", QUESTIONS)
def test_no_answer_to_each_of_its_questions_refuses(stand: Stand, question: str) -> None:
    stand.go_to("arm")
    stand.do(do="answers", answers={one["id"]: True for one in stand.view["questions"] if one["id"] != question})
    stand.until(lambda: stand.errors)
    assert stand.errors[-1]["rule"] == "first-use" and "no answer" in stand.errors[-1]["what"] and stand.acts == []


WHO: dict[str, Callable[[MemoryJournal], None]] = {
    "nobody has signed on": lambda journal: None,
    "only a technician has": lambda journal: lead_signs_on(journal, role="technician"),
    "the lead gave no PIN": lambda journal: lead_signs_on(journal, proven="name only"),
    "the lead has left": lambda journal: (lead_signs_on(journal), lead_signs_off(journal))[0],
}


def answered_anyway(stand: Stand) -> str:
    """Let a face say yes to all of it though nothing is asked, see it refused with nothing sent, and return why."""
    said = ("nobody-near", "hood", *QUESTIONS)
    stand.runner.arm(dict.fromkeys(said, True))
    stand.until(lambda: stand.errors)
    assert stand.errors[-1]["rule"] == "first-use" and stand.acts == []
    return str(stand.errors[-1]["what"])


@pytest.mark.parametrize("before", WHO.values(), ids=WHO.keys())
def test_without_the_lead_nothing_is_asked_and_it_is_refused(before: Callable[[MemoryJournal], None]) -> None:
    stand = Stand(map_document=learned_map(), before=before)
    try:
        stand.go_to("busy", "p1")
        assert "waits for the shop lead" in stand.view["text"] and "sign-on" in stand.view["text"]
        assert not stand.view.get("questions") and not stand.view.get("buttons")
        assert "needs the lead present" in answered_anyway(stand)
    finally:
        stand.close()


def test_it_is_asked_as_soon_as_the_lead_has_signed_on() -> None:
    stand = learned_stand(lead=False)
    try:
        stand.go_to("busy", "p1")
        lead_signs_on(stand.journal)
        stand.wait(3)
        assert stand.view["kind"] == "arm" and set(QUESTIONS) <= {one["id"] for one in stand.view["questions"]}
    finally:
        stand.close()


def test_with_every_nipple_shut_nothing_is_asked_of_a_nipple_and_later_it_is() -> None:
    hose = '[[questions]]\nid = "hose"\ntext = "Is the hose on?"\nnipple = true\n'
    stand = Stand(
        procedure=PROCEDURE.replace("[pump]", f"{hose}[pump]"), map_document=learned_map(), before=lead_signs_on
    )
    stand.unit.table[TRIAL_START] = stand.unit.table[START]
    try:
        stand.go_to("arm")
        assert "hose" not in {one["id"] for one in stand.view["questions"]}
        try_it(stand)
        stand.wait(20)
        stand.go_to("arm")
        asked = {one["id"] for one in stand.view["questions"]}
        assert "hose" in asked and not asked & set(QUESTIONS)
    finally:
        stand.close()


def test_a_sign_on_older_than_a_working_day_is_no_presence(stand: Stand) -> None:
    stand.go_to("arm")
    stand.clock.advance(12 * 3600 + 1)
    stand.turn()
    stand.wait(1)
    assert stand.view["kind"] == "busy" and "waits for the shop lead" in stand.view["text"]
    assert "needs the lead present" in answered_anyway(stand)


def test_a_lead_who_leaves_while_it_is_armed_takes_it_back(stand: Stand) -> None:
    stand.go_to("arm")
    stand.answer()
    stand.go_to("armed")
    lead_signs_off(stand.journal)
    stand.press("s")
    stand.until(lambda: stand.errors)
    assert "the lead has left" in stand.errors[-1]["what"] and stand.acts == [] and "intent" not in stand.kinds()


def test_a_nipple_that_stands_open_is_closed_first_and_refuses_until_it_is(stand: Stand) -> None:
    stand.go_to("arm")
    opened = {"step": "open", "act": "opened", "pass_id": "p2", "nipple": "rl"}
    entry = stand.journal.append(Draft("step", "J1", "person:t-otter", body=opened))
    stand.runner.state = fold(stand.journal.of("J1"))
    stand.answer()
    stand.until(lambda: stand.errors)
    assert "a nipple is open: rl" in stand.errors[-1]["what"] and stand.acts == [] and entry.kind == "step"
    stand.until(lambda: stand.view["kind"] == "close")
    assert stand.view["nipples"] == ["rl"]


def test_one_that_did_not_work_is_not_tried_again_before_a_new_approval(stand: Stand) -> None:
    try_it(stand, "2", "a valve clicked, no pump")
    stand.wait(20)
    seq = next(one.seq for one in stand.journal.made if one.kind == "first-use")
    assert f"as entry {seq} says" in refused(stand, "first-use-failed")
    stand.journal.append(approve(LEAD, from_document(stand.document)))
    try_it(stand, "1", "pump heard")
    assert [one.result for one in stand.bodies("first-use")] == ["failed", "worked"]


def test_one_that_nobody_is_sure_of_is_tried_again(stand: Stand) -> None:
    try_it(stand, "3", "too loud to hear")
    stand.go_to("arm")
    assert "First use" in stand.view["text"]
    stand.wait(20)  # the motor rests after a first use as after any run
    try_it(stand)
    assert stand.acts == [TRIAL_START, STOP] * 2


def test_one_that_was_stopped_cannot_be_said_to_have_worked(stand: Stand) -> None:
    stand.go_to("armed")
    stand.press("s")
    stand.until(lambda: stand.view["kind"] == "running")
    stand.stop()
    stand.until(lambda: stand.view["kind"] == "result")
    assert [one["key"] for one in stand.view["buttons"]] == ["2", "3"]
    stand.press("1", "it worked")
    assert stand.bodies("first-use") == []


def test_a_crash_during_it_asks_for_an_inspection_and_then_for_the_result(stand: Stand) -> None:
    stand.go_to("armed")
    stand.press("s")
    stand.until(lambda: stand.view["kind"] == "running")
    stand.crash()
    assert stand.view["kind"] == "inspect"
    stand.press("s")  # its stop request can still be sent
    stand.until(lambda: STOP in stand.acts)
    stand.until(lambda: stand.view["kind"] == "inspect")
    stand.press("1")
    stand.until(lambda: stand.view["kind"] == "result")
    assert [one["key"] for one in stand.view["buttons"]] == ["2", "3"]


def test_another_job_on_the_same_control_unit_needs_no_first_use_and_another_unit_does(stand: Stand) -> None:
    try_it(stand)
    tried = first_use.tried_of(stand.journal.made)
    other = fold(stand.journal.of("J1")[:1], tried)
    one = other.plan[0]
    assert first_use.due(other, one) is None and first_use.due(fold(stand.journal.of("J1")[:1]), one) is not None
    document = learned_map()
    document["identification"] = [{"identifier": "F189", "value": "0103"}]
    known = from_document(document)
    assert first_use.pass_refusal(stand.journal.made, other, known.wire_commands[0], 0) is None
    changed = learned_map(start="31010302{seconds}", stop="31020302")
    again = from_document(changed).wire_commands[0]
    assert first_use.pass_refusal(stand.journal.made, other, again, 0) is not None


def test_one_of_another_job_that_cannot_be_read_keeps_back_what_was_learned_alone(stand: Stand) -> None:
    try_it(stand)
    stand.journal.append(Draft("first-use", "J9", LEAD.actor, body={"result": "worked"}))
    made, state = stand.journal.made, stand.state
    assert state.map is not None and [one.result for one in first_use.tried_of(made[:-1])] == ["worked"]
    again = fold(stand.journal.of("J1"), first_use.tried_of(made))
    assert first_use.due(again, again.plan[0]) == state.map.wire_commands[0], "it comes before a nipple opens"
    refused = first_use.pass_refusal(made, state, state.map.wire_commands[0], 0)
    assert refused is not None and f"entry {made[-1].seq} of job J9, of kind first-use, cannot be read" in refused.why
    assert refused.hint.endswith("is made anew after a new approval: witnessmark protocol approve MAP")
    published = from_document(MAP).wire_commands[0]
    assert first_use.pass_refusal(made, state, published, 0) is None


@pytest.mark.parametrize("settled", ["approved anew", "tried anew", "another unit tried", "approved before"])
def test_one_that_cannot_be_read_keeps_it_back_until_this_unit_was_tried_anew(stand: Stand, settled: str) -> None:
    try_it(stand)
    state, worked = stand.state, stand.bodies("first-use")[-1]
    assert state.map is not None and isinstance(worked, FirstUse)
    stand.journal.append(Draft("first-use", "J9", LEAD.actor, body={"result": "worked"}))
    broken = stand.journal.made[-1].seq
    if "tried" in settled:
        unit = {"F189": "0103"} if settled == "another unit tried" else worked.identification
        again = msgspec.structs.replace(worked, identification=unit)
        stand.journal.append(Draft("first-use", "J8", LEAD.actor, body=to_body(again)))
    approval = broken + 1 if settled == "approved anew" else broken - 1
    made, command, now = stand.journal.made, state.map.wire_commands[0], stand.clock.stamp()
    refused = first_use.pass_refusal(made, state, command, approval)
    assert (refused is None) == (settled == "tried anew")
    if settled == "approved anew":
        assert (
            refused is not None and f"is entered for this control unit since: entry {broken} of job J9" in refused.why
        )
        assert refused.hint.startswith("take the job up again, then make its first use")
    tried, _ = first_use.trial_refusal(made, state, command, approval, {}, now, "boot-1")
    assert tried is not None and ("cannot be read" in tried.why) == (settled != "approved anew")


def test_no_pass_uses_it_before_though_a_face_says_so(stand: Stand) -> None:
    """The rule is held where it is armed, by the journal, not by what the view offers."""
    stand.go_to("arm")
    seen = stand.runner.state.tried
    assert seen == ()
    worked = first_use.result_of(stand.state, 0, "worked", "", stand.state.map.wire_commands[0])  # type: ignore[union-attr]
    stand.runner.state = fold(stand.journal.of("J1"), (worked,))
    stand.until(lambda: stand.view["kind"] == "open")
    assert "no first use that worked" in refused(stand, "first-use")


@pytest.mark.parametrize(("rule", "changes"), NEVER.values(), ids=NEVER.keys())
def test_a_learned_wire_command_is_never_sent_though_it_is_approved_and_the_lead_is_there_when(
    rule: str, changes: dict[str, Any]
) -> None:
    document = changed(learned_map(), changes)
    stand = Stand(map_document=document, before=lead_signs_on)
    try:
        stand.go_to("busy", "p1")
        assert "Its run is never sent" in stand.view["text"] and stand.state.begun == ()
        stand.arm_anyway()
        assert stand.errors[-1]["rule"] == rule == stand.bodies("refused")[-1].rule
        assert stand.acts == [] and b"\x10\x03" not in stand.unit.heard
    finally:
        stand.close()


def longer_second(observed: dict[str, Any], **command: Any) -> Stand:
    """Return a stand whose first pass stays within what was seen of the pump, and whose second asks for more."""
    document = learned_map(observed, **command)
    asked = PROCEDURE.replace('"8 s"', '"6 s"').replace('"valve"', '"pump"').replace('"5 s"\nseconds', '"8 s"\nseconds')
    stand = Stand(map_document=document, before=lead_signs_on, procedure=asked)
    stand.unit.table[TRIAL_START] = stand.unit.table[bytes.fromhex("3101030106")] = stand.unit.table[START]
    return stand


def beyond(stand: Stand, rule: str, says: str) -> list[bytes]:
    """See the second pass refused on the screen with its nipple shut, and by the rules; return what was sent before."""
    while not (stand.view["kind"] == "busy" and says in stand.view["text"]):
        stand.follow()
    sent = list(stand.acts)
    assert stand.view["pass_id"] == "p2" and stand.state.open_nipples == () and len(sent) == 4
    stand.arm_anyway()
    assert stand.errors[-1]["rule"] == rule and stand.acts == sent
    return sent


def test_a_later_use_stays_within_what_was_seen() -> None:
    stand = longer_second({"longest_ms": 6200, "seconds": [4, 6]}, longest_s=6)
    try:
        try_it(stand)
        sent = beyond(stand, "too-long", "8 s are asked for, at most 6 s are allowed")
        assert sent[:2] == [TRIAL_START, STOP]
    finally:
        stand.close()


def test_seconds_that_the_other_tester_never_asked_for_are_not_sent() -> None:
    stand = longer_second({"seconds": [4, 6]})
    try:
        try_it(stand)
        beyond(stand, "beyond-observed", "8 s are asked for, at most 6 s are allowed")
        assert "never asked for by the other tester" in stand.errors[-1]["what"]
    finally:
        stand.close()


def test_another_unit_than_was_approved_gets_no_first_use(stand: Stand) -> None:
    stand.unit.table[SOFTWARE] = [(0.02, bytes.fromhex("62F1890103"))]
    stand.go_to("busy", "p1")
    assert "F189 is 0103, approved was 0102" in stand.view["text"]
    stand.wait(5)
    assert stand.view["kind"] == "busy" and not stand.acts  # its questions are not asked for nothing


@pytest.mark.parametrize("said", ["pause", "empty"])
def test_where_the_reservoir_is_to_be_looked_at_that_comes_before_it_and_does_not_shut_it_out(
    stand: Stand, said: str
) -> None:
    stand.go_to("arm")
    if said == "empty":
        stand.send(do="say", what="empty")
    else:
        stand.send(do="pause", why="called away")
        stand.until(lambda: stand.view["kind"] == "paused")
        stand.press("r")
    stand.until(lambda: stand.view.get("step") == "level-look")
    for key in ("o", "f", "n") if said == "empty" else ("y",):  # the feed is let off before the lid comes off
        stand.press(key)
    stand.go_to("arm")
    stand.answer()
    stand.go_to("armed")
    assert stand.errors == []
