"""`witnessmark amend` and `attach`: what is corrected and what is kept, and that both are shown."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.bay import Bay

from witnessmark.clock import SystemClock
from witnessmark.host.closing import state_of
from witnessmark.journal import bodies
from witnessmark.journal import lock as locks
from witnessmark.journal.entry import Draft


@pytest.fixture
def job(bay: Bay) -> str:
    """A job with a reading by a person (entry 2) and an outcome by the machine (entry 3)."""
    job = bay.open_job("--plate", "AB-12 X", "--customer", "Zoe Invented")
    reading = bodies.Reading(what="feed-pressure", amount=bodies.Amount("21", "bar"), low="1.5 bar", high="2.5 bar")
    outcome = bodies.Outcome(actuation=1, pass_id="p1", result="unknown", stop="sent")
    with bay.shop.write() as journal:
        journal.append(Draft("reading", job, "person:t-otter", body=bodies.to_body(reading)))
        journal.append(Draft("outcome", job, "machine:runner", body=bodies.to_body(outcome)))
    return job


def test_a_reading_is_corrected_and_job_show_shows_both(bay: Bay, job: str) -> None:
    shown = bay.fine("amend", 2, "--reason", "a slipped digit", "--set", "amount.value=2.1")
    assert "amount: 2.1 bar" in shown
    (made,) = bay.entries(kind="amendment")
    assert bay.words(made) == {
        "instead": {"amount": {"unit": "bar", "value": "2.1"}},
        "reason": "a slipped digit",
        "target": 2,
    }
    lines = bay.fine("job", "show", job).splitlines()
    first = next(index for index, line in enumerate(lines) if "21 bar" in line)
    assert "corrected in entry 4: amount: 2.1 bar (a slipped digit)" in lines[first + 1]
    assert any("entry 2 corrected: amount: 2.1 bar" in line and line.startswith("    4") for line in lines)


def read(bay: Bay, job: str, what: str, amount: str) -> int:
    value, unit = amount.split()
    body = bodies.Reading(what=what, amount=bodies.Amount(value, unit))
    with bay.shop.write() as journal:
        return journal.append(Draft("reading", job, "person:t-otter", body=bodies.to_body(body))).seq


def scanned(bay: Bay, job: str, by: str, exchange: int | None = None) -> int:
    body = bodies.CodeScan(when="after", codes=(), exchange=exchange)
    with bay.shop.write() as journal:
        return journal.append(Draft("scan", job, by, body=bodies.to_body(body))).seq


def test_codes_that_a_person_read_off_another_tester_are_corrected_and_nothing_else_of_them(bay: Bay, job: str) -> None:
    scan = scanned(bay, job, "person:t-otter")
    for wrong in ("exchange=1", "when=before", "codes=the lamp", "codes.0=P0123", "codes=none"):
        assert bay.run("amend", scan, "--reason", "x", "--set", wrong).exit_code == 2, wrong
    shown = bay.fine("amend", scan, "--reason", "a slip", "--set", "codes=c1b41-54, P0123")
    assert "codes: C1B41-54, P0123" in shown
    assert bay.entries(kind="amendment")[-1].body["instead"] == {"codes": ["C1B41-54", "P0123"]}
    assert "codes: none" in bay.fine("amend", scan, "--reason", "another car's", "--set", "codes=none")


@pytest.mark.parametrize(("step", "act"), [("pedal", "confirmed"), ("road-test", "done")])
def test_a_look_is_corrected_to_no_and_back_by_its_answer_and_papers_say_so_once(
    bay: Bay, job: str, step: str, act: str
) -> None:
    body = bodies.StepDone(step=step, act=act)  # type: ignore[arg-type]
    with bay.shop.write() as journal:
        seq = journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(body))).seq
    bay.fine("amend", seq, "--reason", "it still pulled", "--set", "answer=no")
    assert bay.entries(kind="amendment")[-1].body["instead"] == {"act": "skipped", "looked": True}
    told = json.loads(bay.run("sheet", job, "--json").stdout)
    (checks,) = (one for one in told["findings"] if one["number"] == 26)
    assert "as corrected not met" in checks["text"] or checks["answer"] == "not met", checks
    path = bay.shop.folder / "statement.html"
    bay.fine("statement", job, "--output", path)
    assert f": {act}, then looked at, and not right (entry {seq}" in path.read_text("utf-8")
    bay.fine("amend", seq, "--reason", "it did not", "--set", "answer=yes")
    assert bay.entries(kind="amendment")[-1].body["instead"] == {"act": act, "looked": False}
    assert "yes or --set answer=no" in str(
        bay.run("amend", seq, "--reason", "x", "--set", "answer=yolo").exception.hint
    )


def test_codes_that_were_asked_for_or_heard_are_not_corrected(bay: Bay, job: str) -> None:
    for by, exchange in (("machine:runner", 1), ("machine:runner", None), ("person:t-otter", 1)):
        result = bay.run("amend", scanned(bay, job, by, exchange), "--reason", "x", "--set", "codes=P0123")
        assert result.exit_code == 2 and "not what a person entered" in str(result.exception)


def test_a_correction_is_corrected_again(bay: Bay, job: str) -> None:
    bay.fine("amend", 2, "--reason", "a slipped digit", "--set", "amount.value=2.1")
    bay.fine("amend", 2, "--reason", "it was psi", "--set", "amount.unit=psi", "--set", "within=no")
    last = bay.entries(kind="amendment")[-1]
    assert last.body["instead"] == {"amount": {"unit": "psi", "value": "2.1"}, "within": False}


def test_correcting_a_correction_corrects_what_it_was_about(bay: Bay, job: str) -> None:
    bay.fine("amend", 2, "--reason", "a slipped digit", "--set", "amount.value=2.1")
    first = bay.entries(kind="amendment")[-1]
    bay.fine("amend", first.seq, "--reason", "read again", "--set", "amount.value=2.2")
    last = bay.entries(kind="amendment")[-1]
    assert (last.body["target"], last.body["instead"]) == (2, {"amount": {"unit": "bar", "value": "2.2"}})


@pytest.mark.parametrize(
    ("entry", "given", "said"),
    [
        (2, "pressure=2", "no such field"),
        (2, "amount=2", "does not fit"),
        (2, "within=perhaps", "does not fit"),
        (2, "what.unit=bar", "what has no parts"),
        (2, "amount", "is not FIELD=VALUE"),
        (2, "amount.value=21", "reads so already"),
        (2, "amount.value=abc", "is not a number"),
        (2, "amount.valu=21", "has no part valu"),
        (2, "amount.value=", "is not a number"),
        (2, "amount.unit=barn", "'barn' is not known"),
        (2, "amount.unit=mL", "bar"),
        (2, "nipple=bogus", "the procedure has no 'bogus'"),
        (2, "pass_id=bogus", "the procedure has no 'bogus'"),
        (99999999999999999999, "what=x", "no entry 99999999999999999999"),
        (3, "result=completed", "not what a person entered"),
        (0, "origin=x", "not what a person entered"),
        (99, "what=x", "no entry 99"),
    ],
)
def test_what_cannot_be_corrected_is_refused_by_name(bay: Bay, job: str, entry: int, given: str, said: str) -> None:
    result = bay.run("amend", entry, "--reason", "x", "--set", given)
    assert result.exit_code == 2 and said in str(result.exception), result.output
    assert bay.entries(kind="amendment") == []


@pytest.mark.parametrize(
    ("what", "was", "now"),
    [
        ("torque", "9 N.m", "-5"),
        ("level", "620 mL", "-620"),
        ("boiling-point", "190 degC", "-400"),
        ("boiling-point", "374 degF", "-460"),
        ("age", "3 d", "-1"),
    ],
)
def test_an_amount_that_cannot_be_is_refused(bay: Bay, job: str, what: str, was: str, now: str) -> None:
    seq = read(bay, job, what, was)
    result = bay.run("amend", seq, "--reason", "x", "--set", f"amount.value={now}")
    assert result.exit_code == 2 and f"{now} {was.split()[1]} cannot be" in str(result.exception)
    assert bay.entries(kind="amendment") == []


def test_an_amount_that_can_hardly_be_is_taken_and_said_to_be(bay: Bay, job: str) -> None:
    seq = read(bay, job, "level", "620 mL")
    shown = bay.fine("amend", seq, "--reason", "x", "--set", "amount.value=99999999")
    assert "! 99999999 mL can hardly be: between 0 and 5000 mL is. It is taken as it stands" in shown
    assert "hardly" not in bay.fine("amend", seq, "--reason", "x", "--set", "amount.value=630")


def test_what_was_said_is_not_corrected_where_a_choice_was_made(bay: Bay, job: str) -> None:
    body = bodies.StepDone(step="fluid-grade", act="done", affects="fluid-grade", answer="DOT 4")
    with bay.shop.write() as journal:
        seq = journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(body))).seq
    result = bay.run("amend", seq, "--reason", "x", "--set", "said=DOT 3")
    assert result.exit_code == 2 and "'DOT 4', and nothing was said" in str(result.exception)
    assert "--set answer=DOT 3" in str(result.exception.hint)  # type: ignore[union-attr]
    assert "answer: DOT 3" in bay.fine("amend", seq, "--reason", "x", "--set", "answer=DOT 3")


@pytest.mark.parametrize("given", ["why=x", "state=abandoned"])
def test_a_release_is_not_corrected_and_no_correction_makes_one(bay: Bay, job: str, given: str) -> None:
    with bay.shop.write() as journal:
        ends = [
            journal.append(Draft("state", job, "person:lead-1", body=bodies.to_body(bodies.State(state=state)))).seq  # type: ignore[arg-type]
            for state in ("finished", "released")
        ]
    refused = bay.run("amend", ends[1], "--reason", "x", "--set", given)
    assert refused.exit_code == 2 and "releases the job, so it is not corrected" in str(refused.exception)
    made = bay.run("amend", ends[0], "--reason", "x", "--set", "state=released")
    assert made.exit_code == 2 and "no correction releases a job" in str(made.exception)
    assert bay.entries(kind="amendment") == []


def test_a_correction_needs_a_reason(bay: Bay, job: str) -> None:
    assert bay.run("amend", 2, "--reason", " ", "--set", "amount.value=2").exit_code == 2
    assert bay.run("amend", 2, "--set", "amount.value=2").exit_code == 2
    assert bay.entries(kind="amendment") == []


def test_a_corrected_plate_is_kept_beside_the_entries_too(bay: Bay, job: str) -> None:
    bay.fine(
        "amend", 1, "--reason", "misread", "--set", "vehicle.registration=CD-34 Y", "--set", "customer=Ann Invented"
    )
    (made,) = bay.entries(kind="amendment")
    assert made.body["instead"]["vehicle"]["registration"].startswith("personal:")
    with bay.shop.read() as journal:
        assert b"CD-34" not in b"".join(text for _, text in journal.texts())
    assert bay.fine("job", "list", "--plate", "cd34y").startswith(job)
    assert "CD-34 Y" in bay.fine("job", "show", job)


def test_a_photo_is_kept_and_a_missing_or_changed_one_is_said(bay: Bay, job: str, tmp_path: Path) -> None:
    photo = tmp_path / "gauge.jpg"
    photo.write_bytes(b"\xff\xd8 photo")
    bay.fine("attach", job, photo, "--shows", "feed gauge", "--entry", 2)
    (entry,) = bay.entries(kind="attachment")
    assert "gauge.jpg shows feed gauge (entry 2), there" in bay.fine("job", "show", job)
    assert bay.fine("check")
    kept = bay.folder / "journal.db.files" / entry.body["sha256"]
    kept.write_bytes(b"another")
    assert "gauge.jpg shows feed gauge (entry 2), CHANGED" in bay.fine("job", "show", job)
    kept.unlink()
    assert "gauge.jpg shows feed gauge (entry 2), MISSING" in bay.fine("job", "show", job)
    checked = bay.run("check")
    assert checked.exit_code == 1 and "file of entry" in checked.output and "missing" in checked.output
    record, lost, *_ = bay.run("audit", job).output.splitlines()
    assert record.startswith(f"job {job}: the record is") and lost == "! file of entry 4 (gauge.jpg) is missing"
    assert "! file of entry 4 (gauge.jpg) is missing" in bay.fine("job", "list")
    for paper in ("tag", "sheet"):
        bay.fine(paper, job, "-o", tmp_path / "paper.html")
        front = (tmp_path / "paper.html").read_text("utf-8").partition("What was done")[0]
        assert "gauge.jpg (entry 4) is MISSING." in front


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("J-9", "PHOTO", "--shows", "x"), "no job 'J-9'"),
        (("JOB", "none.jpg", "--shows", "x"), "none.jpg"),
        (("JOB", "PHOTO", "--shows", " "), "--shows"),
        (("JOB", "PHOTO", "--shows", "x", "--entry", "0"), "not of job"),
    ],
)
def test_what_cannot_be_kept_is_refused_by_name(
    bay: Bay, job: str, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    photo = tmp_path / "gauge.jpg"
    photo.write_bytes(b"photo")
    result = bay.run("attach", *({"JOB": job, "PHOTO": str(photo)}.get(word, word) for word in words))
    assert result.exit_code == 2 and said in str(result.exception)
    assert bay.entries(kind="attachment") == []


def test_a_corrected_amount_is_kept_as_a_number_with_a_point(bay: Bay, job: str) -> None:
    bay.fine("amend", 2, "--reason", "a slipped digit", "--set", "amount.value=2,1", "--set", "nipple=rear-left")
    (made,) = bay.entries(kind="amendment")
    assert made.body["instead"] == {"amount": {"unit": "bar", "value": "2.1"}, "nipple": "rear-left"}


def test_what_is_corrected_while_its_job_is_worked_on_says_that_it_counts_once_the_job_goes_on_anew(
    bay: Bay, job: str
) -> None:
    words = ("amend", 2, "--reason", "misread", "--set")
    with locks.Lock(locks.path_of(bay.shop.journal_path), "job run", SystemClock(), job):
        assert "leave it (q) and go on with it anew" in bay.fine(*words, "amount.value=2.1")
    assert "anew" not in bay.fine(*words, "amount.value=2.2")
    assert [one.amount.value for _, one in state_of(bay.shop, job).readings] == ["2.2"]


def test_job_show_names_who_did_a_step_and_who_entered_it_where_they_are_two(bay: Bay, job: str) -> None:
    body = bodies.to_body(bodies.StepDone(step="make-safe", act="done", affects="made-safe"))
    with bay.shop.write() as journal:
        journal.append(Draft("step", job, "person:t-badger", "person:t-otter", body=body))
        journal.append(Draft("step", job, "person:t-otter", body=body))
    two, one = (line for line in bay.fine("job", "show", job).splitlines() if "make safe: done" in line)
    assert "t-badger" in two and two.endswith("[entered by t-otter]") and "entered by" not in one
