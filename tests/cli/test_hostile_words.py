"""What a hostile or hurried person types or hands over is refused by place and hint, never by a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay

from witnessmark.errors import WitnessmarkError

HUGE = "9" * 25


@pytest.fixture
def job(bay: Bay) -> str:
    return bay.open_job()


@pytest.mark.parametrize(
    "words",
    [
        ("amend", HUGE, "--reason", "x", "--set", "scope=y"),
        ("amend", "1", "--reason", "x", "--set", "plan=" + "[" * 3000),
        ("amend", "1", "--reason", "x", "--set", "procedure=1e999"),
        ("amend", "1", "--reason", "x", "--set", "scope=\ud800"),
        ("attach", "JOB", "FILE", "--shows", "x", "--entry", HUGE),
        ("attach", "JOB", "FILE", "--shows", "\ud800"),
        ("restore", "SHOP"),
        ("verify", "FILE"),
    ],
)
def test_it_is_refused_in_words(bay: Bay, job: str, tmp_path: Path, words: tuple[str, ...]) -> None:
    file = tmp_path / "deep"
    file.write_bytes(b"[" * 100_000)
    meant = {"JOB": job, "FILE": str(file), "SHOP": str(bay.folder)}
    before = len(bay.entries())
    result = bay.run(*(meant.get(word, word) for word in words))
    assert result.exit_code == 2 and isinstance(result.exception, WitnessmarkError) and result.exception.hint
    assert len(result.exception.hint) < 200 and len(bay.entries()) == before


def test_a_format_of_five_thousand_digits_is_no_traceback(bay: Bay, job: str, tmp_path: Path) -> None:
    path = tmp_path / "e.json"
    bay.fine("evidence", job, "-o", path)
    path.write_bytes(path.read_bytes().replace(b'"format":1,"proof"', b'"format":' + b"9" * 5000 + b',"proof"'))
    result = bay.run("verify", path)
    assert result.exit_code == 1 and result.output.startswith("END DAMAGED")


def test_no_file_is_made_for_an_anchor_of_another_journal(bay: Bay, job: str, tmp_path: Path) -> None:
    words = bay.key()
    other = Bay(tmp_path / "bay2")
    other.open_job()
    theirs = other.run("checkpoint", "--passphrase-file", other.key("their words")).stdout
    path = tmp_path / "e.json"
    result = bay.run("evidence", job, "--anchor", theirs, "-o", path, "--passphrase-file", words)
    assert result.exit_code == 2 and "not of this journal" in str(result.exception) and not path.exists()
