"""A check that was not right on a card: what was mended, and the pass bled after it, have lines as keys in the bay."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay
from tests.cli.test_closed_late import SEPARATE, job_of
from tests.cli.test_empty_card import BEFORE, findings, keyed

from witnessmark.host.card import entering
from witnessmark.procedure.mending import REPLACED, TIGHTENED

RL = '{ id = "rl", name = "rear left", circuit = "two", torque = { low = "7 N.m", high = "9 N.m" } }'
LEAKS = '[[steps_after]]\nid = "leaks"\ntext = "Is all of it dry?"\nact = "check"\naffects = "leak-check"\n'
TWO = SEPARATE.replace("[[passes]]", '[[passes]]\nid = "p2"\nnipples = ["rl"]\n[[passes]]', 1)
TWO = TWO.replace("[[steps_after]]", f"{LEAKS}[[steps_after]]", 1).replace("nipples = [{", f"nipples = [{RL}, {{", 1)
TWO = TWO.replace('    { question = "26", why = "of no matter here" },\n', "")
FIRST = [BEFORE[0], BEFORE[1], "10:41", "10:41", "10:41 8", "10:41", *BEFORE[2:], "10:43", "10:44 8", "10:44", "10:47"]
"""Up to the check of the pedal."""
NO = "10:48 no rear right nipple wet"
P1 = ["10:50:10", "10:50:20 10:50:30", "10:51", "10:51 8", "10:52", "10:53"]
"""A pass bled again, and the pressure let off after it."""


@pytest.fixture
def job(bay: Bay, tmp_path: Path) -> str:
    return job_of(bay, tmp_path, TWO)


def steps(bay: Bay, job: str) -> list[tuple[str, str, str]]:
    """Return step, nipple and answer of what a card says of a mend."""
    known = ("mended", "mended-at", "was-made-safe", "run-again")
    made = [one.body for one in bay.entries(job, kind="step") if one.body["step"] in known]
    return [(one["step"], one.get("nipple", ""), one.get("answer", one.get("pass_id", ""))) for one in made]


def test_a_part_that_was_replaced_and_bled_after_it_is_proof_as_in_the_bay(bay: Bay, job: str) -> None:
    said, _ = keyed(bay, job, *FIRST, NO, "mended 10:49 replaced rear-right", "again p1", *P1, "10:54 yes")
    assert "write mended 10:42 and" in said and "write again and p1 or p2" in said and "REALLY" not in said
    assert steps(bay, job) == [("mended", "", REPLACED), ("mended-at", "rr", ""), ("run-again", "", "p1")]
    assert {one.occurred.basis for one in bay.entries(job, kind="step")} == {"typed"}
    keyed(bay, job, "10:55 180", "10:56 yes", "10:57 yes")
    found = findings(bay, job)["final-checks"]
    assert found["answer"] == "met", found
    assert "the leaking part was replaced, at rear right" in found["text"]


def test_a_nipple_that_was_tightened_is_torqued_again_and_a_yes_without_its_mend_is_doubted(bay: Bay, job: str) -> None:
    said, _ = keyed(
        bay, job, *FIRST, NO, "10:49 yes", "mended 10:49 tightened rear right", "10:50 8", "10:50", "10:51 yes"
    )
    assert "REALLY? it was not right, and no line says what was mended since" in said
    assert steps(bay, job) == [("mended", "", TIGHTENED), ("mended-at", "rr", "")]
    readings = [(one.body["what"], one.body.get("nipple")) for one in bay.entries(job, kind="reading")]
    assert readings[-1] == ("torque", "rr") and entering.state_of(bay.shop, job).not_right == ()


def test_what_is_not_bled_after_its_line_was_opened_is_doubted_at_the_yes(bay: Bay, job: str) -> None:
    said, _ = keyed(bay, job, *FIRST, NO, "mended 10:49 hose renewed at two circuit", "10:50 yes")
    assert "REALLY? rear left not bled after what was mended: write again and the pass first, one of: p2, p1" in said
    said, _ = keyed(bay, job, "back", "mended 10:49 bled", "10:50 yes")
    assert "REALLY? it is said to have been bled again, and no pass was since" in said
    said, _ = keyed(bay, job, "10:50 yes", "10:50 yes", "10:55 180", "10:56 yes", "10:57 yes")
    assert findings(bay, job)["final-checks"]["answer"] == "no proof"


def test_a_minute_that_may_lie_behind_the_start_is_asked_for_its_seconds_and_not_for_the_pass_again(
    bay: Bay, job: str
) -> None:
    mended = [NO, "mended 10:49 replaced rear-right", "again p1", "10:51"]
    run = ["10:51:10 10:51:20", "10:53", "10:54 8", "10:54", "10:55", "10:56 yes"]
    said, _ = keyed(bay, job, *FIRST, *mended, *run)
    assert "REALLY? by its times rear right may not have been open for as much of the run" in said, said
    assert "take its lines back and write them, like 10:42:30" in said


def test_a_refusal_names_what_may_be_written_instead_and_a_mend_is_said_once_behind_a_no(bay: Bay, job: str) -> None:
    line = "mended 10:49 replaced rear-right"
    refused = [line, NO, "10:49 mended a hose", "right 10:49 tightened", "again p9", "mended", line, line]
    said, _ = keyed(bay, job, *FIRST, *refused)
    for what, hint in (
        ("nothing was looked at here and not right", "behind the no of a final check"),
        ("it says neither yes nor no", "mended 10:42 and"),
        ("nothing was read here that could be put right", "at a check that was not right: mended 10:42"),
        ("'p9' is not done again here", "one of: p2, p1"),
        ("a time is missing", "10:42"),
        ("it is said already what was mended", "back"),
    ):
        assert hint in said.partition(what)[2].splitlines()[1], what
    assert len(steps(bay, job)) == 2


def test_whether_it_was_made_safe_first_is_asked_where_that_was_undone_and_locks_nothing(
    bay: Bay, tmp_path: Path
) -> None:
    safe = '[[steps_before]]\nid = "stands"\ntext = "On stands"\naffects = "made-safe"\ncaution = "It rolls."\n'
    asks = TWO.replace('    { question = "36", why = "of no matter here" },\n', "", 1)
    job = job_of(bay, tmp_path, asks.replace("[[steps_before]]", f"{safe}[[steps_before]]", 1))
    keyed(bay, job, "10:39", *FIRST, "10:48 yes", "10:49 180", "10:50 no wet")
    line = "mended 10:51 replaced rear-right"
    said, _ = keyed(bay, job, line, line)
    assert "whether it was made safe first: behind it write , made safe or , not made safe" in said
    assert entering.state_of(bay.shop, job).was_safe_due and len(steps(bay, job)) == 2
    keyed(bay, job, "back", f"{line}, made safe", "10:52", "again p1")
    state = entering.state_of(bay.shop, job)
    assert ("was-made-safe", "", "yes") in steps(bay, job) and not state.was_safe_due
    assert state.point is not None and state.point.pass_id == "p1"
    _, back = keyed(bay, job, *["back"] * 3)
    assert len(back) == 5, "the pass again, what makes it safe, and the mend with all that is on its line"
    keyed(bay, job, "mended 10:51 tightened rear-right, not made safe")
    assert steps(bay, job)[-1] == ("was-made-safe", "", "no")
