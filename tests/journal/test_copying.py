"""A second copy is whole before it takes its name, and a longer history is never lost to a shorter one."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.journal.shop import Shop, open_shop

from witnessmark.errors import JournalError
from witnessmark.journal import attachment, copying, head, keys, lock
from witnessmark.journal.check import check
from witnessmark.journal.store import Journal


def test_a_copy_is_the_same_journal(shop: Shop, tmp_path: Path) -> None:
    photo = tmp_path / "photo"
    photo.write_bytes(b"photo")
    attachment.attach(shop.journal, "J-1", photo, "person:p1", shows="x")
    target = tmp_path / "second"
    result = copying.copy(shop.journal.path, target, shop.clock)
    assert (result.size, result.root) == (13, shop.journal.head().root)
    with Journal.open(target, shop.clock) as copied:
        assert list(copied.texts()) == list(shop.journal.texts())
        assert next(attachment.attached(copied)).state == "there"
    assert head.read(head.path_of(target)) == shop.journal.head()
    assert not keys.path_of(target).exists()
    assert not list(tmp_path.glob("second.new*"))


def test_copying_again_brings_the_copy_up(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "second"
    copying.copy(shop.journal.path, target, shop.clock)
    shop.work(3)
    assert copying.copy(shop.journal.path, target, shop.clock).size == 18
    assert check(target, shop.clock).verdict == "consistent, unanchored"


def test_a_copy_never_replaces_another_history(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "second"
    with open_shop(tmp_path, "second").journal as other:
        with pytest.raises(JournalError, match="another journal"):
            copying.copy(shop.journal.path, target, shop.clock)
        Shop(other, shop.clock, shop.key).work(20)
    with pytest.raises(JournalError, match="42 entries"):
        copying.copy(shop.journal.path, target, shop.clock)


def test_restoring_refuses_to_lose_entries(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "second"
    copying.copy(shop.journal.path, target, shop.clock)
    shop.work(2)
    shop.journal.close()
    with pytest.raises(JournalError, match="16 entries, the copy 12"):
        copying.restore(target, shop.journal.path, shop.clock, "person:lead")
    shop.journal.path.write_bytes(b"ruined")
    with pytest.raises(JournalError, match="16 entries, the copy 12"):
        copying.restore(target, shop.journal.path, shop.clock, "person:lead")
    assert copying.restore(target, shop.journal.path, shop.clock, "person:lead", accept_shorter=True).size == 12
    with Journal.open(shop.journal.path, shop.clock, write=True) as restored:
        said = restored.entry(12)
        assert (said.kind, said.done_by) == ("note", "person:lead")
        assert (said.body["restored_from"], said.body["was"]["size"]) == (12, 16)
    assert shop.journal.path.with_name("bay.journal.before1").read_bytes() == b"ruined"
    assert head.read(head.path_of(shop.journal.path.with_name("bay.journal.before1"))).size == 16  # type: ignore[union-attr]


def test_restoring_where_nothing_is_left_and_where_a_prefix_is(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "second"
    copying.copy(shop.journal.path, target, shop.clock)
    fresh = tmp_path / "fresh"
    assert copying.restore(target, fresh, shop.clock, "person:lead").size == 12
    with Journal.open(fresh, shop.clock) as restored:
        assert restored.entry(12).body == {"restored_from": 12, "was": None}


def test_restoring_refuses_while_a_runner_has_the_journal(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "second"
    copying.copy(shop.journal.path, target, shop.clock)
    path = shop.journal.path
    with lock.Lock(lock.path_of(path), "job run", shop.clock), pytest.raises(JournalError, match="in use by job run"):
        copying.restore(target, path, shop.clock, "person:lead")


def test_a_damaged_journal_is_not_copied_over_a_good_copy(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "second"
    copying.copy(shop.journal.path, target, shop.clock)
    shop.work(1)
    shop.journal.connection.execute("DROP TRIGGER entries_are_never_changed")
    shop.journal.connection.execute("UPDATE entries SET text = replace(text, ',\"job\"', ', \"job\"') WHERE seq = 13")
    with pytest.raises(JournalError, match="copy is damaged: entry 13"):
        copying.copy(shop.journal.path, target, shop.clock)
    assert check(target, shop.clock).size == 12


def test_a_disk_that_is_not_there_is_said(shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="cannot be written"):
        copying.copy(shop.journal.path, tmp_path / "none" / "copy", shop.clock)
