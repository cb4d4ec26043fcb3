"""A journal on disk: what is appended is kept, in order, and nothing else can be done to it."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from witnessmark.clock import ManualClock
from witnessmark.errors import InputError, JournalError
from witnessmark.journal import entry, merkle, tables
from witnessmark.journal import head as heads
from witnessmark.journal.check import check
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import JobHead, Journal


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock()


@pytest.fixture
def journal(tmp_path: Path, clock: ManualClock) -> Iterator[Journal]:
    with Journal.create(tmp_path / "bay.journal", "bay1.depot.example", clock) as made:
        yield made


def note(job: str | None = "J-1", **body: object) -> Draft:
    return Draft("note", job, "person:p1", body=dict(body))


def slow_root(journal: Journal) -> bytes:
    tree = merkle.Range()
    for _, text in journal.texts():
        tree.append(merkle.leaf_hash(text))
    return tree.root()


def test_entry_0_is_the_genesis(journal: Journal) -> None:
    genesis = journal.genesis()
    assert (genesis.seq, genesis.kind, genesis.job) == (0, "genesis", None)
    assert genesis.body["origin"] == "bay1.depot.example"
    assert len(genesis.body["id"]) == 32


def test_an_entry_comes_back_as_it_was_acknowledged(journal: Journal, clock: ManualClock) -> None:
    clock.advance(5)
    made = journal.append(Draft("step", "J-1", "person:p1", "machine:runner", entry.occurred(7, 9), {"raw": b"\x01"}))
    assert made.body == {"raw": "01"}
    assert (made.occurred.from_ns, made.occurred.to_ns) == (7, 9)
    assert made.recorded.wall_ns == clock.now_ns
    assert journal.entry(1) == made
    assert next(iter(journal.texts("J-1"))) == (1, entry.text(made))


def test_now_is_the_default_of_when_it_occurred(journal: Journal, clock: ManualClock) -> None:
    assert journal.append(note()).occurred.from_ns == clock.now_ns


def test_each_job_is_a_chain_of_its_own(journal: Journal) -> None:
    first = journal.append(note("A"))
    other = journal.append(note("B"))
    second = journal.append(note("A"))
    loose = journal.append(note(None))
    assert [one.job_seq for one in (first, other, second, loose)] == [0, 0, 1, None]
    assert (first.job_prev, other.job_prev, loose.job_prev) == (None, None, None)
    assert second.job_prev == entry.leaf(first).hex()
    assert journal.job_head("A") == JobHead(2, entry.leaf(second))
    assert journal.job_head("none") == JobHead(0, b"")


def test_the_chain_goes_on_after_opening_again(journal: Journal, clock: ManualClock) -> None:
    first = journal.append(note("A"))
    journal.close()
    with Journal.open(journal.path, clock, write=True) as again:
        second = again.append(note("A"))
    assert (second.seq, second.job_seq, second.job_prev) == (2, 1, entry.leaf(first).hex())


def test_salts_differ(journal: Journal) -> None:
    assert len({one.salt for one in journal.append_many([note(), note(), note()])}) == 3


def test_head_is_the_root_over_the_texts_at_any_size(journal: Journal, clock: ManualClock) -> None:
    for count in (1, 2, 250, 5, 3, 600):
        journal.append_many([note(f"J-{number % 7}", n=number) for number in range(count)])
        assert journal.head() == heads.Head(journal.size, slow_root(journal))
        with Journal.open(journal.path, clock) as reader:
            assert reader.head() == journal.head()


def test_kept_subtrees_can_be_dropped_and_change_nothing(journal: Journal, clock: ManualClock) -> None:
    journal.append_many([note(n=number) for number in range(1100)])
    head = journal.head()
    journal.connection.execute("DELETE FROM subtrees")
    with Journal.open(journal.path, clock) as reader:
        assert reader.head() == head
        paths = [merkle.inclusion_path(index, head.size, reader.tree.node) for index in (0, 255, 256, 1100)]
    for index, path in zip((0, 255, 256, 1100), paths, strict=True):
        assert merkle.verify_inclusion(entry.leaf(journal.entry(index)), index, head.size, path, head.root)


def test_entries_are_read_by_job_kind_and_place(journal: Journal) -> None:
    journal.append_many([note("A"), Draft("step", "A", "person:p1"), note("B")] * 300)
    assert [one.seq for one in journal.entries()] == list(range(901))
    assert {one.job for one in journal.entries("A")} == {"A"}
    assert len(list(journal.entries("A"))) == 600
    assert [one.seq for one in journal.entries("A", after_seq=895)] == [896, 898, 899]
    assert len(list(journal.entries(kind="step"))) == 300
    assert [(line.job, line.count, line.first_seq, line.last_seq) for line in journal.jobs()] == [
        ("B", 300, 3, 900),
        ("A", 600, 1, 899),
    ]


def test_a_draft_that_cannot_be_kept_leaves_nothing(journal: Journal) -> None:
    before = journal.head()
    with pytest.raises(InputError, match=r"body\.x"):
        journal.append_many([note(), note(x=1.5)])
    with pytest.raises(InputError, match="not known"):
        journal.append(Draft("poem", None, "person:p1"))
    assert journal.head() == before
    assert journal.append(note()).job_seq == 0


def test_what_could_not_be_read_again_is_never_written(journal: Journal) -> None:
    with pytest.raises(InputError):
        journal.append(Draft("note", "J-1", "person:p1", body=["no object"]))  # type: ignore[arg-type]
    assert journal.size == 1


def test_two_writers_make_one_tree(journal: Journal, clock: ManualClock) -> None:
    with Journal.open(journal.path, clock, write=True) as other:
        for number in range(300):
            (journal if number % 3 else other).append(note(f"J-{number % 2}", n=number))
        assert other.head() == journal.head()
    assert journal.head() == heads.Head(301, slow_root(journal))
    assert heads.read(heads.path_of(journal.path)) == journal.head()
    for job in ("J-0", "J-1"):
        chain = list(journal.entries(job))
        assert [one.job_seq for one in chain] == list(range(150))
        assert [one.job_prev for one in chain[1:]] == [entry.leaf(one).hex() for one in chain[:-1]]


def test_a_writer_that_waits_too_long_is_told_so(journal: Journal, clock: ManualClock) -> None:
    blocker = sqlite3.connect(journal.path, isolation_level=None)
    blocker.execute("BEGIN IMMEDIATE")
    with Journal.open(journal.path, clock, write=True, busy_s=0) as other, pytest.raises(JournalError) as caught:
        other.append(note())
    assert "another program is writing" in caught.value.hint
    blocker.close()


def test_a_reader_cannot_append(journal: Journal, clock: ManualClock) -> None:
    with Journal.open(journal.path, clock) as reader, pytest.raises(JournalError, match="reading only"):
        reader.append(note())


def test_a_thread_that_did_not_open_it_may_use_it(journal: Journal) -> None:
    made: list[entry.Entry] = []
    thread = threading.Thread(target=lambda: made.append(journal.append(note())))
    thread.start()
    thread.join()
    assert made[0].seq == 1


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET text = '{}'",
        "DELETE FROM entries",
        "INSERT OR REPLACE INTO entries (seq, text) VALUES (0, '{\"seq\":0}')",
        "INSERT INTO entries (seq, text) VALUES (7, '{\"seq\":8}')",
    ],
)
def test_the_guards_refuse_a_change_by_mistake(journal: Journal, statement: str) -> None:
    with pytest.raises(sqlite3.IntegrityError):
        journal.connection.execute(statement)


def test_each_acknowledged_entry_is_synced(journal: Journal) -> None:
    modes = {
        name: journal.connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous")
    }
    assert modes == {"journal_mode": "wal", "synchronous": 2}


def test_create_refuses_what_is_there_and_what_is_no_origin(
    journal: Journal, clock: ManualClock, tmp_path: Path
) -> None:
    with pytest.raises(JournalError, match="already"):
        Journal.create(journal.path, "bay1.depot.example", clock)
    for origin in ("", "two words", "a+b", "line\nbreak"):
        with pytest.raises(InputError, match="no origin"):
            Journal.create(tmp_path / "other", origin, clock)


def test_create_goes_on_over_what_a_cut_off_one_left(tmp_path: Path, clock: ManualClock) -> None:
    path = tmp_path / "bay.journal"
    (tmp_path / "bay.journal.new").write_bytes(b"half")
    heads.path_of(path).write_bytes(b"old")
    with Journal.create(path, "bay1.depot.example", clock) as made:
        assert made.size == 1


def test_what_is_no_journal_is_refused(tmp_path: Path, clock: ManualClock) -> None:
    with pytest.raises(JournalError, match="there is no journal"):
        Journal.open(tmp_path / "none", clock)
    sqlite3.connect(tmp_path / "other.db").execute("CREATE TABLE t (a)").connection.close()
    with pytest.raises(JournalError, match="not a journal"):
        Journal.open(tmp_path / "other.db", clock)
    (tmp_path / "text").write_text("words " * 1000)
    with pytest.raises(JournalError, match="cannot be opened"):
        Journal.open(tmp_path / "text", clock)


def test_tables_of_a_later_version_say_what_to_do(journal: Journal, clock: ManualClock) -> None:
    journal.connection.execute(f"PRAGMA user_version={tables.VERSION + 1}")
    journal.close()
    with pytest.raises(JournalError, match=f"version {tables.VERSION + 1}") as caught:
        Journal.open(journal.path, clock)
    assert "newer version" in caught.value.hint


def test_tables_of_an_earlier_version_are_read_as_they_are_and_brought_up_by_a_writer(
    journal: Journal, clock: ManualClock
) -> None:
    journal.append_many([note(), note()])
    for statement in (
        "DROP INDEX sought_by_kind",
        "CREATE INDEX entries_by_kind ON entries (kind, seq)",
        "DELETE FROM _sqlite_migrations WHERE name LIKE 'm002%'",
        "PRAGMA user_version=1",
    ):
        journal.connection.execute(statement)
    journal.close()
    with Journal.open(journal.path, clock) as reader:
        assert [one.kind for one in reader.entries(kind="genesis")] == ["genesis"]
        assert reader.connection.execute("PRAGMA user_version").fetchone()[0] == 1
    with Journal.open(journal.path, clock, write=True) as writer:
        assert writer.connection.execute("PRAGMA user_version").fetchone()[0] == tables.VERSION
        named = {row[0] for row in writer.connection.execute("SELECT name FROM sqlite_schema WHERE type = 'index'")}
        assert "sought_by_kind" in named
        assert "entries_by_kind" not in named
        assert writer.append(note()).seq == 3
    assert check(journal.path, clock).verdict == "consistent, unanchored"


def test_a_journal_shorter_than_its_head_file_is_not_written_to(
    journal: Journal, clock: ManualClock, tmp_path: Path
) -> None:
    journal.append(note())
    journal.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    early = journal.path.read_bytes()
    journal.append_many([note(), note()])
    journal.close()
    journal.path.write_bytes(early)
    with pytest.raises(JournalError, match="4 entries were acknowledged, 2 are left"):
        Journal.open(journal.path, clock, write=True)
    with Journal.open(journal.path, clock) as reader:
        assert reader.size == 2


def test_a_head_file_one_commit_behind_is_brought_up(journal: Journal, clock: ManualClock) -> None:
    before = heads.path_of(journal.path).read_bytes()
    journal.append(note())
    journal.close()
    heads.path_of(journal.path).write_bytes(before)
    with Journal.open(journal.path, clock, write=True) as again:
        assert heads.read(heads.path_of(again.path)) == again.head()


def test_a_journal_that_is_not_the_head_file_s_is_not_written_to(
    journal: Journal, clock: ManualClock, tmp_path: Path
) -> None:
    with Journal.create(tmp_path / "other", "bay2.depot.example", clock) as other:
        other.append_many([note(), note()])
    journal.close()
    for ours in (journal.path, heads.path_of(journal.path)):
        ours.rename(ours.with_name("mine" + ours.suffix))
    heads.path_of(other.path).write_bytes((tmp_path / "mine.head").read_bytes())
    with pytest.raises(JournalError, match="not those that were written"):
        Journal.open(other.path, clock, write=True)


def test_a_head_file_that_is_gone_or_garbage_is_said(journal: Journal, clock: ManualClock) -> None:
    journal.close()
    path = heads.path_of(journal.path)
    path.write_bytes(b"\xff" * 1024)
    with pytest.raises(JournalError, match="head file is damaged"):
        Journal.open(journal.path, clock, write=True)
    path.unlink()
    with pytest.raises(JournalError, match="cannot be read"):
        Journal.open(journal.path, clock, write=True)


def test_a_journal_that_shrinks_under_a_writer_is_noticed(journal: Journal) -> None:
    journal.append_many([note(), note()])
    journal.connection.execute("DROP TRIGGER entries_are_never_deleted")
    journal.connection.execute("DELETE FROM entries WHERE seq = 2")
    with pytest.raises(JournalError, match="had 3 entries and now has 2"):
        journal.append(note())


def test_a_damaged_entry_is_named_when_read(journal: Journal) -> None:
    journal.append_many([note(), note()])
    journal.connection.execute("DROP TRIGGER entries_are_never_changed")
    journal.connection.execute("UPDATE entries SET text = replace(text, '\"note\"', '\"Note\"') WHERE seq = 1")
    with pytest.raises(JournalError, match="entry 1"):
        list(journal.entries())
