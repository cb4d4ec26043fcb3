"""Plate and customer: kept beside the entries, found by, shown, and erased by a lead."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.bay import VIN, Bay

from witnessmark.host import erasing
from witnessmark.host.roster import PEOPLE
from witnessmark.job import reasons
from witnessmark.job.reasons import LEAVE_OUT
from witnessmark.job.screens.run_view import LOOKED
from witnessmark.journal import personal
from witnessmark.journal.bodies import Body, State, StepDone, to_body
from witnessmark.journal.entry import Draft
from witnessmark.people.register import read


@pytest.fixture
def job(bay: Bay) -> str:
    return bay.open_job("--plate", "ab-12  x", "--customer", "Zoe Invented", "--vin", VIN)


def everything(bay: Bay) -> bytes:
    return b"".join(path.read_bytes() for path in bay.folder.rglob("*") if path.is_file())


def test_no_entry_holds_plate_or_customer_and_job_show_does(bay: Bay, job: str) -> None:
    with bay.shop.read() as journal:
        texts = b"".join(text for _, text in journal.texts())
    assert b"Zoe" not in texts and b"AB-12" not in texts and VIN.encode() in texts
    shown = bay.fine("job", "show", job)
    assert "registration AB-12 X" in shown and "customer Zoe Invented" in shown


def test_a_job_is_found_by_plate_vin_and_date(bay: Bay, job: str) -> None:
    other = bay.open_job("--plate", "CD 34")
    for words in (("--plate", "AB12X"), ("--vin", VIN.lower()), ("--plate", "ab 12 x", "--since", "2020-01-01")):
        found = bay.fine("job", "list", *words)
        assert found.startswith(job) and other not in found
    assert len(bay.fine("job", "list", "--since", "2020-01-01").splitlines()) == 2
    for words in (("--plate", "XX"), ("--vin", VIN, "--plate", "CD34"), ("--until", "2020-01-01")):
        assert bay.run("job", "list", *words).exit_code == 1
    assert bay.run("job", "list", "--since", "yesterday").exit_code == 2


def test_erasing_leaves_no_byte_and_says_erased_and_what_it_cannot_reach(bay: Bay, job: str) -> None:
    words = bay.key()
    bay.fine("sheet", job, "-o", bay.folder / "sheet.html", "--passphrase-file", words)
    (bay.folder / "sheet.html").unlink()
    assert b"Zoe Invented" in everything(bay)
    shown = bay.fine("erase", job, "--why", "the customer asked", "--copy", "the insurer's file")
    assert "customer, registration" in shown and "sheet of entry 3" in shown and "the insurer's file" in shown
    assert "each second copy made before" in shown
    assert b"Zoe Invented" not in everything(bay) and b"AB-12 X" not in everything(bay)
    listed = bay.fine("job", "show", job)
    assert "registration erased" in listed and "customer erased" in listed
    assert bay.run("job", "list", "--plate", "AB12X").exit_code == 1
    assert bay.fine("job", "list", "--vin", VIN).startswith(job)
    assert bay.fine("check")
    evidence = bay.folder / "e.json"
    bay.fine("evidence", job, "-o", evidence, "--passphrase-file", words)
    assert "CONSISTENT" in bay.fine("verify", evidence)


def test_complaint_remarks_and_reasons_are_shown_until_they_are_erased(bay: Bay, tmp_path: Path) -> None:
    job = bay.open_job("--complaint", "Zoe Invented says the pedal is soft")
    photo = tmp_path / "of-zoe-invented.jpg"
    photo.write_bytes(b"photo")
    bay.fine("attach", job, photo, "--shows", "the level, held by Zoe Invented")
    bay.fine("amend", 2, "--reason", "Zoe Invented read it", "--set", "shows=the gauge of Zoe Invented")
    bay.fine("job", "abandon", job, "--why", "Zoe Invented took it away", "--unsealed")
    evidence = bay.folder / "e.json"
    bay.fine("evidence", job, "-o", evidence)
    assert b"Zoe" not in evidence.read_bytes() and b"of-zoe" not in evidence.read_bytes()
    before = bay.fine("job", "show", job) + str(bay.run("sheet", job, "--json").stdout)
    for words in ("took it away", "held by Zoe", "gauge of Zoe", "Zoe Invented read it", "the pedal is soft"):
        assert words in before, words
    bay.fine("erase", job, "--why", "asked")
    assert b"Zoe Invented" not in everything(bay) and b"of-zoe" not in everything(bay)
    shown = bay.fine("job", "show", job)
    assert "job abandoned: erased" in shown and "erased shows erased" in shown and "corrected in entry" in shown
    for paper in ("sheet", "statement", "tag"):
        bay.fine(paper, job, "-o", bay.folder / "p.html", *(["--unsealed"] if paper == "sheet" else []))
        text = (bay.folder / "p.html").read_text(encoding="utf-8")
        assert "erased" in text and "personal:" not in text, paper
    assert bay.run("audit", job).exit_code in (0, 1)
    assert "CONSISTENT" in bay.fine("verify", evidence)


def test_an_evidence_file_alone_says_that_the_words_are_not_kept_here(bay: Bay) -> None:
    job = bay.open_job("--complaint", "the pedal is soft")
    evidence = bay.folder / "e.json"
    bay.fine("evidence", job, "-o", evidence)
    told = bay.fine("sheet", evidence, "--json")
    assert '"complaint": "not kept here"' in told and "personal:" not in told


def test_erasing_twice_or_a_job_that_is_not_there_is_said(bay: Bay, job: str) -> None:
    bay.fine("erase", job, "--why", "asked")
    again = bay.run("erase", job, "--why", "asked")
    assert again.exit_code == 2 and "no personal data is kept" in str(again.exception)
    assert bay.run("erase", "J-9", "--why", "asked").exit_code == 2
    assert bay.run("erase", job, "--why", " ").exit_code == 2
    assert len(bay.entries(kind="erasure")) == 1


def test_an_erasure_that_was_cut_off_is_said_and_finished(bay: Bay, job: str) -> None:
    with bay.shop.write() as journal:
        named = sorted(personal.values_of(journal, job))
        journal.append(Draft("erasure", job, "person:lead", body={"commitments": named, "fields": [], "why": "asked"}))
    checked = bay.run("check")
    assert checked.exit_code == 1 and "it is still there: erase it again" in checked.output
    assert "cut off before is finished" in bay.fine("erase", job, "--why", "asked")
    assert b"Zoe Invented" not in everything(bay) and len(bay.entries(kind="erasure")) == 1
    bay.fine("check")


def test_a_photo_is_named_among_what_cannot_be_reached(bay: Bay, job: str, tmp_path: Path) -> None:
    photo = tmp_path / "plate.jpg"
    photo.write_bytes(b"photo")
    bay.fine("attach", job, photo, "--shows", "level")
    assert "file of entry 2, if it shows plate" in bay.fine("erase", job, "--why", "asked")


def test_only_a_lead_erases_where_there_are_pins(bay: Bay, job: str) -> None:
    read(bay.folder / PEOPLE, 2**4).add("l-heron", "lead", "4711").add("t-otter", "technician", "0815").write()
    assert bay.run("erase", job, "--why", "asked", typed="0815\n").exit_code == 2
    assert "Zoe Invented" in bay.fine("job", "show", job)
    bay.by = "l-heron"
    assert bay.run("erase", job, "--why", "asked", typed="0815\n").exit_code == 2
    bay.fine("erase", job, "--why", "asked", typed="4711\n")
    assert bay.entries(kind="erasure")[0].done_by == "person:l-heron"


def test_a_database_that_a_restore_kept_is_named_among_what_cannot_be_reached(
    bay: Bay, job: str, tmp_path: Path
) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    bay.fine("copy", disk)
    bay.fine("restore", disk)
    kept = bay.folder / "journal.db.before1"
    assert b"Zoe Invented" in kept.read_bytes()
    said = "journal.db.before1 beside the journal, which a restore kept"
    assert said in bay.fine("erase", job, "--why", "asked")
    assert any(said in one for one in bay.entries(kind="erasure")[0].body["copies"])


def said_of(bay: Bay, job: str) -> list[tuple[int, str, str]]:
    told = json.loads(bay.run("audit", job, "--json").stdout)
    texts = ("\n".join([one["text"], *(each["text"] for each in one["details"])]) for one in told["findings"])
    return [(one["number"], one["answer"], text) for one, text in zip(told["findings"], texts, strict=True)]


def test_an_erasure_changes_no_answer_and_leaves_what_was_picked_from_a_list(bay: Bay) -> None:
    job = bay.open_job("--complaint", "the pedal is soft", "--plate", "AB 1", "--customer", "Zoe Invented")
    mine, picked = "Zoe Invented was in a hurry", LEAVE_OUT[0]
    acts: list[tuple[str, Body]] = [
        ("step", StepDone(step="make-safe", act="skipped", affects="made-safe", said=picked)),
        ("step", StepDone(step="pedal", act="skipped", affects="pedal-pumped", said=mine)),
        ("step", StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")),
        ("step", StepDone(step="p2", act="skipped", pass_id="p2", nipple="rear-left", said=mine)),
        ("state", State(state="abandoned", why=mine)),
    ]
    with bay.shop.write() as journal:
        for kind, body in acts:
            journal.append(Draft(kind, job, "person:t-otter", body=to_body(body)))
    before, shown = said_of(bay, job), bay.fine("job", "show", job)
    assert mine in str(before) and picked in str(before) and mine in shown
    told = bay.fine("erase", job, "--why", "asked")
    assert "What stays: the number of the vehicle" in told and "reasons picked from a list" in told
    after = said_of(bay, job)
    same = [(number, answer, text.replace(mine, "erased")) for number, answer, text in before]
    assert after[:-1] == same[:-1] and after[-1][:2] == same[-1][:2] == (37, "no proof"), "one entry more is its end"
    assert picked in bay.fine("job", "show", job) and b"Zoe" not in everything(bay)
    assert "no personal data is kept" in str(bay.run("erase", job, "--why", "asked").exception)


def test_every_reason_that_a_screen_offers_is_known_to_be_ready_made() -> None:
    known = erasing.ready_made()
    assert {*LEAVE_OUT, *reasons.NO, *reasons.KEEP, *LOOKED.values(), reasons.ELSEWHERE} <= known
    assert "the next one cannot be reached now" in known
    assert all(" " in one or len(one) > 3 for one in known), "no letter of a word counts as one"
