"""A job leaves a bay: it says so there, nothing more is done on it there, and the other bay knows whether it did."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.bay import MAP, PROCEDURE, Bay

from witnessmark.errors import InputError
from witnessmark.journal import moving
from witnessmark.journal.bodies import StepDone, to_body
from witnessmark.journal.entry import Draft


@pytest.fixture
def job(bay: Bay) -> str:
    return bay.open_job()


@pytest.fixture
def second(tmp_path: Path) -> Bay:
    return Bay(tmp_path / "bay2", "t-crane")


def test_a_move_is_an_entry_and_the_file_that_ends_with_it(bay: Bay, second: Bay, job: str, tmp_path: Path) -> None:
    words = bay.key()
    path = tmp_path / "moved.json"
    shown = bay.fine("job", "move", job, "--to", "bay2", "-o", path, "--passphrase-file", words)
    assert "goes to bay2: entry 3" in shown and "sealed with the shop key" in shown and "take-over moved.json" in shown
    assert json.loads(path.read_bytes())["entries"][-1]["body"] == {"to": "bay2"}
    taken = second.fine("job", "take-over", path)
    assert "It was handed over to bay2" in taken
    assert "does not know that it went" not in taken and second.entries(job, "moved")[0].body["marked"] is True
    assert "goes to bay2" in second.fine("job", "show", job)
    assert "it went to bay2" not in second.fine("sheet", job, "--json")


def test_nothing_more_is_done_on_it_in_the_bay_that_it_left(bay: Bay, job: str, tmp_path: Path) -> None:
    bay.fine("job", "move", job, "--to", "bay2", "-o", tmp_path / "e.json")
    before = len(bay.entries())
    for words in (
        ("job", "enter", job),
        ("job", "close", job, "--unsealed"),
        ("job", "abandon", job, "--why", "x", "--unsealed"),
        ("job", "release", job, "--unsealed"),
    ):
        refused = bay.run(*words)
        assert refused.exit_code == 3 and f"job {job} went to bay2 (entry 2)" in str(refused.exception), words
        assert f"witnessmark job move {job} --back" in refused.exception.hint  # type: ignore[union-attr]
    assert len(bay.entries()) == before
    assert "NOT RELEASED, went to bay2" in bay.fine("job", "list")
    assert "it went to bay2, and goes on there" in bay.fine("sheet", job, "--json")


def test_one_that_did_not_go_after_all_goes_on(bay: Bay, job: str, tmp_path: Path) -> None:
    bay.fine("job", "move", job, "--to", "bay2", "-o", tmp_path / "e.json")
    again = bay.run("job", "move", job, "--to", "bay3", "-o", tmp_path / "e.json")
    assert again.exit_code == 3 and "went to bay2 (entry 2) already" in str(again.exception)
    bay.fine("job", "move", job, "--back")
    assert bay.run("job", "move", job, "--back").exit_code == 3
    bay.fine("job", "abandon", job, "--why", "x", "--unsealed")
    over = bay.run("job", "move", job, "--to", "bay2")
    assert over.exit_code == 2 and "abandoned already" in str(over.exception)


def test_a_bay_that_was_not_told_is_named_by_the_one_that_took_the_job(
    bay: Bay, second: Bay, job: str, tmp_path: Path
) -> None:
    path = tmp_path / "e.json"
    bay.fine("evidence", job, "-o", path)
    taken = second.fine("job", "take-over", path)
    assert "does not know that it went" in taken and f"witnessmark job move {job} --to BAY" in taken
    assert "that bay had not recorded that the job left it" in second.fine("job", "show", job)


@pytest.mark.parametrize(
    "words", [("--to", "the bay of Zoe"), ("--to", ""), (), ("--to", "bay2", "--back"), ("--to", "bay2", "--by", "a b")]
)
def test_what_is_no_bay_or_no_way_writes_nothing(bay: Bay, job: str, words: tuple[str, ...], tmp_path: Path) -> None:
    path = tmp_path / "e.json"
    assert bay.run("job", "move", job, *words, "-o", path).exit_code == 2
    assert not path.exists() and len(bay.entries()) == 2


def test_a_wrong_passphrase_moves_nothing(bay: Bay, job: str, tmp_path: Path) -> None:
    bay.key()
    wrong = bay.run("job", "move", job, "--to", "bay2", "-o", tmp_path / "e.json", typed="wrong\n")
    assert wrong.exit_code == 2 and isinstance(wrong.exception, InputError)
    assert not bay.entries(kind="handed-over")


def test_what_stands_open_is_named_in_both_bays_and_goes_only_as_it_stands(
    bay: Bay, second: Bay, job: str, tmp_path: Path
) -> None:
    opened = StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")
    fed = StepDone(step="feed-on", act="done", affects="pressurise")
    with bay.shop.write() as journal:
        journal.append_many([Draft("step", job, "person:t-otter", body=to_body(one)) for one in (fed, opened)])
    path, stands = tmp_path / "open.json", ("Nipple rear left is OPEN: close it.", "The feed's pressure is on.")
    refused = bay.run("job", "move", job, "--to", "bay2", "-o", path)
    assert refused.exit_code == 2 and all(one in str(refused.exception) for one in stands)
    assert "--as-it-stands" in refused.exception.hint and not path.exists()  # type: ignore[union-attr]
    assert not bay.entries(kind="handed-over")
    told = bay.fine("job", "move", job, "--to", "bay2", "--as-it-stands", "-o", path)
    taken = second.fine("job", "take-over", path)
    assert all(f"! {one}" in said for one in stands for said in (told, taken))
    gone = bay.run("job", "abandon", job, "--why", "x", "--unsealed")
    assert "As it went: The nipple rear left is OPEN under PRESSURE. The feed's pressure is on." in str(gone.exception)
    listed = second.fine("job", "list")
    assert (
        "! Nipple rear left was left OPEN when the job was paused: close it." in listed and f"! {stands[1]}" in listed
    )
    other = second.run(
        "job", "open", "--procedure", PROCEDURE, "--map", MAP, "--grade", "told", "--vehicle", "depot-14"
    )
    assert "STOP, before anything else: Job" in other.stderr


def test_a_record_goes_on_once_in_a_bay_whatever_it_is_called_there(
    bay: Bay, second: Bay, job: str, tmp_path: Path
) -> None:
    path, back = tmp_path / "e.json", tmp_path / "back.json"
    bay.fine("job", "move", job, "--to", "bay2", "-o", path)
    own = bay.run("job", "take-over", path, "--as", "J-9")
    assert own.exit_code == 2 and "of this very journal" in str(own.exception)
    assert "--back" in own.exception.hint  # type: ignore[union-attr]
    second.fine("job", "take-over", path)
    twice = second.run("job", "take-over", path, "--as", "J-9")
    assert twice.exit_code == 2 and f"it goes on here already, as job {job}" in str(twice.exception)
    second.fine("job", "move", job, "--to", "bay1", "-o", back)
    bay.fine("job", "take-over", back, "--earlier", path, "--as", "J-9")
    both = bay.run("job", "move", job, "--back")
    assert both.exit_code == 3 and "came back: it goes on here as job J-9" in str(both.exception)
    bay.fine("job", "move", "J-9", "--to", "bay2", "-o", tmp_path / "again.json")
    gone = bay.run("job", "move", job, "--back")
    assert gone.exit_code == 3 and "came back as job J-9, and went again" in str(gone.exception)
    older = bay.run("job", "take-over", back, "--earlier", path, "--as", "J-8")
    assert older.exit_code == 0, "nothing of that record goes on here"
    second.fine("job", "take-over", tmp_path / "again.json", "--earlier", path, "--earlier", back, "--as", "J-7")
    second.fine("job", "move", "J-7", "--to", "bay1", "-o", tmp_path / "third.json")
    files = [word for one in (path, back, tmp_path / "again.json") for word in ("--earlier", one)]
    third = bay.run("job", "take-over", tmp_path / "third.json", *files, "--as", "J-6")
    assert third.exit_code == 2 and "it goes on here already, as job J-8" in str(third.exception)
    assert "witnessmark job move J-8 --to BAY" in third.exception.hint  # type: ignore[union-attr]
    newer = bay.run("job", "move", "J-9", "--back")
    assert newer.exit_code == 3 and "job J-9 came back: it goes on here as job J-8" in str(newer.exception)
    bay.fine("job", "abandon", "J-8", "--why", "x", "--unsealed")
    bay.fine("job", "move", "J-9", "--back")
    bay.fine("job", "abandon", "J-9", "--why", "x", "--unsealed")
    bay.fine("job", "move", job, "--back")


def test_a_record_does_not_come_back_to_the_bay_where_it_began_before_that_was_told_that_it_went(
    bay: Bay, second: Bay, job: str, tmp_path: Path
) -> None:
    path, back = tmp_path / "e.json", tmp_path / "back.json"
    bay.fine("evidence", job, "--unsealed", "-o", path)
    second.fine("job", "take-over", path)
    second.fine("job", "move", job, "--to", "bay1", "-o", back)
    words = ("job", "take-over", back, "--earlier", path, "--as", "J-9")
    refused = bay.run(*words)
    assert refused.exit_code == 2 and str(refused.exception).endswith(
        f"as job {job}, of which no entry says that it went"
    )
    assert f"witnessmark job move {job} --to BAY" in refused.exception.hint  # type: ignore[union-attr]
    with bay.shop.write() as journal:
        journal.append(Draft("note", job, "person:t-otter", body={}))
    more = bay.run(*words)
    assert "and has 1 entry here that did not go along" in str(more.exception) and not bay.entries(kind="moved")
    bay.fine("job", "move", job, "--to", "bay2", "-o", tmp_path / "told.json")
    bay.fine(*words)


def test_a_job_that_is_taken_up_again_keeps_what_came_of_it_from_coming_back(
    bay: Bay, second: Bay, job: str, tmp_path: Path
) -> None:
    """The job of this bay was not said to have gone, so it and what came back of it were both here."""
    path, back = tmp_path / "e.json", tmp_path / "back.json"
    bay.fine("evidence", job, "--unsealed", "-o", path)
    second.fine("job", "take-over", path)
    second.fine("job", "move", job, "--to", "bay1", "-o", back)
    with bay.shop.write() as journal:  # as a version did that did not ask whether this bay knew
        moving.take_over(journal, back, "person:t-otter", job="J-9", earlier=[path])
    bay.fine("job", "move", "J-9", "--to", "bay2", "-o", tmp_path / "again.json")
    both = bay.run("job", "move", "J-9", "--back")
    assert both.exit_code == 3 and f"the record of job J-9 goes on here as job {job}" in str(both.exception)
    bay.fine("job", "abandon", job, "--why", "x", "--unsealed")
    bay.fine("job", "move", "J-9", "--back")
