"""What was typed wrong is said in words that lead on: what is wrong, where, and what to do now."""

from __future__ import annotations

import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from tests.cli.bay import PROCEDURE, Bay

from witnessmark.cli import main as cli
from witnessmark.errors import InputError, JournalError


def typed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    """Run the command line as a user does; return its exit code and what it said on standard error."""
    monkeypatch.setattr(sys, "argv", ["witnessmark", *map(str, words)])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    return int(str(ended.value.code)), capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "what", "do"),
    [
        (("audit",), "Missing argument 'JOB'", "witnessmark audit --help"),
        (("audit", "J", "--question", "x"), "Invalid value for '--question': 'x' is not", "witnessmark audit --help"),
        (("nothing",), "No such command 'nothing'", "witnessmark --help"),
        (("job", "list", "--nothing"), "No such option '--nothing'", "witnessmark job list --help"),
    ],
)
def test_words_that_are_no_command_lead_on(
    words: tuple[str, ...], what: str, do: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, said = typed(monkeypatch, capsys, *words)
    assert code == 2
    assert f"error: {what}" in said and f"  do:  read how it goes: {do}" in said


def test_a_question_without_an_answer_says_why_and_what_to_do(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def closed(**more: object) -> None:
        raise click.exceptions.Abort

    monkeypatch.setattr(cli.witnessmark, "main", closed)
    code, said = typed(monkeypatch, capsys, "key", "new")
    assert code == 130
    assert "error: ended without an answer" in said and "do:  run it again at a terminal" in said


def test_a_question_that_is_not_there_is_refused_with_those_that_are(bay: Bay) -> None:
    job = bay.open_job()
    refused = bay.run("audit", job, "--question", 99)
    assert isinstance(refused.exception, InputError)
    assert "there is no question 99" in str(refused.exception) and "1 to 37" in refused.exception.hint


def test_a_folder_is_not_called_a_file_that_is_missing(bay: Bay, tmp_path: Path) -> None:
    refused = bay.run("audit", tmp_path)
    assert isinstance(refused.exception, InputError) and "that is a folder" in str(refused.exception)


def test_a_job_that_is_not_there_leads_to_the_list(bay: Bay) -> None:
    bay.open_job()
    refused = bay.run("audit", "J-nobody")
    assert isinstance(refused.exception, InputError) and "witnessmark job list" in refused.exception.hint


def test_a_scope_without_its_nipples_is_refused_for_that(bay: Bay) -> None:
    words = ("job", "open", "--vehicle", "v", "--procedure", PROCEDURE, "--scope", "nipples")
    refused = bay.run(*words)
    assert isinstance(refused.exception, InputError)
    assert "'nipples' is not understood" in str(refused.exception) and "nipples ID,ID" in refused.exception.hint


def test_a_procedure_is_begun_nowhere_with_a_hint_that_can_be_followed(tmp_path: Path) -> None:
    refused = CliRunner().invoke(cli.witnessmark, ["procedure", "new", str(tmp_path / "no" / "x.toml")])
    assert isinstance(refused.exception, InputError) and "--output" not in refused.exception.hint


def test_a_copy_that_cannot_be_written_names_the_place(bay: Bay, tmp_path: Path) -> None:
    bay.open_job()
    (tmp_path / "there" / "journal.db.new").mkdir(parents=True)
    refused = bay.run("copy", tmp_path / "there")
    assert isinstance(refused.exception, JournalError | OSError)
    assert str(tmp_path / "there") in str(refused.exception)


@pytest.mark.parametrize(
    "command", [("job", "show"), ("job", "enter"), ("job", "close"), ("job", "abandon", "--why", "x")]
)
def test_a_file_in_place_of_a_job_is_told_what_is_expected_and_which_commands_read_files(
    bay: Bay, command: tuple[str, ...]
) -> None:
    bay.open_job()
    result = bay.run(*command[:2], "old/260331-1.evidence.json", *command[2:])
    error = result.exception
    assert isinstance(error, InputError) and "an id is expected here, such as 260331-1" in str(error)
    assert "witnessmark job list" in error.hint and "witnessmark audit FILE" in error.hint
    plain = bay.run("job", "show", "9-9").exception
    assert isinstance(plain, InputError) and plain.hint == "see `witnessmark job list`"
