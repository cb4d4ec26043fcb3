"""When the work of a card was: never the time of the keying, and held against what the journal already has."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from tests.cli.bay import Bay, at
from tests.cli.test_empty_card import BEFORE, CLOSES, findings, open_job
from tests.cli.test_entering import BOXED
from tests.cli.test_keyed_in_papers import paper

from witnessmark.clock import ManualClock
from witnessmark.host.card import entering
from witnessmark.job.walk import resume
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft, Entry


def opened(bay: Bay, folder: Path) -> str:
    """Open the job of a card whose feed may be read again and whose drive may be left out."""
    text = BOXED.replace('text = "Drive"', 'text = "Drive"\nmay_skip = true')
    text = text.replace('id = "feed"\n', 'id = "feed"\nmay_repeat = true\n')
    (folder / "boxed.toml").write_text(text, encoding="utf-8")
    return open_job(bay, folder / "boxed.toml")


@pytest.fixture
def job(bay: Bay, tmp_path: Path, clock: ManualClock) -> str:
    return opened(bay, tmp_path)


def key(bay: Bay, job: str, *lines: str, on: str = "") -> tuple[str, Sequence[Entry]]:
    """Key lines in on the day of the machine's clock; return what was said, and the entries made."""
    before, day = len(bay.entries(job)), ("--on", on) if on else ()
    said = bay.run("job", "enter", job, *day, "--done-by", "t-heron", typed="\n".join(lines) + "\n\n")
    return said.output, bay.entries(job)[before:]


def live(bay: Bay, job: str, *made: bodies.StepDone) -> None:
    """Write what was done at the bay's own screen, just now."""
    with bay.shop.write() as journal:
        for body in made:
            journal.append(Draft("step", job, "person:t-heron", body=bodies.to_body(body)))


