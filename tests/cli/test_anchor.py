"""What is given to `--anchor` and `--key`: each slip of the hand is named with its place and what to give instead."""

from __future__ import annotations

import codecs
from pathlib import Path

import pytest
from tests.cli.bay import Bay

from witnessmark.errors import InputError


@pytest.fixture
def file(bay: Bay, tmp_path: Path) -> Path:
    """The sealed evidence of a job."""
    words = bay.key()
    job = bay.open_job()
    path = tmp_path / "job.json"
    bay.fine("evidence", job, "-o", path, "--passphrase-file", words)
    return path


def note(bay: Bay) -> str:
    return str(bay.entries(kind="checkpoint")[0].body["note"])


def refused(bay: Bay, *words: object) -> InputError:
    """Return the error of a command that must end with one about what was given."""
    result = bay.run(*words)
    assert result.exit_code == 2 and isinstance(result.exception, InputError), (result.output, result.exception)
    return result.exception


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("41 9f3c9f3c9f3c9f3", "15 digits of the head are given: it has 64, of which at least 16 are needed"),
        ("41 " + "9f3c" * 17, "68 digits of the head are given"),
        ("41", "the count 41 without a head pins nothing"),
        ("9" * 64, "a head without the count before it"),
        ("41 9f3cO9f3c9f3c9f3c", "'O' in the head is not one of its digits"),
        ("0 " + "9f3c" * 16, "0 is no count of entries"),
        ("", "it is empty"),
        ("sheet.txt", "'sheet.txt' is no file here, and it is no anchor itself"),
        ("photos/the sheet", "is no file here"),
    ],
)
def test_a_slip_in_what_was_typed_is_named(bay: Bay, file: Path, given: str, said: str) -> None:
    error = refused(bay, "verify", file, "--anchor", given)
    assert error.place == "--anchor" and said in error.what and "COUNT HEAD" in error.hint


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "it is empty"),
        (b"\x00\xff\xfe\x80", "it is not text"),
        (b"41 9f3c", "4 digits of the head are given"),
        (b"bay1\n3\n", "it is not a signed note"),
    ],
)
def test_a_file_without_an_anchor_is_named_with_what_is_wrong_in_it(
    bay: Bay, file: Path, tmp_path: Path, data: bytes, said: str
) -> None:
    path = tmp_path / "held.txt"
    path.write_bytes(data)
    error = refused(bay, "verify", file, "--anchor", path)
    assert error.place == str(path) and said in error.what and "COUNT HEAD" in error.hint


def test_a_folder_is_no_anchor_and_no_key(bay: Bay, file: Path, tmp_path: Path) -> None:
    for option in ("--anchor", "--key"):
        error = refused(bay, "verify", file, option, tmp_path)
        assert (error.place, error.what) == (str(tmp_path), "that is a folder")


def test_byte_order_mark_line_ends_and_blank_lines_of_an_editor_do_not_matter(
    bay: Bay, file: Path, tmp_path: Path
) -> None:
    text = note(bay).replace("\n", "\r\n") + "\r\n"
    key = bay.fine("key", "show").replace("\n", "\r\n")
    for encoded in (codecs.BOM_UTF8 + text.encode(), text.encode("utf-16"), text.encode()):
        held, posted = tmp_path / "held.txt", tmp_path / "posted.txt"
        held.write_bytes(encoded)
        posted.write_bytes(codecs.BOM_UTF8 + key.encode())
        assert bay.fine("verify", file, "--anchor", held, "--key", posted).startswith("INTACT")
    assert bay.fine("verify", file, "--anchor", "\ufeff" + note(bay)).startswith("INTACT")


@pytest.mark.parametrize("given", ["posted.txt", "", "bay+0", "bay1+00000000+AQ=="])
def test_what_is_no_key_says_what_to_give(bay: Bay, file: Path, given: str) -> None:
    error = refused(bay, "verify", file, "--key", given)
    assert error.place == "--key" and "witnessmark key show" in error.hint


def test_a_key_with_a_letter_wrong_is_said_to_be_so(bay: Bay, file: Path) -> None:
    name, number, code = bay.fine("key", "show").splitlines()[0].split("+", 2)
    error = refused(bay, "verify", file, "--key", f"{name}x+{number}+{code}")
    assert "its id is not that of this name and key: a letter may be wrong" in error.what


def test_an_anchor_of_another_journal_is_said_to_be_one(bay: Bay, file: Path, tmp_path: Path) -> None:
    other = Bay(tmp_path / "bay2")
    other.fine("key", "new", "--origin", "bay2.depot.example", "--passphrase-file", words(tmp_path))
    other.open_job()
    held = tmp_path / "held.txt"
    held.write_text(other.fine("checkpoint", "--passphrase-file", words(tmp_path)), encoding="utf-8")
    result = bay.run("verify", file, "--anchor", held)
    assert result.exit_code == 1 and result.output.startswith("WRONG KEY: the anchor is of journal bay2.depot.example")
    assert "it belongs to another file" in result.output
    checked = bay.run("check", "--anchor", held)
    assert checked.exit_code == 1 and "the anchor is of journal bay2.depot.example" in checked.output


def words(folder: Path) -> Path:
    path = folder / "words"
    path.write_text("long words", encoding="utf-8")
    return path
