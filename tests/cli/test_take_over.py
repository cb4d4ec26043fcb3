"""A job goes on in another bay: the new journal cites the old, one sheet covers both."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import VIN, Bay

from witnessmark.journal.bodies import Amount, Inspection, Intent, Outcome, Reading, State, to_body
from witnessmark.journal.entry import Draft


def write(bay: Bay, job: str, value: str) -> None:
    body = Reading(what="feed-pressure", amount=Amount(value, "bar"))
    with bay.shop.write() as journal:
        journal.append(Draft("reading", job, "person:t-otter", body=to_body(body)))


@pytest.fixture
def moved(bay: Bay, tmp_path: Path) -> Path:
    """The sealed evidence of a job with a reading."""
    words = bay.key()
    job = bay.open_job("--vin", VIN, "--plate", "AB-12 X")
    write(bay, job, "2.1")
    path = tmp_path / f"{job}.evidence.json"
    bay.fine("evidence", job, "-o", path, "--passphrase-file", words)
    return path


@pytest.fixture
def second(tmp_path: Path) -> Bay:
    return Bay(tmp_path / "bay2", "t-crane")


def job_of(path: Path) -> str:
    return path.name.removesuffix(".evidence.json")


def test_the_job_goes_on_and_one_sheet_covers_both_bays(bay: Bay, second: Bay, moved: Path, tmp_path: Path) -> None:
    job = job_of(moved)
    words = second.key("other words")
    shown = second.fine("job", "take-over", moved, "--plate", "AB-12 X")
    assert "consistent, unanchored; 2 entries" in shown
    write(second, job, "2.2")
    (entry,) = second.entries(job, "moved")
    with bay.shop.read() as journal:
        assert entry.body["origin"] == journal.genesis().body["origin"]
    listed = second.fine("job", "show", job)
    assert "bay 1 of 2" in listed and "2.1 bar" in listed and "2.2 bar" in listed and "AB-12 X" in listed
    assert (
        f"\n{1000 + entry.seq:>5}  " in listed and "from 1000 on: take 1000 off for the number in its journal" in listed
    )
    assert "paused" in second.fine("job", "list")
    sheet = tmp_path / "sheet.html"
    second.fine("sheet", job, "-o", sheet, "--passphrase-file", words)
    text = sheet.read_text(encoding="utf-8")
    assert "2.1 bar" in text and "2.2 bar" in text and "went through 2 bays" in text
    assert "3 entries, head" in text and 'id="e2"' in text and f'id="e{1000 + entry.seq}"' in text
    assert second.fine("job", "list", "--vin", VIN).startswith(job) and second.fine("job", "list", "--plate", "ab12x")


def test_evidence_of_both_is_written_and_audited_together_elsewhere(second: Bay, moved: Path, tmp_path: Path) -> None:
    job = job_of(moved)
    second.fine("job", "take-over", moved)
    path = tmp_path / "both" / "here.json"
    path.parent.mkdir()
    shown = second.fine("evidence", job, "-o", path)
    before = path.with_name("here.earlier1.json")
    assert str(before) in shown and before.read_bytes() == moved.read_bytes()
    third = Bay(tmp_path / "nowhere")
    assert "the record is consistent" in third.run("audit", path, "--earlier", before).output
    third.fine("sheet", path, "--earlier", before, "-o", tmp_path / "s.html")
    assert "went through 2 bays" in (tmp_path / "s.html").read_text(encoding="utf-8")
    alone = third.run("audit", path)
    assert alone.exit_code == 2 and "--earlier" in alone.exception.hint  # type: ignore[union-attr]
    wrong = third.run("audit", before, "--earlier", path)
    assert wrong.exit_code == 2


def test_what_the_customer_holds_of_the_first_bay_is_held_against_the_file(second: Bay, moved: Path) -> None:
    wrong = second.run("job", "take-over", moved, "--anchor", "2 " + "0" * 64)
    assert wrong.exit_code == 2 and "altered" in str(wrong.exception) and not second.folder.exists()


def test_a_file_that_was_changed_is_refused(second: Bay, moved: Path) -> None:
    moved.write_bytes(moved.read_bytes().replace(b'"2.1"', b'"2.3"'))
    result = second.run("job", "take-over", moved)
    assert result.exit_code == 2 and "altered" in str(result.exception) and not second.folder.exists()


def test_a_file_with_an_entry_that_cannot_be_read_is_refused_and_the_entry_named(
    bay: Bay, second: Bay, tmp_path: Path
) -> None:
    job, path = bay.open_job("--vin", VIN), tmp_path / "odd.json"
    body = {**to_body(Outcome(actuation=1, pass_id="p1", result="stopped", stop="confirmed")), "duration_ns": "long"}
    with bay.shop.write() as journal:
        odd = journal.append(Draft("outcome", job, "machine:runner", body=body)).seq
    bay.fine("evidence", job, "-o", path, "--unsealed")
    result = second.run("job", "take-over", path)
    assert result.exit_code == 2 and f"odd.json entry {odd}: the record of job {job} cannot be" in str(result.exception)
    assert "duration_ns" in str(result.exception) and not second.shop.journal_path.exists()


def test_a_run_whose_end_nobody_knew_there_holds_the_job_here_until_somebody_has_looked(
    bay: Bay, second: Bay, moved: Path, tmp_path: Path
) -> None:
    job = job_of(moved)
    intent = Intent(
        pass_id="p1", nipples=("rear-left",), wire_command="pump-rear", seconds="8", start="3101", stop="3102",
        peer={"target": "7A0"},
    )  # fmt: skip
    with bay.shop.write() as journal:
        begun = journal.append(Draft("intent", job, "machine:runner", body=to_body(intent))).seq
    path = tmp_path / "open.json"
    bay.fine("evidence", job, "-o", path, "--unsealed")
    stripped = second.run("job", "take-over", path)
    assert stripped.exit_code == 2 and "the proof for the checkpoint" in str(stripped.exception)
    bay.fine("evidence", job, "-o", path, "--passphrase-file", bay.folder / "passphrase")
    shown = second.fine("job", "take-over", path)
    assert "TREAT IT AS RUNNING" in shown
    (here,) = second.entries(job, "moved")
    assert here.body["owed"] == begun
    refused = second.run("job", "close", job, "--unsealed")
    assert "an actuation has no known end and nobody has looked" in str(refused.exception)
    assert "no known end" in second.fine("sheet", job, "--json")
    again = tmp_path / "again.json"
    second.fine("evidence", job, "-o", again)
    third = Bay(tmp_path / "bay3")
    assert "TREAT IT AS RUNNING" in third.fine("job", "take-over", again, "--earlier", path, "--as", "J-3")
    (there,) = third.entries("J-3", "moved")
    assert there.body["owed"] == here.seq
    with third.shop.write() as journal:
        looked = Inspection(actuation=there.seq, pass_id="p1", said="at rest", safe=True)
        journal.append(Draft("inspection", "J-3", "person:t-crane", body=to_body(looked)))
    assert "no known end" not in str(third.run("job", "close", "J-3", "--unsealed").exception)
    assert "nobody recorded looking" not in third.fine("sheet", "J-3", "--json")


@pytest.mark.parametrize("ended", ["released", "abandoned"])
def test_a_job_that_has_ended_is_taken_over_by_nobody(bay: Bay, second: Bay, tmp_path: Path, ended: str) -> None:
    job, path = bay.open_job("--vin", VIN), tmp_path / "ended.json"
    with bay.shop.write() as journal:
        journal.append(Draft("state", job, "person:l-heron", body=to_body(State(state=ended))))  # type: ignore[arg-type]
    bay.fine("evidence", job, "-o", path, "--unsealed")
    result = second.run("job", "take-over", path)
    assert result.exit_code == 2 and f"the job is {ended} there" in str(result.exception)
    assert not second.shop.journal_path.exists()


def test_a_name_that_is_taken_is_refused_and_another_given(second: Bay, moved: Path) -> None:
    taken = second.open_job()
    assert taken == job_of(moved)
    assert second.run("job", "take-over", moved).exit_code == 3
    assert second.run("job", "take-over", moved, "--as", "bad name", "--plate", "AB").exit_code == 2
    second.fine("job", "take-over", moved, "--as", "J-7")
    assert [one.kind for one in second.entries("J-7")] == ["moved", "state"]


def test_a_job_that_moves_twice_is_read_from_its_beginning(second: Bay, moved: Path, tmp_path: Path) -> None:
    job = job_of(moved)
    second.fine("job", "take-over", moved)
    with second.shop.write() as journal:
        journal.append(Draft("state", job, "person:t-crane", body=to_body(State(state="open"))))
    path = tmp_path / "second.json"
    second.fine("evidence", job, "-o", path)
    third = Bay(tmp_path / "bay3")
    refused = third.run("job", "take-over", path)
    assert refused.exit_code == 2 and "--earlier" in refused.exception.hint  # type: ignore[union-attr]
    third.fine("job", "take-over", path, "--earlier", moved)
    assert "bay 3 of 3" in third.fine("job", "show", job)
    third.fine("sheet", job, "-o", tmp_path / "s.html")
    assert "went through 3 bays" in (tmp_path / "s.html").read_text(encoding="utf-8")
