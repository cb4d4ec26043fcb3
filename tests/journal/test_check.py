"""A whole journal is read and each damage named; what stands before it can be exported."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from tests.journal.shop import Shop, open_shop, signing_key

from witnessmark.audit.verify import verify
from witnessmark.errors import InputError, JournalError
from witnessmark.journal import checkpoint, head, merkle, sealing
from witnessmark.journal.check import Check, check, rescue
from witnessmark.journal.checkpoint import Note
from witnessmark.journal.entry import Draft, LaterFormat
from witnessmark.journal.store import Journal
from witnessmark.journal.tables import VERSION, LaterTables


def seal(shop: Shop) -> Note:
    return sealing.seal(shop.journal, shop.key, "machine:shop", "shop close").note


def found(shop: Shop, anchor: Note | None = None) -> Check:
    shop.journal.close()
    return check(shop.journal.path, shop.clock, anchor)


def change(shop: Shop, statement: str) -> None:
    for guard in ("entries_are_never_changed", "entries_are_never_deleted"):
        shop.journal.connection.execute(f"DROP TRIGGER IF EXISTS {guard}")
    shop.journal.connection.execute(statement)


@pytest.mark.parametrize("more", [0, 120, 122, 250, 600])
def test_a_whole_journal_is_consistent_at_any_length(shop: Shop, more: int) -> None:
    shop.journal.append_many([Draft("note", f"J-{number % 5}", "person:p1") for number in range(more)])
    held = seal(shop)
    shop.work(3)
    head_now = shop.journal.head()
    result = found(shop)
    assert (result.verdict, result.damage) == ("consistent, unanchored", ())
    assert (result.size, result.root) == (head_now.size, head_now.root)
    anchored = check(shop.journal.path, shop.clock, held)
    assert (anchored.verdict, anchored.anchor_size) == ("intact", 12 + more)


@pytest.mark.parametrize(
    ("statement", "verdict", "seq"),
    [
        ("UPDATE entries SET text = replace(text, '\"n\":2', '\"n\":7') WHERE seq = 6", "altered", 6),
        ("UPDATE entries SET text = replace(text, ',\"job\"', ', \"job\"') WHERE seq = 6", "altered", 6),
        ("DELETE FROM entries WHERE seq = 6", "entries missing", 6),
        ("UPDATE entries SET text = 7 WHERE seq = 6", "altered", 6),
    ],
)
def test_a_changed_entry_is_named(shop: Shop, statement: str, verdict: str, seq: int) -> None:
    change(shop, statement)
    result = found(shop)
    assert (result.verdict, result.damage[0].seq) == (verdict, seq)
    assert result.size == seq


def test_a_lost_end_shows_against_the_head_file(shop: Shop) -> None:
    change(shop, "DELETE FROM entries WHERE seq = 11")
    result = found(shop)
    assert (result.verdict, result.damage[0].where) == ("end damaged", "head file")
    assert "12 entries were acknowledged, 11 are sound" in result.damage[0].text


def test_a_changed_last_entry_shows_against_the_head_file(shop: Shop) -> None:
    change(shop, "UPDATE entries SET text = replace(text, '\"n\":4', '\"n\":7') WHERE seq = 11")
    result = found(shop)
    assert (result.verdict, result.damage[0].where) == ("altered", "head file")


def test_a_head_file_that_is_gone_or_garbage_is_damage(shop: Shop) -> None:
    path = head.path_of(shop.journal.path)
    path.write_bytes(b"?" * 1024)
    assert found(shop).damage[0].where == "head file"
    path.unlink()
    assert found(shop).damage[0].verdict == "end damaged"


def test_a_kept_hash_that_is_not_the_entries_is_damage(shop: Shop) -> None:
    shop.journal.append_many([Draft("note", None, "person:p1")] * 600)
    shop.journal.connection.execute("UPDATE subtrees SET hash = zeroblob(32) WHERE level = 8 AND place = 1")
    result = found(shop)
    assert [(one.where, one.seq) for one in result.damage] == [("tree", 256)]


def test_an_index_that_hides_an_entry_is_damage(shop: Shop) -> None:
    connection = shop.journal.connection
    query = "SELECT sql FROM sqlite_schema WHERE name = 'entries_by_job'"
    (whole,) = connection.execute(query).fetchone()
    connection.execute("DROP INDEX entries_by_job")
    connection.execute(f"{whole} WHERE seq < 6")
    connection.execute("PRAGMA writable_schema=ON")
    connection.execute("UPDATE sqlite_schema SET sql = ? WHERE name = 'entries_by_job'", (whole,))
    result = found(shop)
    assert result.damage[0].where == "database"
    assert check(shop.journal.path, shop.clock, database=False).damage == ()


@pytest.mark.parametrize(
    "spoil",
    [
        lambda note: note.replace("bay1", "bay9"),
        lambda note: note.replace("\n12\n", "\n11\n"),
        lambda note: note.splitlines()[0],
        lambda note: str(checkpoint.sign(checkpoint.parse_note(note).text, signing_key(5))),
    ],
)
def test_a_recorded_checkpoint_that_does_not_hold_is_named(shop: Shop, spoil: Callable[[str], str]) -> None:
    note = str(seal(shop))
    shop.journal.append(Draft("checkpoint", None, "machine:shop", body={"note": spoil(note), "why": "x"}))
    result = found(shop)
    assert (result.damage[0].where, result.damage[0].seq) == ("checkpoint", 13)


def test_a_checkpoint_of_another_tree_is_named(shop: Shop) -> None:
    text = checkpoint.checkpoint_text(checkpoint.Checkpoint("bay1.depot.example", 5, bytes(32)))
    note = checkpoint.sign(text, shop.key)
    shop.journal.append(Draft("checkpoint", None, "machine:shop", body={"note": str(note), "why": "x"}))
    assert "signs another tree of size 5" in found(shop).damage[0].text


def test_anchors_that_do_not_fit(shop: Shop, tmp_path: Path) -> None:
    with open_shop(tmp_path, "other.journal").journal as other:
        twin = Shop(other, shop.clock, shop.key)
        twin.work(5)
        of_the_twin = seal(twin)
        twin.work(5)
        longer = seal(twin)
    with open_shop(tmp_path, "third.journal", signing_key(7)).journal as third:
        of_another_key = seal(Shop(third, shop.clock, signing_key(7)))
    assert found(shop, of_the_twin).verdict == "altered"
    assert found(shop, longer).verdict == "entries missing"
    assert found(shop, of_another_key).verdict == "wrong key"
    spoiled = checkpoint.parse_note(str(of_the_twin).replace("\n12\n", "\n13\n"))
    with pytest.raises(InputError, match="signature does not hold"):
        found(shop, spoiled)


def test_what_is_no_journal_is_damage_of_the_database(tmp_path: Path, shop: Shop) -> None:
    (tmp_path / "text").write_text("no journal " * 999)
    result = check(tmp_path / "text", shop.clock)
    assert (result.verdict, result.size, result.damage[0].where) == ("end damaged", 0, "database")


LATER = "UPDATE entries SET text = replace(text, '\"format\":1', '\"format\":2') WHERE seq = 11"


def test_an_entry_of_a_later_format_is_no_damage_where_it_was_acknowledged_so(shop: Shop) -> None:
    change(shop, LATER)
    edge = merkle.Range()
    for _, text in shop.journal.texts():
        edge.append(merkle.leaf_hash(text))
    path = head.path_of(shop.journal.path)
    path.unlink()
    file = head.HeadFile(path)
    file.write(head.slot(head.Head(edge.size, edge.root())), 0)
    file.close()
    with pytest.raises(LaterFormat):
        found(shop)


def test_a_format_that_damage_made_a_later_one_is_damage(shop: Shop) -> None:
    change(shop, LATER)
    result = found(shop)
    assert (result.verdict, result.size, result.damage[0].seq) == ("altered", 11, 11)
    assert "entry 11 says that its format is 2" in result.damage[0].text


def test_entries_before_the_damage_can_be_exported(shop: Shop) -> None:
    change(shop, "UPDATE entries SET text = replace(text, ',\"job\"', ', \"job\"') WHERE seq = 8")
    shop.journal.close()
    kept = verify(rescue(shop.journal.path, shop.clock, "J-1"))
    assert (kept.verdict, [entry.seq for entry in kept.entries]) == ("consistent, unanchored", [2, 4, 6])
    with pytest.raises(InputError, match="before the damage"):
        rescue(shop.journal.path, shop.clock, "J-9")
    (shop.journal.path).write_bytes(b"")
    with pytest.raises(JournalError):
        rescue(shop.journal.path, shop.clock, "J-1")


def test_tables_of_a_later_version_are_no_damage_and_want_a_newer_version(shop: Shop) -> None:
    shop.journal.connection.execute(f"PRAGMA user_version={VERSION + 1}")
    with pytest.raises(LaterTables) as caught:
        found(shop)
    assert "newer version" in caught.value.hint


def test_a_proof_over_a_row_that_is_gone_is_refused_as_missing_entries(shop: Shop) -> None:
    change(shop, "DELETE FROM entries WHERE seq = 4")
    with (
        Journal.open(shop.journal.path, shop.clock) as anew,
        pytest.raises(JournalError, match="entries are missing") as caught,
    ):
        anew.head()
    assert "check" in caught.value.hint


def test_an_entry_number_beyond_every_database_is_no_entry(shop: Shop) -> None:
    with pytest.raises(InputError, match="no entry 99999999999999999999"):
        shop.journal.entry(99999999999999999999)
