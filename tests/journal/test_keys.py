"""The shop's key: encrypted on disk, named in the journal, replaced only with the old one's word."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from witnessmark.clock import ManualClock
from witnessmark.errors import InputError, JournalError
from witnessmark.journal import checkpoint, keys
from witnessmark.journal.store import Journal


@pytest.fixture(autouse=True)
def cheap_scrypt(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(keys.SCRYPT, "n", 2)


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal.create(tmp_path / "bay.journal", "bay1.depot.example", ManualClock()) as made:
        yield made


def test_a_new_key_is_an_entry_and_signs(journal: Journal) -> None:
    assert keys.current(journal) is None
    entry = keys.create(journal, "open sesame", "person:lead")
    key = keys.load(journal, "open sesame")
    assert entry.kind == "key"
    assert entry.body == {"key": str(key.public), "passphrase": True}
    assert key.public.name == "bay1.depot.example"
    assert checkpoint.signed_by(checkpoint.sign("text\n", key), key.public) is True


def test_the_wrong_passphrase_is_said(journal: Journal) -> None:
    keys.create(journal, "open sesame", "person:lead")
    with pytest.raises(InputError, match="passphrase is wrong"):
        keys.load(journal, "open barley")


def test_the_private_key_is_nowhere_in_the_clear(journal: Journal) -> None:
    keys.create(journal, "", "person:lead")
    private = keys.load(journal, "")._private.private_bytes_raw()
    for file in journal.path.parent.iterdir():
        data = file.read_bytes()
        assert private not in data
        assert private.hex().encode() not in data
    assert os.stat(keys.path_of(journal.path)).st_mode & 0o077 == 0


def test_a_journal_has_one_first_key(journal: Journal) -> None:
    with pytest.raises(JournalError, match="no key"):
        keys.load(journal, "")
    keys.create(journal, "a", "person:lead")
    with pytest.raises(JournalError, match="already"):
        keys.create(journal, "b", "person:lead")


def test_a_new_key_is_vouched_for_by_the_old_one(journal: Journal) -> None:
    keys.create(journal, "a", "person:lead")
    old = keys.load(journal, "a")
    entry = keys.replace(journal, old, "b", "person:lead")
    new = keys.load(journal, "b")
    note = checkpoint.parse_note(entry.body["vouched"])
    assert new.public != old.public
    assert note.text == checkpoint.vouching_text(new.public)
    assert checkpoint.signed_by(note, old.public) is True
    with pytest.raises(JournalError, match="not the journal's key"):
        keys.replace(journal, old, "c", "person:lead")


def test_a_crash_while_replacing_leaves_a_key_that_works(journal: Journal, monkeypatch: pytest.MonkeyPatch) -> None:
    keys.create(journal, "a", "person:lead")
    old = keys.load(journal, "a")

    def power_cut(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(Journal, "append", power_cut)
        with pytest.raises(KeyboardInterrupt):
            keys.replace(journal, old, "b", "person:lead")
    assert keys.load(journal, "a").public == old.public

    with monkeypatch.context() as patch:
        patch.setattr("os.replace", power_cut)
        with pytest.raises(KeyboardInterrupt):
            keys.replace(journal, old, "b", "person:lead")
    assert keys.load(journal, "b").public == keys.current(journal)
    assert keys.load(journal, "b").public != old.public


def test_a_key_file_that_is_gone_or_damaged_is_said(journal: Journal) -> None:
    keys.create(journal, "a", "person:lead")
    path = keys.path_of(journal.path)
    whole = path.read_bytes()
    for spoiled in (
        b"{",
        b'{"format":2}',
        whole.replace(b'"nonce":"', b'"nonce":"x'),
        whole.replace(b"sealed", b"saeled"),
    ):
        path.write_bytes(spoiled)
        with pytest.raises(JournalError):
            keys.load(journal, "a")
    path.unlink()
    with pytest.raises(JournalError, match="gone"):
        keys.load(journal, "a")
