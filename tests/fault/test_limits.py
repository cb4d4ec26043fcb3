"""A full disk, read-only files, two writers, and a clock set back: each ends as it should."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fault import limits
from tests.fault.child import survived
from witnessmark.clock import NS, ManualClock, Stamp
from witnessmark.journal.check import check
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal


@pytest.mark.parametrize("byte", [40_000, 91_000, 200_000])
def test_a_full_disk_refuses_the_entry_and_loses_none(byte: int, tmp_path: Path) -> None:
    path = limits.new_journal(tmp_path / "bay")
    acks, refused = limits.disk_full(path, byte)
    assert refused
    assert acks
    found = survived(path, acks)
    assert (found.lost, found.verdict) == (0, "consistent, unanchored")


def test_a_read_only_journal_is_read_and_every_write_refused() -> None:
    assert limits.read_only()


def test_two_writers_make_one_tree(tmp_path: Path) -> None:
    path = limits.new_journal(tmp_path / "bay")
    acks = limits.two_writers(path, 40)
    assert len(acks) == 80
    found = survived(path, acks)
    assert (found.size, found.lost, found.verdict) == (82, 0, "consistent, unanchored")


def test_a_clock_set_back_and_a_suspend_are_recorded_as_they_were_seen(tmp_path: Path) -> None:
    class Moved(ManualClock):
        def __init__(self) -> None:
            super().__init__()
            self.step_ns = self.slept_ns = 0

        def stamp(self, device_ns: int | None = None) -> Stamp:
            now = self.now_ns
            return Stamp(now + self.step_ns, now, now + self.slept_ns, device_ns)

    clock = Moved()
    with Journal.create(tmp_path / "bay.journal", "bay1.depot.example", clock) as journal:
        first = journal.append(Draft("note", "J-1", "person:p1")).recorded
        clock.advance(2)
        clock.step_ns = -3600 * NS
        second = journal.append(Draft("note", "J-1", "person:p1")).recorded
        clock.slept_ns = 600 * NS
        third = journal.append(Draft("note", "J-1", "person:p1")).recorded
    assert second.wall_ns - first.wall_ns == -3598 * NS
    assert second.mono_ns - first.mono_ns == 2 * NS
    assert (third.boot_ns or 0) - (second.boot_ns or 0) == 600 * NS
    assert third.mono_ns == second.mono_ns
    assert check(tmp_path / "bay.journal", clock).verdict == "consistent, unanchored"
