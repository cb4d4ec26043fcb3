"""Each tampered file gets the verdict written beside its name, from the verifier and from the independent one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.journal import independent_verifier
from tests.tampered.kinds import KINDS
from tests.tampered.make import made
from witnessmark.audit.verify import verify
from witnessmark.journal.checkpoint import parse_anchor

HERE = Path(__file__).parent
EXPECTED: dict[str, dict[str, Any]] = json.loads((HERE / "expected.json").read_text(encoding="utf-8"))
"""By kind: the verdict without an anchor (`alone`), with the sheet from the middle of the job, and with its last; and
the entry that the first stumbles on."""

ANCHORS = {"sheet": "sheet.txt", "last": "last.txt"}


def stored(name: str) -> bytes:
    return (HERE / "files" / f"{name}.evidence.json").read_bytes()


def anchor_text(name: str) -> str:
    return (HERE / "files" / ANCHORS[name]).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", EXPECTED)
def test_the_verdict_without_an_anchor(name: str) -> None:
    found = verify(stored(name))
    assert (found.verdict, found.seq) == (EXPECTED[name]["alone"], EXPECTED[name]["entry"])


@pytest.mark.parametrize("name", EXPECTED)
@pytest.mark.parametrize("anchor", ANCHORS)
def test_the_verdict_against_an_anchor(name: str, anchor: str) -> None:
    found = verify(stored(name), parse_anchor(anchor_text(anchor)))
    assert found.verdict == EXPECTED[name][anchor]
    unshown_before = EXPECTED[name]["alone"] in ("consistent, unanchored", "incomplete")
    assert not found.anchor_only or unshown_before
    assert found.anchor_only or found.verdict in ("intact", EXPECTED[name]["alone"])


@pytest.mark.parametrize("name", EXPECTED)
def test_the_independent_verifier_says_the_same(name: str) -> None:
    assert independent_verifier.verify(stored(name)) == EXPECTED[name]["alone"]
    for anchor in ANCHORS:
        assert independent_verifier.verify(stored(name), anchor_text(anchor)) == EXPECTED[name][anchor]


@pytest.mark.parametrize("number", [b"1.0", b"1e0", b"NaN", b"-Infinity", b"9007199254740992"])
def test_a_number_that_no_journal_writes_is_altered_to_both(number: bytes) -> None:
    data = stored("nothing_done").replace(b'"number":0', b'"number":' + number, 1)
    assert independent_verifier.verify(data) == verify(data).verdict == "altered"


def test_the_files_are_those_that_the_kinds_make() -> None:
    files = made()
    assert {path.name for path in (HERE / "files").iterdir()} == set(files)
    for name, data in files.items():
        assert (HERE / "files" / name).read_bytes() == data, name


def test_every_kind_has_its_expected_verdict() -> None:
    assert set(EXPECTED) == set(KINDS)
    assert len(KINDS) >= 24


def test_only_what_leaves_the_anchored_entries_alone_is_ever_intact() -> None:
    harmless = {"nothing_done", "proof_removed"}
    after_the_sheet = {
        "last_entries_dropped_under_a_checkpoint_without_count",
        "journal_taken_back_to_the_sheet_and_written_on_otherwise",
    }
    assert {name for name, row in EXPECTED.items() if row["last"] == "intact"} == harmless
    assert {name for name, row in EXPECTED.items() if row["sheet"] == "intact"} == harmless | after_the_sheet
