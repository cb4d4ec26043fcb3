from __future__ import annotations

import select
import threading
from pathlib import Path

from tests.job.stand import MemoryJournal

from witnessmark.clock import ManualClock, SystemClock
from witnessmark.errors import JournalError
from witnessmark.job.journal_thread import JournalThread, Ticket
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal


def finished(thread: JournalThread, count: int) -> list[Ticket]:
    found: list[Ticket] = []
    while len(found) < count:
        assert select.select([thread], [], [], 10)[0], "the thread says nothing"
        found += thread.collect()
    return found


def note(number: int) -> Draft:
    return Draft("note", "J1", "person:t-otter", body={"text": str(number)})


def test_what_is_submitted_comes_back_on_disk_and_in_order(tmp_path: Path) -> None:
    with Journal.create(tmp_path / "journal.db", "bay.tests.invalid", SystemClock()) as journal:
        thread = JournalThread(journal)
        tickets = [thread.submit(note(number)) for number in range(20)]
        assert finished(thread, 20) == tickets and thread.waiting == 0
        thread.close()
        texts = [one.body["text"] for one in journal.entries("J1")]
    assert texts == [str(number) for number in range(20)]
    assert [ticket.entry.seq for ticket in tickets if ticket.entry] == list(range(1, 21))


def test_what_cannot_be_recorded_comes_back_as_the_error_and_the_next_is_tried() -> None:
    journal = MemoryJournal(ManualClock())
    journal.fails = lambda draft: "the disk is full" if draft.body["text"] == "0" else ""
    thread = JournalThread(journal)
    first, second = thread.submit(note(0)), thread.submit(note(1))
    finished(thread, 2)
    thread.close()
    assert isinstance(first.error, JournalError) and first.done and first.entry is None
    assert second.error is None and second.entry is not None


def test_a_failure_nobody_foresaw_is_told_as_not_recorded() -> None:
    def fail() -> Entry | None:
        raise RuntimeError("out of pages")

    thread = JournalThread(MemoryJournal(ManualClock()))
    ticket = thread.call(fail)
    finished(thread, 1)
    thread.close()
    assert isinstance(ticket.error, JournalError) and "out of pages" in ticket.error.what


def test_the_loop_never_waits_for_the_disk_and_closing_writes_what_is_left() -> None:
    journal, gate = MemoryJournal(ManualClock()), threading.Event()
    thread = JournalThread(journal)

    def slow() -> Entry | None:
        gate.wait(10)
        return journal.append(note(0))

    thread.call(slow)
    thread.submit(note(1))
    assert thread.collect() == [] and thread.waiting == 2
    gate.set()
    thread.close()
    assert [one.body["text"] for one in journal.made] == ["0", "1"]
