"""What a customer holds of either bay is held against the files of a job that moved: no false alarm, nothing passed."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.cli.bay import Bay

from witnessmark.journal.checkpoint import parse_checkpoint, parse_note


@dataclass
class Moved:
    """The files of two bays, and a note that each printed for its customer."""

    first: Path
    second: Path
    old: str
    new: str

    def head(self, note: str) -> str:
        pin = parse_checkpoint(parse_note(note).text).job
        assert pin is not None
        return f"{pin.count} {pin.head}"


def key(bay: Bay, origin: str) -> Path:
    bay.folder.mkdir(exist_ok=True)
    words = bay.folder / "words"
    words.write_text("long words", encoding="utf-8")
    bay.fine("key", "new", "--origin", origin, "--passphrase-file", words)
    return words


@pytest.fixture
def moved(bay: Bay, tmp_path: Path) -> Moved:
    words = key(bay, "bay1.depot.example")
    job = bay.open_job()
    old = bay.fine("checkpoint", "--job", job, "--passphrase-file", words)
    first, second = tmp_path / "first.json", tmp_path / "second.json"
    bay.fine("job", "move", job, "--to", "bay2", "-o", first, "--passphrase-file", words)
    there = Bay(tmp_path / "bay2", "t-crane")
    words = key(there, "bay2.depot.example")
    there.fine("job", "take-over", first)
    new = there.fine("checkpoint", "--job", job, "--passphrase-file", words)
    there.fine("evidence", job, "-o", second, "--passphrase-file", words)
    return Moved(first, second, old, new)


def test_a_sheet_of_the_old_bay_is_no_alarm_and_says_which_file_is_needed(bay: Bay, moved: Moved) -> None:
    for given in (moved.old, moved.head(moved.old)):
        result = bay.run("verify", moved.second, "--anchor", given)
        assert result.exit_code == 1 and result.output.startswith("INCOMPLETE"), result.output
        assert "the bay before" in result.output and "--earlier" in result.output
    assert bay.fine("verify", moved.second, "--anchor", moved.new).startswith("INTACT")


def test_of_files_of_which_one_is_signed_the_whole_is_not_said_to_be(bay: Bay, moved: Moved, tmp_path: Path) -> None:
    there, unsigned = Bay(tmp_path / "bay3", "t-crane"), tmp_path / "unsigned.json"
    there.fine("job", "take-over", moved.first, "--as", "J-3")
    there.fine("evidence", "J-3", "-o", unsigned, "--unsealed")
    first, *rest = bay.fine("verify", unsigned, "--earlier", moved.first).splitlines()
    assert first.startswith("CONSISTENT, UNANCHORED: each file agrees with itself") and "signed it" not in first
    assert sum("signed it" in one for one in rest) == sum("nothing in it is signed" in one for one in rest) == 1


def test_count_and_head_are_those_that_the_papers_carry_each_by_its_bay(bay: Bay, moved: Moved) -> None:
    shown = bay.fine("verify", moved.second, "--earlier", moved.first)
    first, second = (bay.fine("verify", one).splitlines()[-1].partition(", ")[2] for one in (moved.first, moved.second))
    every = sum(int(one.partition(" ")[0]) for one in (first, second))
    assert first != second
    assert [one.strip() for one in shown.splitlines() if "its own record" in one] == [
        f"its own record: {first}", f"its own record: {second}"
    ]  # fmt: skip
    assert shown.splitlines()[-1].endswith(f", {second} (the last bay's record; {every} entries in all bays)")
    told = json.loads(bay.fine("verify", moved.second, "--earlier", moved.first, "--json"))
    assert (told["count"], told["head"]) == (told["parts"][-1]["count"], told["parts"][-1]["head"])


def test_the_key_that_somebody_holds_is_said_to_have_signed_it(bay: Bay, moved: Moved, tmp_path: Path) -> None:
    public = tmp_path / "key.pub"
    public.write_text(bay.fine("key", "show"), encoding="utf-8")
    assert "the key that it names signed it" in bay.fine("verify", moved.first)
    assert "the key that you gave signed it" in bay.fine("verify", moved.first, "--key", public)


def test_the_head_that_the_first_entry_cites_is_found_there(bay: Bay, moved: Moved) -> None:
    note = parse_note(str(bay.entries(kind="checkpoint")[-1].body["note"]))
    for given in (str(note), moved.head(str(note))):
        shown = bay.fine("verify", moved.second, "--anchor", given)
        assert shown.startswith("CONSISTENT, UNANCHORED") and "pins exactly the 3 entries there" in shown


def test_with_the_file_of_the_old_bay_its_anchor_is_held_against_that(bay: Bay, moved: Moved) -> None:
    for given in (moved.old, moved.head(moved.old)):
        shown = bay.fine("verify", moved.second, "--earlier", moved.first, "--anchor", given)
        assert shown.startswith("CONSISTENT, UNANCHORED")
        assert "bay 1, first.json of bay1.depot.example: intact: nothing that the" in shown
        assert "bay 2, second.json of bay2.depot.example: consistent, unanchored" in shown


def test_an_anchor_of_the_new_bay_pins_the_old_ones_file_too(bay: Bay, moved: Moved) -> None:
    posted = bay.fine("key", "show").splitlines()[0]
    for more in ((), ("--key", posted)):
        shown = bay.fine("verify", moved.second, "--earlier", moved.first, "--anchor", moved.new, *more)
        assert shown.startswith("INTACT") and "bay 1, first.json of bay1.depot.example: intact: all of it" in shown


def test_what_was_changed_at_either_bay_or_put_in_its_place_is_found(bay: Bay, moved: Moved, tmp_path: Path) -> None:
    other = bay.open_job()
    swapped = tmp_path / "other.json"
    bay.fine("evidence", other, "-o", swapped, "--unsealed")
    wrong = bay.run("verify", moved.second, "--earlier", swapped)
    assert wrong.exit_code == 2 and "it goes on from another file" in str(wrong.exception)
    typed = "2 " + "0" * 64
    altered = bay.run("verify", moved.second, "--earlier", moved.first, "--anchor", typed)
    assert altered.exit_code == 1 and altered.output.startswith("ALTERED")
    moved.second.write_bytes(moved.second.read_bytes().replace(b'"paused"', b'"opened"'))
    for more in ((), ("--anchor", moved.old), ("--anchor", moved.new)):
        result = bay.run("verify", moved.second, "--earlier", moved.first, *more)
        assert result.exit_code == 1 and result.output.startswith("ALTERED"), more
