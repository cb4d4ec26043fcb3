"""A lost end is accepted by name and written down; anything worse is not."""

from __future__ import annotations

import pytest
from tests.journal.shop import Shop

from witnessmark.errors import JournalError
from witnessmark.journal import head, lock, mending
from witnessmark.journal.check import check
from witnessmark.journal.store import Journal


def lose_the_end(shop: Shop) -> None:
    shop.journal.connection.execute("DROP TRIGGER entries_are_never_deleted")
    shop.journal.connection.execute("DELETE FROM entries WHERE seq >= 10")
    shop.journal.close()


def test_a_lost_end_is_accepted_and_the_journal_goes_on(shop: Shop) -> None:
    noted = shop.journal.head()
    lose_the_end(shop)
    with pytest.raises(JournalError, match="12 entries were acknowledged"):
        Journal.open(shop.journal.path, shop.clock, write=True)
    entry = mending.accept_loss(shop.journal.path, shop.clock, "person:lead", "the disk failed")
    assert (entry.seq, entry.done_by) == (10, "person:lead")
    assert entry.body["noted"] == {"root": noted.root.hex(), "size": 12}
    assert entry.body["left"]["size"] == 10
    assert check(shop.journal.path, shop.clock).damage == ()


def test_a_head_file_that_is_gone_is_made_anew(shop: Shop) -> None:
    shop.journal.close()
    head.path_of(shop.journal.path).unlink()
    entry = mending.accept_loss(shop.journal.path, shop.clock, "person:lead", "deleted by mistake")
    assert entry.body["noted"] is None
    with Journal.open(shop.journal.path, shop.clock, write=True) as again:
        assert head.read(head.path_of(again.path)) == again.head()


def test_what_is_not_a_lost_end_is_refused(shop: Shop) -> None:
    path = shop.journal.path
    with pytest.raises(JournalError, match="nothing is lost"):
        mending.accept_loss(path, shop.clock, "person:lead", "x")
    with lock.Lock(lock.path_of(path), "job run", shop.clock), pytest.raises(JournalError, match="in use by job run"):
        mending.accept_loss(path, shop.clock, "person:lead", "x")
    shop.journal.connection.execute("DROP TRIGGER entries_are_never_changed")
    shop.journal.connection.execute("UPDATE entries SET text = replace(text, ',\"job\"', ', \"job\"') WHERE seq = 3")
    with pytest.raises(JournalError, match="more than the end"):
        mending.accept_loss(path, shop.clock, "person:lead", "x")
