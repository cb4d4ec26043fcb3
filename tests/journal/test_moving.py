"""A job goes on in another bay's journal and cites where it comes from."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.journal.shop import Shop, open_shop, signing_key

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import attachment, moving, sealing
from witnessmark.journal.entry import Draft


@pytest.fixture
def exported(shop: Shop, tmp_path: Path) -> Path:
    note = sealing.seal_job(shop.journal, shop.key, "J-1", "person:lead", sheet=False, why="moved").note
    path = tmp_path / "J-1.evidence.json"
    path.write_bytes(sealing.evidence_of(shop.journal, "J-1", note))
    return path


@pytest.fixture
def other(tmp_path: Path) -> Shop:
    return open_shop(tmp_path, "bay2.journal", signing_key(2, "bay2.depot.example"), "bay2.depot.example")


def test_the_first_entry_cites_the_old_journal(shop: Shop, other: Shop, exported: Path) -> None:
    head = sealing.evidence.read(exported.read_bytes())
    entry = moving.take_over(other.journal, exported, "person:p2")
    assert (entry.kind, entry.job, entry.job_seq) == ("moved", "J-1", 0)
    assert (entry.body["count"], entry.body["origin"], entry.body["job"]) == (5, "bay1.depot.example", "J-1")
    assert entry.body["note"] == head.proof.checkpoint if head.proof else False
    other.journal.append(Draft("note", "J-1", "person:p2"))
    assert moving.earlier_evidence(other.journal, "J-1") == [exported.read_bytes()]
    other.journal.close()


def test_the_old_head_is_the_one_cited(shop: Shop, other: Shop, tmp_path: Path) -> None:
    path = tmp_path / "unsealed.json"
    path.write_bytes(sealing.unsealed_evidence(shop.journal, "J-2"))
    entry = moving.take_over(other.journal, path, "person:p2", job="J-77")
    assert entry.job == "J-77"
    assert entry.body["head"] == shop.journal.job_head("J-2").head.hex()
    assert (entry.body["note"], entry.body["origin"]) == (None, None)
    other.journal.close()


def test_a_file_that_went_missing_is_said(other: Shop, exported: Path) -> None:
    entry = moving.take_over(other.journal, exported, "person:p2")
    (attachment.folder_of(other.journal.path) / entry.body["evidence"]).unlink()
    with pytest.raises(JournalError, match="missing or changed"):
        moving.earlier_evidence(other.journal, "J-1")
    other.journal.close()


def test_what_cannot_be_taken_over_is_refused(shop: Shop, other: Shop, exported: Path, tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="already"):
        moving.take_over(shop.journal, exported, "person:p2")
    empty = tmp_path / "empty.json"
    empty.write_bytes(b'{"entries":[],"format":1,"proof":null}')
    with pytest.raises(InputError, match="no job"):
        moving.take_over(other.journal, empty, "person:p2")
    with pytest.raises(InputError, match="cannot be read"):
        moving.take_over(other.journal, tmp_path / "none", "person:p2")
    assert other.journal.size == 2
    assert moving.earlier_evidence(shop.journal, "J-1") == []
    other.journal.close()
