"""A job is sealed as it is closed, abandoned or released: its checkpoint pins count and head."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.cli.bay import Bay

from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal.bodies import State, to_body
from witnessmark.journal.entry import Draft


@pytest.fixture
def job(bay: Bay) -> str:
    return bay.open_job()


def finish(bay: Bay, job: str) -> None:
    with bay.shop.write() as journal:
        journal.append(Draft("state", job, "person:t-otter", body=to_body(State(state="finished"))))


def release_words(bay: Bay, job: str) -> tuple[str, ...]:
    """Return the words that release a finished job of which nothing was done, all that is open accepted by number."""
    refused = bay.run("job", "release", job, "--why", "a test")
    assert "NOT RELEASED" in str(refused.exception), "what is open is listed before a passphrase is asked for"
    numbers = re.findall(r"^\s*(\d+) ", str(refused.exception), re.MULTILINE)
    return ("job", "release", job, "--why", "a test", "--accept", ",".join(numbers))


def pinned(bay: Bay, job: str, shown: str) -> int:
    """Return the count that the printed checkpoint pins, held against the entry that records it."""
    (entry,) = bay.entries(job, "checkpoint")
    assert entry.body["note"] in shown
    pin = checkpoints.parse_checkpoint(checkpoints.parse_note(entry.body["note"]).text).job
    assert pin is not None and pin.job == job
    return pin.count


def test_an_abandoned_job_is_sealed_with_its_last_entry(bay: Bay, job: str) -> None:
    words = bay.key()
    shown = bay.fine("job", "abandon", job, "--why", "the vehicle was sold", "--passphrase-file", words)
    assert pinned(bay, job, shown) == 2
    head = next(found for found in re.findall(r"2 entries, head ([0-9a-f]{64})", shown))
    path = bay.folder / "e.json"
    bay.fine("evidence", job, "-o", path, "--passphrase-file", words)
    assert bay.fine("verify", path, "--anchor", f"2 {head}").startswith("INTACT")
    assert bay.entries(job, "checkpoint")[0].body["why"] == "job abandoned"


def test_a_released_job_is_sealed_and_its_evidence_intact_against_what_was_printed(bay: Bay, job: str) -> None:
    words = bay.key()
    finish(bay, job)
    shown = bay.fine(*release_words(bay, job), "--passphrase-file", words)
    assert pinned(bay, job, shown) == 3
    path = bay.folder / "e.json"
    bay.fine("evidence", job, "-o", path, "--passphrase-file", words)
    assert bay.fine("verify", path, "--anchor", bay.entries(job, "checkpoint")[0].body["note"]).startswith("INTACT")


def test_a_wrong_passphrase_closes_nothing(bay: Bay, job: str, tmp_path: Path) -> None:
    bay.key()
    wrong = bay.run("job", "abandon", job, "--why", "x", typed="wrong words\n")
    assert wrong.exit_code == 2 and "passphrase is wrong" in str(wrong.exception)
    assert [one.kind for one in bay.entries(job)] == ["job-opened"]


def test_a_job_that_cannot_be_closed_is_not_sealed(bay: Bay, job: str) -> None:
    words = bay.key()
    assert bay.run("job", "close", job, "--passphrase-file", words).exit_code == 2
    assert [one.kind for one in bay.entries(job)] == ["job-opened"]


@pytest.mark.parametrize("with_key", [False, True])
def test_without_a_key_or_unsealed_a_job_ends_without_a_seal(bay: Bay, job: str, with_key: bool) -> None:
    if with_key:
        bay.key()
    bay.fine("job", "abandon", job, "--why", "x", *(["--unsealed"] if with_key else []))
    assert [one.kind for one in bay.entries(job)] == ["job-opened", "state"]


def test_without_a_seal_count_and_head_are_printed_and_hold(bay: Bay, job: str) -> None:
    shown = bay.fine("job", "abandon", job, "--why", "the vehicle was sold")
    (head,) = re.findall(r"not sealed; 2 entries, head ([0-9a-f]{64})", shown)
    path = bay.folder / "e.json"
    bay.fine("evidence", job, "-o", path)
    assert bay.fine("verify", path, "--anchor", f"2 {head}").startswith("INTACT")
