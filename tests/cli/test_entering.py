"""`witnessmark job enter`: a card keyed in afterwards says so, entry by entry."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.bay import DATA, Bay

from witnessmark.cli.job import run as run_command
from witnessmark.clock import SystemClock
from witnessmark.errors import InputError
from witnessmark.host.card import entering
from witnessmark.host.left_open import left_open
from witnessmark.job.walk import resume
from witnessmark.job.walk.places import places
from witnessmark.job.walk.steps import Point, walk
from witnessmark.journal import entry as entries_
from witnessmark.journal import lock as locks
from witnessmark.procedure import load
from witnessmark.procedure.model import Pass, Procedure
from witnessmark.quantity import parse

CARD = """\
format = "witnessmark-procedure/1"
id = "card"
title = "Bleed"
source = "invented for tests"
vehicle = "invented truck"
invented = true
leaves_out = [
    { question = "2", why = "of no matter here" },
    { question = "26", why = "of no matter here" },
    { question = "36", why = "of no matter here" },
]
armed_for = "60 s"
physical_fallback = "Ignition off."
nipples = [{ id = "rr", name = "rear right", circuit = "one" }]
[[steps_before]]
id = "grade"
text = "What does the container say?"
act = "check"
affects = "fluid-grade"
[[steps_before]]
id = "feed"
text = "Read the feed"
act = "read"
what = "feed-pressure"
unit = "bar"
limit = { low = "1.8 bar", high = "2.2 bar" }
[[passes]]
id = "p1"
nipples = ["rr"]
wire_command = "pump"
seconds = "10 s"
seconds_tolerance = "1 s"
order = "before"
order_tolerance = "60 s"
overlap = "90 %"
[[steps_after]]
id = "road-test"
text = "Drive"
affects = "road-test"
caution = "Slowly."
"""
LINES = "10:40 DOT 4\n10:41 29 psi\n10:42\n10:42:20 10:42:30\n10:43\n10:50\n"
DAY = ("--on", "2026-03-02")


@pytest.fixture
def job(bay: Bay, tmp_path: Path) -> str:
    path = tmp_path / "card.toml"
    path.write_text(CARD, encoding="utf-8")
    words = ("--procedure", path, "--grade", "told", "--vehicle", "v-1")
    return bay.fine("job", "open", *words).split()[1]


def test_every_line_becomes_an_entry_that_says_it_was_typed(bay: Bay, job: str) -> None:
    told = bay.fine("job", "enter", job, "--on", "2026-03-02", "--done-by", "t-heron", typed=LINES)
    assert "6 of 6 steps" in told
    made = bay.entries(job)[1:]
    assert [one.kind for one in made] == ["step", "reading", "step", "intent", "outcome", "step", "step"]
    assert {one.occurred.basis for one in made} == {"typed"}
    assert {(one.done_by, one.entered_by) for one in made} == {("person:t-heron", "person:t-otter")}
    grade, feed, opened, run = (one.body for one in made[:4])
    assert grade["answer"] == "DOT 4" and (feed["amount"], feed["within"]) == ({"value": "29", "unit": "psi"}, True)
    assert (opened["act"], run["grade"], run["start"]) == ("opened", "told", "")
    assert made[0].occurred.to_ns - made[0].occurred.from_ns == 60 * 10**9 - 1, "a minute as written is that minute"


def test_a_mark_without_a_time_is_any_of_its_day_and_proves_no_order(bay: Bay, job: str) -> None:
    bay.fine("job", "enter", job, *DAY, typed=LINES.replace("10:42\n", "? done\n").replace("10:43\n", "? done\n"))
    opened, closed = (one for one in bay.entries(job) if one.body.get("act") in ("opened", "closed"))
    assert [one.occurred.to_ns - one.occurred.from_ns for one in (opened, closed)] == [86_400 * 10**9 - 1] * 2
    found = json.loads(bay.run("audit", job, "--json").stdout)
    assert {one["number"]: one["answer"] for one in found["findings"]}[6] == "no proof"


def test_a_job_goes_on_after_a_card_as_after_a_pause_since_what_stands_on_it(bay: Bay, job: str) -> None:
    bay.fine("job", "enter", job, *DAY, typed="10:40 DOT 4\n10:41 29 psi\n\n")
    state = entering.state_of(bay.shop, job)
    assert resume.lain(state, SystemClock().stamp().wall_ns) == resume.DATE
    assert [one.id for one in resume.resumed(state, 0, resume.DATE).points[state.cursor :]][:1] == ["grade"]


def test_the_audit_says_that_it_was_entered_afterwards(bay: Bay, job: str) -> None:
    bay.fine("job", "enter", job, "--on", "2026-03-02", typed=LINES)
    told = bay.run("audit", job, "--json")
    assert told.exit_code == 1 and "entered afterwards" in told.output


@pytest.mark.parametrize(
    ("line", "said"), [("25:00 DOT 4", "is no time"), ("10:40", "what was read"), ("soon", "is no time")]
)
def test_a_line_that_is_not_understood_is_asked_again_and_writes_nothing(
    bay: Bay, job: str, line: str, said: str
) -> None:
    result = bay.run("job", "enter", job, *DAY, typed=f"{line}\n\n")
    assert result.exit_code == 0 and said in result.stderr
    assert len(bay.entries(job)) == 1


def test_what_was_not_done_is_left_out_with_its_reason_and_holds_the_job(bay: Bay, job: str) -> None:
    result = bay.run("job", "enter", job, typed="- no container was there\n\n")
    assert "stays open" in result.stderr
    (left,) = bay.entries(job, kind="step")
    assert (left.body["act"], bay.words(left)["said"]) == ("skipped", "no container was there")


def test_a_step_that_was_done_again_is_keyed_in_where_it_was_done(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    path.write_text(CARD.replace('id = "feed"\n', 'id = "feed"\nmay_repeat = true\n'), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    result = bay.run(
        "job", "enter", job, *DAY, typed="10:40 DOT 4\nagain feed\n10:41 2.0 bar\nagain feed\n10:45 2.1 bar\n\n"
    )
    assert "no step that is passed may be done again" in result.stderr and "3 of 7 steps" in result.output
    values = [one.body["amount"]["value"] for one in bay.entries(job, kind="reading")]
    assert values == ["2.0", "2.1"]


def test_a_time_before_the_line_before_and_a_value_that_hardly_can_be_are_taken_at_the_second_time(
    bay: Bay, job: str
) -> None:
    lines = ("10:40 DOT 4", "09:10 2.1 bar", "10:41 400 bar", "10:41 400 bar", "10:41 2.0")
    result = bay.run("job", "enter", job, *DAY, typed="\n".join(lines) + "\n\n")
    assert "REALLY? 09:10 is before" in result.stderr and "REALLY? 400 bar can hardly be" in result.stderr
    readings = [one.body for one in bay.entries(job, kind="reading")]
    assert [one["amount"] for one in readings] == [{"value": "400", "unit": "bar"}, {"value": "2.0", "unit": "bar"}]
    assert [one["within"] for one in readings] == [False, True]
    assert "outside the limits" in result.stderr and "2 of 6 steps" in result.output


def test_a_reading_that_stays_outside_its_limits_is_kept_with_the_reason_on_the_card(bay: Bay, job: str) -> None:
    bay.fine("job", "enter", job, *DAY, typed="10:40 DOT 4\n10:41 2.5 bar\n- the gauge sticks\n\n")
    kept = bay.entries(job, kind="step")[-1]
    assert (kept.body["step"], kept.body["act"], bay.words(kept)["said"]) == ("feed", "confirmed", "the gauge sticks")


def test_a_container_that_says_another_fluid_is_recorded_and_asked_again(bay: Bay, job: str) -> None:
    path = bay.folder / "fluid.toml"
    text = CARD.replace('{ question = "2", why = "of no matter here" },', "")
    path.write_text(text.replace("invented = true", 'invented = true\nfluid = "DOT 4"', 1), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    result = bay.run("job", "enter", job, *DAY, typed="10:40 DOT 3\n10:45 DOT 4\n\n")
    assert "It says DOT 3, asked for is DOT 4" in result.stderr and "1 of 6 steps" in result.output
    assert [one.body["answer"] for one in bay.entries(job, kind="step")] == ["DOT 3", "DOT 4"]


def test_what_is_still_to_come_and_a_run_that_ended_before_it_started_are_refused(bay: Bay, job: str) -> None:
    result = bay.run("job", "enter", job, "--on", "2999-01-01", typed="10:40 DOT 4\n\n")
    assert "is still to come" in result.stderr and len(bay.entries(job)) == 1
    lines = "10:40 DOT 4\n10:41 29 psi\n10:42\n10:42:30 10:42:20\n\n"
    result = bay.run("job", "enter", job, *DAY, typed=lines)
    assert "ended before it started" in result.stderr and not bay.entries(job, kind="intent")


def test_each_line_is_asked_for_in_words_with_its_unit_limits_and_place(bay: Bay, job: str) -> None:
    told = bay.run("job", "enter", job, *DAY, typed="10:40 DOT 4\n10:41 2.0\n\n").stderr
    assert "2/6 Read the feed (1.8 bar to 2.2 bar)\n  [10:42 and the value in bar" in told
    assert "3/6 p1, rear right: open the nipple" in told
    not_met, no_proof = left_open(bay.shop, job)
    assert not_met.startswith("Not met so far: 28 ") and "16 Did each run last long enough?" in no_proof
    (bay.folder / "policy.toml").write_bytes("# for Ärger\n".encode("latin-1"))
    (line,) = run_command._left_open(bay.shop, job)
    assert line.startswith("What the audit leaves open cannot be told: policy.toml: it cannot be read: ")
    (line,) = run_command._left_open(Path("no shop"), job)  # type: ignore[arg-type]  # as a mistake of ours might
    assert line.startswith("What the audit leaves open cannot be told: AttributeError: ")


def test_choices_that_have_commas_are_told_apart_by_semicolons(bay: Bay, job: str) -> None:
    path = bay.folder / "choices.toml"
    grade = 'affects = "fluid-grade"'
    path.write_text(
        CARD.replace(grade, f'{grade}\nchoices = ["DOT 4, class 4", "DOT 5.1, class 5-1"]'), encoding="utf-8"
    )
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    told = bay.run("job", "enter", job, *DAY, typed="10:40 yes\n\n").stderr
    assert "What does the container say? (DOT 4, class 4; DOT 5.1, class 5-1)" in told


BOXES = """
[[steps_after_each_pass]]
id = "torque"
text = "Clear? Close it, tighten it, cap on. Read the torque"
act = "read"
what = "torque"
unit = "N.m"
affects = "torqued"
also = ["closed", "clear", "capped"]
instrument = "torque wrench"
"""
BOXED = CARD.replace('circuit = "one" }', 'circuit = "one", torque = { low = "7 N.m", high = "9 N.m" } }').replace(
    "[[steps_after]]", f"{BOXES}\n[[steps_after]]", 1
)
BEFORE = "10:40 DOT 4\n10:41 2.0 bar\n10:42\n10:42:20 10:42:30\n"


@pytest.fixture
def boxed(bay: Bay, tmp_path: Path) -> str:
    path = tmp_path / "boxes.toml"
    path.write_text(BOXED, encoding="utf-8")
    return bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]


def answers(bay: Bay, job: str) -> dict[str, str]:
    told = json.loads(bay.run("audit", job, "--json").stdout)
    return {one["id"]: one["answer"] for one in told["findings"]}


def test_a_second_reading_is_not_asked_for_the_boxes_that_a_card_ticks_once(bay: Bay, boxed: str) -> None:
    lines = f"{BEFORE}10:43 6, clear, capped\n10:44 8.1\n10:50\n\n"
    said = bay.run("job", "enter", boxed, *DAY, typed=lines)
    assert "6 of 6 steps" in said.output and "REALLY" not in said.output
    assert {answers(bay, boxed)[one] for one in ("ran-clear", "torque-cap", "served")} == {"met"}


@pytest.mark.parametrize(
    ("line", "also", "clear", "capped"),
    [
        ("10:43 8.1 N.m, clear, capped", ["closed", "clear", "capped"], "met", "met"),
        ("10:43 8,1 capped clear", ["closed", "clear", "capped"], "met", "met"),
        ("10:43 8.1 N.m, clear", ["closed", "clear"], "met", "no proof"),
        ("10:43 8.1 N.m, capped", ["closed", "capped"], "no proof", "met"),
        ("10:43 8.1", ["closed"], "no proof", "no proof"),
        ("10:43 8.1 N.m, not clear, capped", ["closed", "capped"], "not met", "met"),
        ("10:43 8.1, not clear: fine bubbles, capped", ["closed", "capped"], "not met", "met"),
    ],
)
def test_a_box_says_what_is_ticked_and_an_empty_one_proves_nothing(
    bay: Bay, boxed: str, line: str, also: list[str], clear: str, capped: str
) -> None:
    said = bay.run("job", "enter", boxed, *DAY, typed=f"{BEFORE}{line}\n{line}\n\n")
    (torque,) = (one for one in bay.entries(boxed, kind="reading") if one.body["what"] == "torque")
    assert torque.body["also"] == also and torque.body["amount"]["value"] == "8.1"
    found = answers(bay, boxed)
    assert (found["ran-clear"], found["torque-cap"]) == (clear, capped)
    assert ("REALLY? no box is written" in said.stderr) == ("no proof" in (clear, capped))
    assert found["served"] == "met", "what did not run clear was not left out"


def test_what_was_seen_where_it_did_not_run_clear_is_kept_in_words(bay: Bay, boxed: str) -> None:
    bay.fine("job", "enter", boxed, *DAY, typed=f"{BEFORE}10:43 8.1, not clear: fine bubbles, capped\n\n")
    last = bay.entries(boxed, kind="step")[-1]
    assert (last.body["looked"], bay.words(last)["said"]) == (True, "fine bubbles")
    assert "clear and without bubbles at rr: looked at, and not right" in bay.fine("job", "show", boxed)


def test_clear_and_not_clear_together_are_refused(bay: Bay, boxed: str) -> None:
    said = bay.run("job", "enter", boxed, *DAY, typed=f"{BEFORE}10:43 8.1, clear, not clear\n\n")
    assert "clear and not clear are both written" in said.stderr
    assert not [one for one in bay.entries(boxed, kind="reading") if one.body["what"] == "torque"]


def test_a_pass_that_was_done_again_is_keyed_in_after_its_first_time(bay: Bay, boxed: str) -> None:
    lines = f"{BEFORE}10:43 8.1, not clear, capped\nagain p1\n10:46\n10:46:20 10:46:30\n10:47 8.0, clear, capped\n"
    said = bay.run("job", "enter", boxed, *DAY, typed=f"{lines}again p2\n10:50\n\n")
    assert "'p2' is not done again here" in said.stderr and "6 of 6 steps" in said.output
    found = answers(bay, boxed)
    assert (found["ran-clear"], len(bay.entries(boxed, kind="intent"))) == ("met", 2)


def test_a_step_that_cannot_be_left_out_is_neither_offered_nor_taken_so(bay: Bay, job: str) -> None:
    result = bay.run("job", "enter", job, *DAY, typed="10:40 DOT 4\n- no gauge\n10:41 2.0\n- it was forgotten\n\n")
    assert result.stderr.count("this cannot be left out") == 2
    assert "[10:42 and the value in bar, or ?]" in result.stderr and "[10:42, or ?]" in result.stderr
    assert not [one for one in bay.entries(job, kind="step") if one.body["act"] == "skipped"]


def test_a_step_that_may_be_left_out_is_left_out_with_its_reason(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "skip.toml"
    path.write_text(CARD.replace('text = "Drive"', 'text = "Drive"\nmay_skip = true'), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    told = bay.run("job", "enter", job, *DAY, typed=LINES.replace("10:50", "- it rained"))
    assert "6 of 6" in told.output and "or - and why it was left out, or ?]" in told.stderr
    last = bay.entries(job, kind="step")[-1]
    assert (last.body["act"], bay.words(last)["said"]) == ("skipped", "it rained")


def test_a_container_that_was_open_for_a_year_and_a_half_is_asked_about_once_more(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "age.toml"
    step = '[[steps_before]]\nid = "age"\ntext = "How old?"\nact = "read"\nwhat = "container-age"\nunit = "d"\n'
    path.write_text(CARD.replace("[[steps_before]]", f"{step}[[steps_before]]", 1), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    said = bay.run("job", "enter", job, *DAY, typed="10:40 500 d\n10:40 500 d\n\n")
    assert "REALLY? 500 d can hardly be" in said.stderr and "1 of 7" in said.output


CHECK = """
[[steps_before]]
id = "leaks"
text = "Is it dry?"
act = "check"
affects = "leak-check"
person = "second"
"""


def test_a_check_says_yes_or_no_and_by_whom(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "check.toml"
    path.write_text(CARD.replace("[[steps_before]]", f"{CHECK}[[steps_before]]", 1), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    lines = "10:39 by t-heron\n10:40 no it drips by t-heron\n10:41 yes\n" + "10:41 yes by t-heron\n" * 2 + "\n"
    said = bay.run("job", "enter", job, *DAY, typed=lines)
    assert "it says neither yes nor no" in said.stderr and "REALLY? it does not say by whom" in said.stderr
    assert "REALLY? it was not right, and no line says what was mended since" in said.stderr
    no, yes = bay.entries(job, kind="step")
    assert (no.body["act"], no.body["looked"], no.done_by) == ("skipped", True, "person:t-heron")
    assert (yes.body["act"], yes.done_by, yes.entered_by) == ("confirmed", "person:t-heron", "person:t-otter")


@pytest.mark.parametrize("act", ["do", "check"])
def test_a_step_of_which_nothing_is_chosen_is_not_taken_for_done(bay: Bay, tmp_path: Path, act: str) -> None:
    path = tmp_path / "card.toml"
    chosen = f'affects = "road-test"\nact = "{act}"\nchoices = ["stops straight", "pulls"]\n'
    path.write_text(CARD.replace('affects = "road-test"\n', chosen), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    first, last = LINES.rsplit("10:50", 1)
    result = bay.run("job", "enter", job, *DAY, typed=f"{first}10:50\n10:50 pulls{last}")
    assert "nothing is chosen" in result.stderr
    assert bay.entries(job, kind="step")[-1].body["answer"] == "pulls"


def test_another_job_may_run_in_the_bay_while_a_card_is_typed(bay: Bay, job: str) -> None:
    other = bay.open_job()
    path = locks.path_of(bay.shop.journal_path)
    with locks.Lock(path, "job run", SystemClock(), other):
        bay.fine("job", "enter", job, *DAY, typed=LINES)
    assert len(bay.entries(job)) == 8


def test_nothing_is_written_while_the_same_job_runs_or_the_journal_itself_is_worked_on(bay: Bay, job: str) -> None:
    path = locks.path_of(bay.shop.journal_path)
    for held in (job, ""):
        with locks.Lock(path, "job run", SystemClock(), held):
            result = bay.run("job", "enter", job, *DAY, typed=LINES)
        assert result.exit_code == 3 and "the journal is in use by job run" in str(result.exception)
    assert len(bay.entries(job)) == 1


def test_a_line_for_a_job_that_went_on_meanwhile_is_not_recorded(bay: Bay, job: str) -> None:
    state = entering.state_of(bay.shop, job)
    bay.fine("job", "enter", job, *DAY, typed="10:40 DOT 4\n\n")
    with pytest.raises(InputError, match="written meanwhile"), entering.writing(bay.shop, state):
        raise AssertionError("it must not be written")


def test_a_run_is_recorded_whole_or_not_at_all(bay: Bay, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    bay.fine("job", "enter", job, *DAY, typed="10:40 DOT 4\n10:41 29 psi\n10:42\n\n")
    spelled = entries_.spelled

    def broken(text: bytes) -> None:
        if b'"kind":"outcome"' in text:
            raise InputError("the disk is full", place="entry", hint="")
        spelled(text)

    monkeypatch.setattr(entries_, "spelled", broken)
    bay.run("job", "enter", job, *DAY, typed="10:42:20 10:42:30\n\n")
    assert not bay.entries(job, kind="intent")
    monkeypatch.undo()
    bay.fine("job", "enter", job, *DAY, typed="10:42:20 10:42:30\n\n")
    (intent,), (outcome,) = (bay.entries(job, kind=kind) for kind in ("intent", "outcome"))
    assert outcome.body["actuation"] == intent.seq


def test_typing_that_is_broken_off_leaves_whole_lines_and_goes_on_there(bay: Bay, job: str) -> None:
    result = bay.run("job", "enter", job, *DAY, typed="10:40 DOT 4\n10:41 29 psi\n10:4")
    assert result.exit_code != 0 or "2 of 6" in result.output
    assert [one.kind for one in bay.entries(job)] == ["job-opened", "step", "reading"]
    assert "6 of 6" in bay.fine("job", "enter", job, *DAY, typed="10:42\n10:42:20 10:42:30\n10:43\n10:50\n")


GOOD = {"volume-removed": "240", "volume-in": "150", "volume": "150", "waste": "600", "boiling-point": "150"}


@pytest.mark.parametrize("name", ["procedure", "vacuum", "stored_pressure"])
def test_the_whole_card_of_a_shipped_procedure_is_keyed_in_to_its_end(bay: Bay, name: str) -> None:
    procedure = load.load(DATA / f"{name}.toml")
    words = ("--procedure", DATA / f"{name}.toml", "--grade", "told", "--vehicle", "v-1")
    job = bay.fine("job", "open", *words).split()[1]
    passes = {one.id: one for one in procedure.passes}
    points = walk(procedure, procedure.passes)
    lines = [_line(point, passes.get(point.pass_id), number, procedure) for number, point in enumerate(points)]
    told = bay.run("job", "enter", job, *DAY, typed="\n".join(lines) + "\n")
    assert f"{len(points)} of {len(points)} steps" in told.output, told.stderr
    found = answers(bay, job)
    assert (found["ran-clear"], found["torque-cap"], found["served"]) == ("met", "met", "met")


def _line(point: Point, one: Pass | None, number: int, procedure: Procedure) -> str:
    """Return a good line for a point, a minute after the one before."""
    at, clock = places(point, one), f"{8 + number // 60:02}:{number % 60:02}"
    if point.kind == "ask":
        return "- the screens were dead"
    if len(at.times) > 1:
        return " ".join([f"{clock}:05", f"{clock}:15", *[f"{clock}:05"] * (len(at.times) - 2)])
    by = " by t-heron" if at.by else ""
    if at.unit is None:
        wanted = ", ".join(part for part in (procedure.fluid, procedure.fluid_class) if part)
        said = next((one for one in at.boxes if one in (wanted, procedure.fluid, "yes")), "")
        return f"{clock} {said}".strip() + by
    ends = (
        [parse(end, place="limit").number for end in (point.limit.low, point.limit.high) if end] if point.limit else []
    )
    value = GOOD.get(point.step.what if point.step else "") or str(sum(ends) / len(ends) if ends else 300)
    boxes = [box for box in at.boxes if box != "not clear"]
    return f"{clock} {', '.join([value, *boxes])}{by}"


@pytest.mark.parametrize(
    ("words", "code", "said", "hint"),
    [
        (("9-9",), 2, "there is no job '9-9'", "job list"),
        (("JOB", "--on", "1900-01-01"), 2, "1900-01-01 is the day of no card", "2026-03-31"),
        (("JOB", "--done-by", "a b"), 2, "'a b' is no person's id", "use letters"),
    ],
)
def test_what_cannot_be_keyed_in_names_its_place_and_the_way_on(
    bay: Bay, job: str, words: tuple[str, ...], code: int, said: str, hint: str
) -> None:
    result = bay.run("job", "enter", *(job if one == "JOB" else one for one in words), typed=LINES)
    assert isinstance(result.exception, InputError) and result.exit_code == code
    assert said in str(result.exception) and hint in result.exception.hint
    assert len(bay.entries(job)) == 1


def test_nothing_is_keyed_in_of_a_job_that_has_ended(bay: Bay, job: str) -> None:
    bay.fine("job", "abandon", job, "--why", "late", "--unsealed")
    result = bay.run("job", "enter", job, typed=LINES)
    assert result.exit_code == 2 and "abandoned: nothing more is keyed in" in str(result.exception)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("again", "is not done again here"),
        ("first p1", "is no later pass and a reason"),
        ("10:42:20", "a time is missing"),
        ("10:42:20 x", "'x' is no time"),
        ("- ", "no reason is written"),
        ("-", "no reason is written"),
    ],
)
def test_a_line_at_a_run_that_is_not_understood_says_what_is_missing(bay: Bay, job: str, line: str, said: str) -> None:
    result = bay.run("job", "enter", job, *DAY, typed=f"10:40 DOT 4\n10:41 2.0\n10:42\n{line}\n\n")
    assert said in result.stderr and "  do: " in result.stderr and result.exception is None
    assert not bay.entries(job, kind="intent")
