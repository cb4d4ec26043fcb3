"""`witnessmark key` and `checkpoint`, as a lead uses them."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay

from witnessmark.host.roster import PEOPLE
from witnessmark.journal import checkpoint as checkpoints
from witnessmark.people.register import read


def test_a_new_key_is_asked_for_twice_and_its_line_to_post_is_printed(bay: Bay) -> None:
    shown = bay.fine("key", "new", "--origin", "bay1.depot.example", typed="long words\nlong words\n")
    line = next(row.strip() for row in shown.splitlines() if row.startswith("  bay1.depot.example+"))
    assert checkpoints.parse_key(line).name == "bay1.depot.example"
    assert line in bay.fine("key", "show") and "in use since" in bay.fine("key", "show")
    assert "long words" not in shown
    assert b"long words" not in b"".join(path.read_bytes() for path in bay.folder.iterdir() if path.is_file())


def test_a_passphrase_that_is_not_the_same_twice_is_asked_again(bay: Bay) -> None:
    result = bay.run("key", "new", typed="long words\nlong wards\nlong words\nlong words\n")
    assert result.exit_code == 0 and "do not match" in result.stderr


def test_a_key_that_was_not_made_leaves_no_journal_behind(bay: Bay) -> None:
    assert bay.run("key", "new", "--origin", "bay1.depot.example", typed="long words\n").exit_code != 0
    assert not bay.folder.exists()
    done = bay.process("key", "new")
    assert done.returncode == 130 and "Traceback" not in done.stderr
    assert bay.run("key", "new", "--origin", "bay one", typed="w\nw\n").exit_code == 2


def test_a_second_key_is_refused_before_anything_is_asked(bay: Bay) -> None:
    bay.key()
    result = bay.run("key", "new")
    assert result.exit_code == 3
    assert "has a key already" in str(result.exception) and "passphrase" not in result.output.lower()


def test_a_replaced_key_vouches_for_the_new_one(bay: Bay) -> None:
    old = bay.key()
    new = bay.folder / "new"
    new.write_text("other words", encoding="utf-8")
    bay.fine("key", "replace", "--passphrase-file", old, "--new-passphrase-file", new)
    shown = bay.fine("key", "show")
    assert shown.count("+") >= 2 and "replaced since" in shown and "vouched for by the one before" in shown
    assert bay.run("checkpoint", "--passphrase-file", old).exit_code == 2
    assert bay.fine("checkpoint", "--passphrase-file", new)


def test_only_a_lead_makes_or_replaces_the_key_where_there_are_pins(bay: Bay) -> None:
    bay.key()
    read(bay.folder / PEOPLE, 2**4).add("l-heron", "lead", "4711").add("t-otter", "technician", "0815").write()
    result = bay.run("key", "replace", typed="0815\n")
    assert result.exit_code == 2 and "only a shop lead" in str(result.exception)
    assert len(bay.entries(kind="key")) == 1


def test_a_checkpoint_is_printed_to_copy_and_is_an_entry(bay: Bay) -> None:
    words = bay.key()
    shown = bay.fine("checkpoint", "--why", "shop close", "--passphrase-file", words)
    note = checkpoints.parse_note(shown)
    (entry,) = bay.entries(kind="checkpoint")
    assert (entry.body["note"], entry.body["why"]) == (shown, "shop close")
    assert checkpoints.parse_checkpoint(note.text).size == entry.seq
    (named,) = bay.entries(kind="key")
    assert checkpoints.signed_by(note, checkpoints.parse_key(named.body["key"])) is True


def test_a_checkpoint_of_a_job_pins_its_count_and_head(bay: Bay) -> None:
    job, words = bay.open_job(), bay.key()
    shown = bay.fine("checkpoint", "--job", job, "--why", "job closed", "--passphrase-file", words)
    pin = checkpoints.parse_checkpoint(checkpoints.parse_note(shown).text).job
    assert pin is not None and (pin.job, pin.count) == (job, 1)
    assert bay.run("checkpoint", "--job", "J-9", "--passphrase-file", words).exit_code == 2


@pytest.mark.parametrize("words", [("checkpoint",), ("key", "show"), ("key", "replace")])
def test_without_a_key_each_says_how_to_make_one(bay: Bay, words: tuple[str, ...]) -> None:
    bay.open_job()
    result = bay.run(*words, typed="x\n")
    assert result.exit_code == 3 and "key new" in result.exception.hint  # type: ignore[union-attr]


@pytest.mark.parametrize("text", ["", "\n"])
def test_a_passphrase_file_that_cannot_be_used_is_named(bay: Bay, text: str, tmp_path: Path) -> None:
    path = tmp_path / "words"
    path.write_text(text, encoding="utf-8")
    for one in (path, tmp_path / "none"):
        result = bay.run("key", "new", "--passphrase-file", one)
        assert result.exit_code == 2 and str(one) in str(result.exception)
    assert not (bay.folder / "journal.db.key").exists()


def test_nobody_signs_whom_the_shop_does_not_know(bay: Bay) -> None:
    words = bay.key()
    (bay.folder / "pin").write_text("4711", encoding="utf-8")
    bay.fine("person", "add", "lead-1", "--role", "lead", "--new-pin-file", bay.folder / "pin")
    refused = bay.run("checkpoint", "--by", "nobody", "--passphrase-file", words)
    assert refused.exit_code == 2 and "nobody here is called 'nobody'" in str(refused.exception)
    assert bay.entries(kind="checkpoint") == []
    assert bay.fine("checkpoint", "--by", "lead-1", "--passphrase-file", words)


def test_the_whole_of_it_as_processes(bay: Bay, tmp_path: Path) -> None:
    words = tmp_path / "words"
    words.write_text("long words\n", encoding="utf-8")
    made = bay.process("key", "new", "--passphrase-file", words)
    assert (made.returncode, made.stderr) == (0, "")
    signed = bay.process("checkpoint", "--passphrase-file", words)
    assert signed.returncode == 0 and checkpoints.parse_note(signed.stdout)
    words.write_text("wrong words\n", encoding="utf-8")
    wrong = bay.process("checkpoint", "--passphrase-file", words)
    assert wrong.returncode == 2 and "passphrase is wrong" in wrong.stderr and "Traceback" not in wrong.stderr


def test_a_lost_key_is_followed_by_one_that_stands_for_itself_and_old_jobs_can_be_shown(bay: Bay) -> None:
    job, words = bay.open_job(), bay.key()
    bay.fine("sheet", job, "-o", bay.folder / "sheet.html", "--passphrase-file", words)
    (bay.folder / "journal.db.key").unlink()
    refused = bay.run("checkpoint", "--passphrase-file", words)
    assert refused.exit_code == 3 and "key new" in refused.exception.hint  # type: ignore[union-attr]
    made = bay.fine("key", "new", "--passphrase-file", words)
    assert "nothing vouches for this one" in made
    assert bay.fine("key", "show").count("stands for itself") == 2
    assert bay.fine("checkpoint", "--passphrase-file", words)
    assert bay.fine("check").startswith("CONSISTENT")
    bay.fine("evidence", job, "-o", bay.folder / "e.json", "--passphrase-file", words)
    assert "CONSISTENT" in bay.fine("verify", bay.folder / "e.json")
    assert bay.run("key", "new", "--passphrase-file", words).exit_code == 3