def told(bay: Bay, job: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(bay.run("sheet", job, "--json").stdout)
    return found


GRADE = bodies.StepDone(step="grade", act="done", affects="fluid-grade", answer="DOT 4")


def test_a_note_a_reason_and_what_was_done_again_are_entered_afterwards_like_the_rest(
    bay: Bay, job: str, clock: ManualClock
) -> None:
    clock.advance(6 * 3600)
    lines = (*BEFORE[:2], "again feed", "10:41 2.1", *BEFORE[2:], CLOSES, "note p1 the hose was old", "- it rained")
    said, made = key(bay, job, *lines)
    assert "7 of 7" in said and {one.occurred.basis for one in made} == {"typed"}
    untimed = [one for one in made if not one.occurred.timed]
    assert [one.body["step"] for one in untimed] == ["do-again", "said-note", "road-test"]
    assert {(one.occurred.from_ns, one.occurred.to_ns) for one in untimed} == {(at("00:00:00"), at("15:00:00"))}
    assert {one.seq for one in made} <= {*findings(bay, job)["entered-live"]["cites"]}
    assert bay.fine("job", "show", job).count("[entered afterwards, 2026-03-02 15:00, by t-otter]") == len(made)
    assert (told(bay, job)["job"]["first"], told(bay, job)["job"]["last"]) == ("10:40:00", "10:44:00")


def test_what_is_added_at_the_desk_later_changes_neither_the_time_of_the_job_nor_when_it_was_keyed_in(
    bay: Bay, job: str, clock: ManualClock, tmp_path: Path
) -> None:
    clock.advance(6 * 3600)
    _, made = key(bay, job, *BEFORE, CLOSES)
    clock.advance(60)
    key(bay, job, "10:50")
    before = told(bay, job)["job"]
    clock.advance(3600)
    bay.fine("amend", made[1].seq, "--reason", "a slipped digit", "--set", "amount.value=2.1")
    (tmp_path / "card.jpg").write_bytes(b"\xff\xd8\xff\xe0 a card")
    bay.fine("attach", job, tmp_path / "card.jpg", "--shows", "the card")
    after = told(bay, job)["job"]
    assert after == before and after["entered"] == "entered afterwards, 15:00:00 to 15:01:00"
    assert (after["first"], after["last"]) == ("10:40:00", "10:51:00")


def test_what_is_added_at_the_desk_does_not_stretch_a_job_of_which_nothing_was_keyed_in(
    bay: Bay, job: str, clock: ManualClock
) -> None:
    clock.advance(60)
    live(bay, job, GRADE)
    clock.advance(3600)
    bay.fine("amend", bay.entries(job)[-1].seq, "--reason", "misread", "--set", "answer=DOT 5.1")
    assert (told(bay, job)["job"]["first"], told(bay, job)["job"]["last"]) == ("09:00:00", "09:01:00")


def test_a_statement_says_that_runs_were_written_on_a_card_and_of_none_that_somebody_pressed(
    bay: Bay, job: str, clock: ManualClock
) -> None:
    clock.advance(6 * 3600)
    key(bay, job, *BEFORE, CLOSES, "10:50")
    said = paper(bay, "statement", job)
    assert "One run was told by a person, who wrote it on a card that was keyed in afterwards" in said
    assert "pressed" not in said and "pressed" not in paper(bay, "sheet", job)
    assert "Runs told on a card are timed by what is written on it." in paper(bay, "sheet", job)


def test_how_long_a_job_lay_is_never_read_off_a_line_without_a_time(bay: Bay, job: str, clock: ManualClock) -> None:
    live(bay, job, GRADE)
    clock.advance(20)
    key(bay, job, "?")
    state = entering.state_of(bay.shop, job)
    assert (resume.lain(state, clock.now_ns), resume.was_left(state, clock.now_ns)) == ("", False)
    key(bay, job, "09:00", "09:00:10 09:00:15", "?")
    state = entering.state_of(bay.shop, job)
    assert resume.lain(state, clock.now_ns) == "" and state.card_wall_ns < clock.now_ns
    clock.advance(resume.LONG_S)
    assert resume.lain(state, clock.now_ns) == resume.UNSURE
    assert resume.resumed(state, clock.now_ns, resume.UNSURE).card_unsure is False


def test_where_no_time_is_written_at_all_it_is_said_that_nobody_knows_when_the_work_stopped(
    bay: Bay, job: str, clock: ManualClock
) -> None:
    key(bay, job, "?", "?", "note nobody wrote a time")
    assert resume.lain(entering.state_of(bay.shop, job), clock.now_ns) == resume.UNSURE
    key(bay, job, "08:58", "08:58", "08:58:10 08:58:20")
    assert resume.lain(entering.state_of(bay.shop, job), clock.now_ns) == ""


def test_live_work_after_a_card_counts_again_from_its_own_time(bay: Bay, job: str, clock: ManualClock) -> None:
    key(bay, job, "08:40 DOT 4", "08:40 DOT 4")
    assert entering.state_of(bay.shop, job).card_wall_ns == at("08:41:00") - 1
    live(bay, job, bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rr"))
    assert entering.state_of(bay.shop, job).card_wall_ns == 0


def test_what_is_not_written_lies_between_the_last_live_entry_and_the_keying(
    bay: Bay, job: str, clock: ManualClock
) -> None:
    clock.advance(120)
    live(bay, job, GRADE)
    clock.advance(900)
    _, made = key(bay, job, "?", "? done")
    assert {(one.occurred.from_ns, one.occurred.to_ns) for one in made} == {(at("09:02:00"), clock.now_ns)}
    assert told(bay, job)["job"]["last"] == "09:02:00", "what nobody wrote stretches nothing"


def test_a_time_before_the_opening_is_asked_once_and_one_before_live_work_too(
    bay: Bay, job: str, clock: ManualClock
) -> None:
    clock.advance(7200)
    said, made = key(bay, job, "08:10 DOT 4", "08:10 DOT 4", "08:11 2.0")
    assert "REALLY? 08:10 is before the job was opened (09:00:00)\n" in said
    assert said.count("REALLY") == 1 and len(made) == 2
    said, _ = key(bay, job, "08:12")
    assert "REALLY" not in said, "the card goes on where it was"
    live(bay, job, bodies.StepDone(step="ready-at-the-wheel", act="confirmed", pass_id="p1"))
    seq = bay.entries(job)[-1].seq
    said, made = key(bay, job, "level 08:20 yes", "08:13:20 08:13:30")
    assert f"REALLY? 08:20 is before what entry {seq} says (11:00:00)" in said
    assert f"REALLY? 08:13:20 is before what entry {seq} says (11:00:00); past midnight" in said and not made


def test_a_card_of_a_day_before_the_opening_says_so_itself(bay: Bay, job: str, clock: ManualClock) -> None:
    said, made = key(bay, job, "10:40 DOT 4", on="2026-03-01")
    assert "REALLY" not in said and len(made) == 1 and re.search(r"\b1 of 6 steps", said)
