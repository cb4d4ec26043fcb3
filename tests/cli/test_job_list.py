"""Jobs are found by who worked on them and by what their audit leaves open; two are set side by side."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from tests.cli.bay import DATA, MAP, PROCEDURE, Bay
from tests.report.test_sheet import Page

from witnessmark.host.extending import questions
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft


def read_pressure(bay: Bay, job: str, value: str, by: str) -> None:
    body = bodies.Reading(what="container-age", amount=bodies.Amount(value, "d"), step="container-age")
    with bay.shop.write() as journal:
        journal.append(Draft("reading", job, f"person:{by}", body=bodies.to_body(body)))


def test_a_person_finds_the_jobs_they_worked_on(bay: Bay) -> None:
    first, second = bay.open_job(), bay.open_job()
    read_pressure(bay, second, "3", "t-heron")
    assert second in bay.fine("job", "list", "--by", "t-heron")
    assert first not in bay.fine("job", "list", "--by", "t-heron")
    assert bay.run("job", "list", "--by", "t-nobody").exit_code == 1
    both = bay.fine("job", "list")
    assert first in both and second in both and both.count("NOT RELEASED") == 2
    lines = both.splitlines()
    assert (
        " 1 entry  full      depot-14: " in lines[1]
        and " 2 entries  full      depot-14: " in lines[0]
        and "step 1 of 56" in lines[0]
    )


def test_a_released_job_says_how_much_was_accepted_as_open_and_what(bay: Bay) -> None:
    job, plain = bay.open_job(), bay.open_job()
    held = ("26 Leak check done? not met: it drips", "31 Is it plausible? no proof: 18 s")
    with bay.shop.write() as journal:
        for name, accepted in ((job, held), (plain, ())):
            body = bodies.State(state="released", accepted=accepted)
            journal.append(Draft("state", name, "person:l-heron", body=bodies.to_body(body)))
    listed = bay.fine("job", "list")
    assert f"{job:<10} released  2 accepted " in listed and listed.count("accepted") == 2
    assert "    released, 2 accepted as open: 26 final-checks not met; 31 plausible no proof\n" in listed


def looked(bay: Bay, job: str, step: str, said: str, **more: str) -> None:
    body = bodies.StepDone(step=step, act="skipped", looked=True, said=said, **more)  # type: ignore[arg-type]
    with bay.shop.write() as journal:
        journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(body)))


def test_a_job_that_is_not_released_says_what_was_seen_and_a_comeback_what_it_follows_left_open(bay: Bay) -> None:
    first = bay.open_job()
    looked(bay, first, "road-test", "the pedal is soft or sinks", affects="road-test")
    back = bay.open_job("--scope", f"follows {first}")
    listed = bay.fine("job", "list").splitlines()
    seen = "Leak check, pedal and road test done? not met: the pedal is soft or sinks"
    assert "    ! not as asked: 26 final-checks not met: the pedal is soft or sinks" in listed
    (left,) = (one for one in listed if one.startswith(f"    ! left open by {first}, to which it comes back: "))
    assert seen in left and "the earlier record cannot be put right: " in left and "; and " in left
    page = bay.folder / "tag.html"
    bay.fine("tag", back, "-o", page)
    text = Page(page.read_text(encoding="utf-8")).text
    assert f"Left open by job {first}, to which this one comes back: {seen}" in text
    item = next(n for n, one in enumerate(bay.entries(back)[0].body["earlier"], 1) if "pedal is soft" in one)
    with bay.shop.write() as journal:
        right = bodies.to_body(bodies.StepDone(step=f"earlier-{item}", act="confirmed"))
        journal.append(Draft("step", back, "person:t-otter", body=right))
    bay.fine("tag", back, "-o", page)
    assert f"{seen} (said to be right now)" in Page(page.read_text(encoding="utf-8")).text
    assert not [one for one in bay.fine("job", "list").splitlines() if "left open by" in one and seen in one]


def test_what_was_accepted_is_named_with_what_was_seen(bay: Bay) -> None:
    job = bay.open_job()
    looked(bay, job, "road-test", "the pedal is soft or sinks", affects="road-test")
    with bay.shop.write() as journal:
        body = bodies.State(state="released", accepted=("26 Leak check? not met: x", "31 Plausible? no proof: y"))
        journal.append(Draft("state", job, "person:l-heron", body=bodies.to_body(body)))
    said = "26 final-checks not met: the pedal is soft or sinks; 31 plausible no proof"
    assert f"    released, 2 accepted as open: {said}\n" in bay.fine("job", "list")


def alter(bay: Bay, seq: int, old: str, new: str) -> None:
    with closing(sqlite3.connect(bay.shop.journal_path)) as db, db:
        for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            db.execute(f"DROP TRIGGER {name}")
        db.execute("UPDATE entries SET text = replace(text, ?, ?) WHERE seq = ?", (old, new, seq))


@pytest.mark.parametrize(
    ("kind", "old", "new"),
    [
        ("reading", '"value":"3"', '"value":"x"'),
        ("step", '"affects":"road-test"', '"affects":7'),
        ("step", '"act":"skipped"', '"act":"nothing"'),
    ],
)
def test_a_record_that_cannot_be_read_any_more_takes_no_other_job_away(bay: Bay, kind: str, old: str, new: str) -> None:
    altered, sound = bay.open_job(), bay.open_job()
    read_pressure(bay, altered, "3", "t-otter")
    looked(bay, altered, "road-test", "the pedal is soft or sinks", affects="road-test")
    read_pressure(bay, sound, "3", "t-otter")
    looked(bay, sound, "road-test", "the pedal is soft or sinks", affects="road-test")
    target = bay.entries(altered, kind=kind)[0].seq
    alter(bay, target, old, new)
    said = f"the record of job {altered} cannot be read from entry {target} on"
    filters = ((), ("--vehicle", "depot-14"), ("--since", "2000-01-01"), ("--by", "t-otter"), ("--finding", "no proof"))
    for asked in filters:
        lines = bay.fine("job", "list", *asked).splitlines()
        at = next(number for number, line in enumerate(lines) if line.startswith(f"{altered} "))
        assert "NOT RELEASED" in lines[at] and "3 entries" in lines[at], asked
        assert lines[at + 1].startswith(f"    ! RECORD ALTERED: {said}"), asked
        assert any(line.startswith(f"{sound} ") for line in lines), asked
    words = ("job", "open", "--procedure", PROCEDURE, "--map", MAP, "--grade", "told", "--scope")
    for scope in ("full", f"follows {sound}"):  # nothing is written behind entries that are not those that were written
        opened = bay.run(*words, scope, "--vehicle", "depot-14")
        assert opened.exit_code == 3 and "are not those that were written" in str(opened.exception)
    back = bay.run(*words, f"follows {altered}", "--vehicle", "depot-14")
    assert back.exit_code == 2 and f"entry {target}" in str(back.exception)
    keyed = bay.run("job", "enter", altered)
    assert keyed.exit_code == 3 and said in str(keyed.exception)


def test_a_job_whose_record_was_altered_says_so_released_or_not(bay: Bay) -> None:
    altered, sound = bay.open_job(), bay.open_job()
    read_pressure(bay, altered, "3", "t-otter")
    read_pressure(bay, altered, "4", "t-otter")
    assert "RECORD" not in bay.fine("job", "list")
    target = bay.entries(altered, kind="reading")[0].seq
    alter(bay, target, '"3"', '"9"')
    top, *lines = bay.fine("job", "list").splitlines()
    said = f"entry {target} is not the one that entry {target + 1}"
    assert top.startswith(f"! RECORD ALTERED: the check of the whole journal finds: {said}")
    at = next(number for number, line in enumerate(lines) if line.startswith(altered))
    assert lines[at + 1].startswith(f"    ! RECORD ALTERED: {said}")
    assert sum("RECORD" in line for line in lines) == 1 and any(line.startswith(sound) for line in lines)


def test_each_job_says_what_part_of_the_procedure_it_does(bay: Bay) -> None:
    whole, corners = bay.open_job(), bay.open_job("--scope", "nipples rear-left,rear-right")
    back = bay.open_job("--scope", f"follows {whole} p1,p2")
    listed = {line.split()[0]: line for line in bay.fine("job", "list").splitlines()}
    assert "  full  " in listed[whole]
    assert "  corners rear-left,rear-right  " in listed[corners]
    assert f"  comeback to {whole} p1,p2  " in listed[back]


def test_a_name_finds_the_jobs_on_a_vehicle_and_what_they_left_open_is_said_before_the_next(bay: Bay) -> None:
    words = ("job", "open", "--procedure", PROCEDURE, "--map", MAP, "--grade", "told", "--vehicle")
    first = bay.fine(*words, 'van "7"').split()[1]
    other = bay.fine(*words, "depot-14").split()[1]
    opened = bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")
    with bay.shop.write() as journal:
        journal.append(Draft("step", first, "person:t-otter", body=bodies.to_body(opened)))
    found = bay.fine("job", "list", "--vehicle", 'van "7"')
    assert first in found and other not in found
    said = bay.run(*words, 'van "7"').stderr
    assert f"STOP, before anything else: Job {first} (open, found by the name alone" in said
    assert "found by its name alone, which two vehicles may have" in said and f"job {first} (open, by its name)" in said


def test_a_finding_finds_the_jobs_that_leave_it_open_and_says_why(bay: Bay) -> None:
    fresh, stale = bay.open_job(), bay.open_job()
    read_pressure(bay, fresh, "3", "t-otter")
    read_pressure(bay, stale, "300", "t-otter")
    for what in ("3", "container-age", "not met"):
        told = bay.fine("job", "list", "--finding", what)
        assert stale in told and fresh not in told, what
        assert "    left open: 3 container-age not met\n" in told
    assert fresh in bay.fine("job", "list", "--finding", "no proof")
    assert bay.run("job", "list", "--finding", "nothing").exit_code == 2


def test_two_jobs_are_compared_on_one_axis_and_where_they_differ_is_said(bay: Bay, tmp_path: Path) -> None:
    fresh, stale = bay.open_job(), bay.open_job()
    read_pressure(bay, fresh, "3", "t-otter")
    read_pressure(bay, stale, "300", "t-otter")
    page = tmp_path / "page.html"
    told = bay.fine("compare", fresh, stale, "-o", page)
    assert "Was the container fresh?: A met, B not met" in told
    assert f"A: job {fresh} of " in told and f"B: job {stale} of " in told
    text = page.read_text(encoding="utf-8")
    assert text.count('class="overview"') == 2 and text.count('id="o-hatch"') == 1
    assert fresh in text and stale in text and "<script" not in text


def test_two_jobs_with_one_id_are_told_apart(bay: Bay, tmp_path: Path) -> None:
    job = bay.open_job()
    files = [tmp_path / "north.json", tmp_path / "south.json"]
    for file in files:
        bay.fine("evidence", job, "-o", file, "--unsealed")
    page = tmp_path / "page.html"
    told = bay.fine("compare", *files, "-o", page)
    assert f"A: job {job} of north.json" in told and f"B: job {job} of south.json" in told
    assert f"B: job {job} of south.json" in page.read_text(encoding="utf-8")


def test_a_job_that_is_all_done_by_hand_needs_neither_interface_nor_grade(bay: Bay) -> None:
    opened = bay.run("job", "open", "--procedure", DATA / "vacuum.toml", "--vehicle", "depot-21")
    assert opened.exit_code == 0 and "note: no --vin" in opened.stderr
    refused = bay.run("job", "open", "--procedure", PROCEDURE, "--map", MAP, "--vehicle", "depot-14")
    assert refused.exit_code == 2 and "--link" in refused.stderr


def test_two_jobs_that_were_not_asked_the_same_are_compared_with_a_caution(bay: Bay, tmp_path: Path) -> None:
    whole, same = bay.open_job(), bay.open_job()
    back = bay.open_job("--scope", f"follows {whole} p3,p4")
    page = tmp_path / "page.html"
    told = bay.fine("compare", whole, back, "-o", page)
    caution = "They were not asked to do the same"
    assert caution in told and caution in page.read_text(encoding="utf-8")
    assert "the whole procedure, 8 passes; depot-14; open" in told and f"again after job {whole}: p3 and p4" in told
    told = bay.fine("compare", whole, same, "-o", page)
    assert caution not in told and caution not in page.read_text(encoding="utf-8")


def test_a_job_that_left_a_nipple_open_says_so_under_its_line(bay: Bay) -> None:
    left, other = bay.open_job("--plate", "TT 100"), bay.open_job("--plate", "TT 200")
    opened = bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")
    with bay.shop.write() as journal:
        journal.append(Draft("step", left, "person:t-otter", body=bodies.to_body(opened)))
    bay.fine("job", "abandon", left, "--why", "called away", "--unsealed")
    lines = bay.fine("job", "list").splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith(left))
    assert lines[at + 1] == "    ! Nipple rear left is OPEN: close it."
    assert len([line for line in lines if line.startswith("    ")]) == 1 and any(one.startswith(other) for one in lines)


def test_the_questions_are_loaded_once_for_all_jobs(bay: Bay, monkeypatch: pytest.MonkeyPatch) -> None:
    for job in (bay.open_job(), bay.open_job()):
        looked(bay, job, "road-test", "the pedal is soft or sinks", affects="road-test")
    loaded: list[questions.Questions] = []
    load = questions.load
    monkeypatch.setattr(questions, "load", lambda: loaded.append(load()) or loaded[-1])
    assert bay.fine("job", "list").count("the pedal is soft or sinks") == 2 and len(loaded) == 1
