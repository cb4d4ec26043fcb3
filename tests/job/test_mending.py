"""A check that was not right: what was mended, and where, is said before it is looked at again, and judged by that."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from msgspec import structs
from tests.job.stand import Stand
from tests.job.test_few_touches import FEW

from witnessmark.audit.case import open_case
from witnessmark.audit.questions import final_checks, made_safe, torque_cap
from witnessmark.audit.run import find
from witnessmark.audit.verdict import Finding
from witnessmark.job.amiss import bled
from witnessmark.job.walk import other_pass
from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.state import Flow
from witnessmark.journal.commitment import PERSONAL
from witnessmark.journal.entry import Occurred
from witnessmark.procedure.mending import BLED, REPLACED, TIGHTENED
from witnessmark.procedure.model import Limit
from witnessmark.report.standing import _to_bleed

PEDAL = """[[steps_after]]
id = "pedal"
text = "Pump the pedal, then hold it"
act = "check"
affects = "pedal-pumped"
also = ["leak-check", "pedal-check"]
[[steps_after]]
id = "level"
text = "Look at the level"
"""
CHECKED = FEW.replace('[[steps_after]]\nid = "road-test"', f'{PEDAL}[[steps_after]]\nid = "road-test"')


@pytest.fixture
def leaks() -> Iterator[Stand]:
    """A job whose two nipples were bled, and that leaks when the pedal is held."""
    made = Stand(procedure=CHECKED)
    made.press("2")
    to_step(made, "pedal")
    made.press("n", "it leaks")
    yield made
    made.close()


def to_step(stand: Stand, step: str) -> None:
    while stand.view.get("step") != step:
        stand.follow()


def ask(stand: Stand, number: int) -> Finding:
    (question,) = {23: torque_cap, 26: final_checks, 36: made_safe}[number].audit_questions()
    return find(question, open_case(stand.journal.of("J1")))


def keys(stand: Stand) -> dict[str, str]:
    return {one["key"]: one["label"] for one in stand.view.get("buttons", ())}


def finish(stand: Stand) -> None:
    stand.go_to("done")
    assert fold(stand.journal.of("J1")).points == stand.state.points


def test_words_of_the_list_are_kept_in_the_entry_itself() -> None:
    assert "answer" not in PERSONAL["step"], "the audit reads it, with nothing beside the record"


def test_a_part_that_was_replaced_is_no_proof_until_its_circuit_is_bled_after_it_was_said(leaks: Stand) -> None:
    leaks.press("w", REPLACED)
    assert leaks.view["text"].startswith("Which nipple does the part feed?")
    assert list(keys(leaks)) == ["1", "2", "3", "4", "n"]
    assert keys(leaks)["2"].startswith("rear left") and keys(leaks)["4"].startswith("circuit two")
    leaks.press("4")
    assert "TO BLEED AGAIN, for its line was opened for it, or may have been: rear left." in leaks.view["text"]
    leaks.press("y")
    finish(leaks)
    found = ask(leaks, 26)
    assert (found.answer, "circuit two; rear left not bled after that" in found.text) == ("no proof", True), found


def test_a_circuit_that_is_bled_after_it_was_said_is_proof(leaks: Stand) -> None:
    leaks.press("w", REPLACED)
    leaks.press("1")
    leaks.press("e", "p1 its circuit was opened to mend it")
    assert leaks.view["pass_id"] == "p1"
    to_step(leaks, "pedal")
    assert "TO BLEED AGAIN" not in leaks.view["text"]
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == "met", ask(leaks, 26)


@pytest.mark.parametrize(("place", "answer"), [("1", "no proof"), ("n", "no proof")])
def test_one_bled_before_a_part_is_said_to_be_replaced_is_none(leaks: Stand, place: str, answer: str) -> None:
    leaks.press("e", "p1 its circuit was opened to mend it")
    to_step(leaks, "pedal")
    leaks.press("w", REPLACED)
    leaks.press(place)
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == answer


def test_bled_again_is_said_after_it_was_and_needs_no_place(leaks: Stand) -> None:
    leaks.press("e", "p1 its circuit was opened to mend it")
    to_step(leaks, "pedal")
    leaks.press("w", BLED)
    assert leaks.view["step"] == "pedal"
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == "met"


def test_bled_again_as_a_word_alone_leads_to_the_pass_that_is_bled(leaks: Stand) -> None:
    leaks.press("w", BLED)
    assert leaks.view["text"].startswith("Nothing was bled since it was not right")
    assert keys(leaks)["2"] == "p2 rear left: bled once more for what was seen"
    leaks.press("2")
    assert leaks.view["pass_id"] == "p2"
    to_step(leaks, "pedal")
    assert next(iter(keys(leaks))) == "y", "it is said what was mended"
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == "met"


def test_bled_again_that_no_entry_shows_is_said_to_be_no_proof(leaks: Stand) -> None:
    leaks.press("w", BLED)
    assert keys(leaks)["n"] == "none is: that it was bled again is no proof then"
    leaks.press("n")
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == "no proof"


def test_what_was_opened_outside_the_scope_is_bled_by_a_pass_that_joins_the_job() -> None:
    stand = Stand(procedure=CHECKED, passes=["p1"])
    stand.press("2")
    to_step(stand, "pedal")
    stand.press("n", "it leaks")
    assert starts(stand) == ["p1"], "nothing is known to be opened yet"
    stand.press("w", REPLACED)
    stand.press("2")
    assert "The scope of this job leaves out p2: taken in by the key that bleeds again." in stand.view["text"]
    assert "Ask the shop lead first whether valve is approved for this control unit" in stand.view["text"]
    (again,) = (one for one in stand.view["buttons"] if one["key"] == "e")
    assert again["reasons"] == [
        "p2 rear left: bled after what was mended",
        "p1 rear right: bled once more for what was seen",
    ]
    stand.press("e", again["reasons"][0])
    assert (stand.view["pass_id"], stand.view["title"]) == ("p2", "Pass 2 of 2: rear left")
    to_step(stand, "pedal")
    assert "TO BLEED AGAIN" not in stand.view["text"]
    stand.press("y")
    finish(stand)
    assert [one.id for one in open_case(stand.journal.of("J1")).plan] == ["p1", "p2"]
    assert ask(stand, 26).answer == "met" and "p2, rear left, torque" in [one.subject for one in ask(stand, 23).details]
    stand.close()


FED = CHECKED.replace(
    '[[steps_after]]\nid = "pedal"',
    '[[steps_after]]\nid = "let-off"\ntext = "Let it off"\naffects = "depressurise"\n[[steps_after]]\nid = "pedal"',
).replace('text = "Look at the level"', 'text = "Read the level"\nact = "read"\nwhat = "level"\nunit = "mL"')


@pytest.mark.parametrize(("what", "looks"), [(REPLACED, True), (TIGHTENED, False)])
def test_behind_a_mend_that_opened_a_line_the_level_is_read_before_the_feed_is_put_on(what: str, looks: bool) -> None:
    stand = Stand(procedure=FED)
    stand.press("2")
    to_step(stand, "pedal")
    stand.press("n", "it leaks")
    stand.press("w", what)
    stand.press("1")
    if not looks:
        to_step(stand, "pedal")
    stand.press("e", "p1 bled again")
    assert (stand.view["step"] == "level-look") is looks and not stand.state.pressurised
    if looks:
        assert stand.view["what"] == "level" and "a line was opened for a mend" in stand.view["text"]
        stand.read("300", "mL")
    assert stand.view["step"] == "pressurise" and not stand.state.tank.unsure
    stand.close()


def test_a_level_that_was_read_behind_the_mend_is_not_asked_for_again() -> None:
    stand = Stand(procedure=FED)
    stand.press("2")
    to_step(stand, "pedal")
    stand.press("n", "it leaks")
    stand.press("w", REPLACED)
    stand.press("1")
    stand.press("y")
    stand.read("300", "mL")
    assert not stand.state.tank.unsure
    stand.close()


def test_every_pass_of_what_was_opened_is_taken_by_one_touch_in_the_order_of_the_procedure(leaks: Stand) -> None:
    leaks.press("w", REPLACED)
    leaks.press("n")
    assert starts(leaks) == ["p1,p2", "p1", "p2"]
    leaks.press("e", "p1,p2 each, after what was mended")
    again = [one for one in leaks.journal.of("J1") if one.body.get("step") == "run-again"]
    assert len(again) == 2 and again[0].occurred == again[1].occurred, "one touch, one time"
    ahead = [one.pass_id for one in leaks.state.points[leaks.state.cursor :] if one.kind == "run"]
    assert ahead == ["p1", "p2"] and leaks.state.to_bleed == ("rr", "rl")
    leaks.go_to("arm", "p2")
    assert leaks.state.to_bleed == ("rl",)
    to_step(leaks, "pedal")
    assert leaks.state.to_bleed == ()
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == "met", ask(leaks, 26)


@pytest.mark.parametrize("again", ["p1", "p1,p2"])
def test_another_pass_is_taken_first_only_where_it_is_still_to_be_done(leaks: Stand, again: str) -> None:
    leaks.press("w", REPLACED)
    leaks.press("n")
    behind = [one.id for one in leaks.state.points[leaks.state.cursor :]]
    leaks.press("e", f"{again} what was mended")
    first = leaks.state.points[leaks.state.cursor].pass_id
    assert leaks.state.passes_ahead == tuple(again.split(",")) and first == "p1"
    state = other_pass.first(leaks.state, "p2")
    ahead = state.points[state.cursor :]
    assert [one.pass_id for one in ahead if one.kind == "run"] == sorted(again.split(","), reverse=True)
    assert [one.id for one in ahead if not one.pass_id][-len(behind) :] == behind
    assert sorted(one.id for one in ahead) == sorted(one.id for one in leaks.state.points[leaks.state.cursor :])


def test_a_run_that_was_stopped_and_accepted_bled_nothing_and_the_last_screen_says_so(leaks: Stand) -> None:
    leaks.press("w", REPLACED)
    leaks.press("1")
    leaks.press("e", "p1 its circuit was opened to mend it")
    leaks.go_to("running")
    leaks.stop()
    leaks.until(lambda: leaks.view["kind"] not in ("running", "busy"))
    while leaks.view["kind"] != "decide":
        leaks.follow()
    leaks.press("k", "enough fluid came")
    to_step(leaks, "pedal")
    assert "TO BLEED AGAIN" in leaks.view["text"]
    leaks.press("y")
    finish(leaks)
    assert "NOT BLED AGAIN since its line was opened for a mend, or may have been: rear right." in leaks.view["text"]
    assert ask(leaks, 26).answer == "no proof"


@pytest.mark.parametrize(
    ("ml", "changed", "left"),
    [
        ("110", {}, ()),
        ("109", {}, ("rl",)),  # 60 mL were read before the visit
        ("110", {"open_nipples": ("rl",)}, ("rl",)),
        ("110", {"cursor": 0}, ("rl",)),  # its visit is not over
        ("110", {"was_open": frozenset()}, ("rl",)),  # it was begun anew
        ("110", {"missed": frozenset({("p2", "rl")})}, ("rl",)),
        ("110", {"decide": "p2"}, ("rl",)),
    ],
)
def test_by_hand_it_is_bled_once_as_much_ran_as_its_pass_asks(
    leaks: Stand, ml: str, changed: dict[str, Any], left: tuple[str, ...]
) -> None:
    by_hand = structs.replace(leaks.state.plan[1], wire_command="", volume=Limit(low="50 mL"))
    state = replace(
        leaks.state,
        plan=(leaks.state.plan[0], by_hand),
        to_bleed=("rl",),
        flows=(Flow("p2", "rl", 0, Decimal(60)),),
        was_open=frozenset({("p2", "rl")}),
        tank=replace(leaks.state.tank, taken=(("p2", Decimal(ml)),)),
    )
    after = replace(state, **changed)
    assert bled.noted(state, after, leaks.journal.made[-1]).to_bleed == left


@pytest.mark.parametrize(
    ("opened", "run", "closed", "left"),
    [
        ((0, 4), (6, 18), (20, 24), ()),
        ((9, 13), (6, 18), (20, 24), ("rl",)),  # it may have been opened only as the run went
        ((8, 12), (6, 18), (20, 24), ()),
        ((0, 4), (6, 18), (11, 15), ("rl",)),  # or shut before it ended
        ((0, 4), (6, 6), (16, 20), ("rl",)),
    ],
)
def test_it_is_bled_only_where_it_was_surely_open_for_the_share_of_the_run_that_its_pass_asks(
    leaks: Stand, opened: tuple[int, int], run: tuple[int, int], closed: tuple[int, int], left: tuple[str, ...]
) -> None:
    """It asks for half of the run: the least of its 12 s that may have been covered is judged, as by the audit."""
    state = replace(leaks.state, to_bleed=("rl",), was_open=frozenset({("p2", "rl")}), flows=(), flow_times=())
    assert state.plan[1].overlap == "50 %"

    def said(kind: str, at: tuple[int, int], body: dict[str, Any], **then: Any) -> None:
        nonlocal state
        ends = (str(one * 1_000_000_000) for one in at)
        entry = structs.replace(
            leaks.journal.made[-1], kind=kind, body={"pass_id": "p2", **body}, occurred=Occurred("touch", *ends)
        )
        state = bled.noted(state, replace(state, **then), entry)

    said("step", opened, {"act": "opened", "nipple": "rl"}, open_nipples=("rl",))
    said("intent", (run[0], run[0]), {})
    said("outcome", (run[1], run[1]), {"result": "completed"})
    said("step", closed, {"act": "closed", "nipple": "rl"}, open_nipples=())
    assert state.to_bleed == left


def starts(stand: Stand) -> list[str]:
    return list(next(one for one in stand.view["buttons"] if one["key"] == "e")["starts"])


def test_a_nipple_that_was_tightened_is_torqued_again_before_the_next_look(leaks: Stand) -> None:
    leaks.press("w", TIGHTENED)
    assert leaks.view["text"].startswith("Which nipple was tightened?")
    assert list(keys(leaks)) == ["1", "2", "o", "n"] and keys(leaks)["1"] == "rear right"
    leaks.press("1")
    assert (leaks.view["what"], leaks.view["pass_id"], leaks.view["nipples"]) == ("torque", "p1", ["rr"])
    assert ask(leaks, 23).answer == "no proof" and "after it was tightened again" in ask(leaks, 23).text
    leaks.read("9.5", "N.m")
    assert leaks.view["step"] == "pedal" and next(iter(keys(leaks))) == "y"
    leaks.press("y")
    finish(leaks)
    assert (ask(leaks, 23).answer, ask(leaks, 26).answer) == ("met", "met")
    assert "9.5 N.m, asked 8 N.m to 10 N.m" in [one.text for one in ask(leaks, 23).details]


def test_one_that_the_job_does_not_open_is_torqued_too() -> None:
    stand = Stand(procedure=CHECKED, passes=["p1"])
    stand.press("2")
    to_step(stand, "pedal")
    stand.press("n", "it leaks")
    stand.press("w", TIGHTENED)
    stand.press("2")
    assert (stand.view["what"], stand.view["nipples"], "pass_id" in stand.view) == ("torque", ["rl"], False)
    assert "At rear left: read its torque" in stand.view["text"] and ask(stand, 23).answer == "no proof"
    stand.read("9", "N.m")
    assert stand.view["step"] == "pedal"
    stand.press("y")
    finish(stand)
    assert (ask(stand, 23).answer, ask(stand, 26).answer) == ("met", "met"), ask(stand, 23)
    stand.close()


@pytest.mark.parametrize(("key", "answer"), [("n", "no proof"), ("o", "met")])
def test_where_nobody_knows_which_was_tightened_no_torque_is_proof(leaks: Stand, key: str, answer: str) -> None:
    leaks.press("w", TIGHTENED)
    leaks.press(key)
    assert leaks.view["step"] == "pedal"
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 23).answer == answer


def test_own_words_are_asked_whether_a_circuit_was_opened_for_it(leaks: Stand) -> None:
    leaks.press("w", "a hose renewed")
    assert keys(leaks)["o"] == "no circuit was opened for it"
    leaks.press("2")
    assert "may have been: rear left" in leaks.view["text"]
    said = leaks.bodies("step")[-2]
    assert (said.step, said.answer, said.mended) == ("mended", "", "a hose renewed")


def test_another_no_asks_again_what_was_mended(leaks: Stand) -> None:
    leaks.press("w", TIGHTENED)
    leaks.press("o")
    leaks.press("n", "it leaks")
    assert "y" not in keys(leaks) and "w" in keys(leaks)


def test_a_pull_on_the_road_is_recorded_and_has_the_checks_before_looked_at_again() -> None:
    stand = Stand(procedure=CHECKED)
    stand.press("2")
    to_step(stand, "road-test")
    assert list(keys(stand)) == ["y", "n"]
    stand.press("n", "it was not driven")
    assert not stand.bodies("step")[-1].looked and "y" in keys(stand)
    stand.press("n", "it pulls to one side")
    assert stand.bodies("step")[-1].looked and stand.view["step"] == "road-test"
    assert ask(stand, 26).answer == "not met"
    stand.press("w", "a sticking caliper freed")
    stand.press("o")
    assert stand.view["step"] == "pedal", "what was looked at before the mend says nothing of after it"
    stand.press("y")
    stand.press("y")
    finish(stand)
    assert ask(stand, 26).answer == "met" and "it pulls to one side" in ask(stand, 26).text
    stand.close()


def test_what_is_still_to_be_bled_is_told_until_it_is_driven_and_can_be_bled_at_the_road_test(leaks: Stand) -> None:
    leaks.press("w", REPLACED)
    leaks.press("2")
    leaks.press("y")
    line = "TO BLEED before it is driven, for its line was opened for a mend, or may have been: rear left."
    to_step(leaks, "road-test")
    assert leaks.view["caution"].startswith(f"DO NOT DRIVE. {line}") and line in leaks.view["stands"]
    assert keys(leaks)["e"] == "bleed again first (p2, p1), and why"
    told = _to_bleed(open_case(leaks.journal.of("J1")))
    assert [one["text"] for one in told] == [line]
    leaks.press("e", "p2 its line was opened")
    assert leaks.view["pass_id"] == "p2" and "DO NOT DRIVE" not in leaks.view.get("caution", "")
    to_step(leaks, "road-test")
    assert line not in leaks.view.get("stands", []) and _to_bleed(open_case(leaks.journal.of("J1"))) == []
