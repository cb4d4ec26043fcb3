"""Trouble codes that were cleared: by whom, and what was read of them before.

A case flows in, each clearing with its entry flows out. Rules that hold here: nothing of ours ever clears a code; a
person says that it was done with the maker's means, or another tester was heard to ask for it and was answered
positively; codes that were there when it was done and that nobody had read are no proof of anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.sequence import Mark, not_after
from witnessmark.audit.reconcile import AFTERWARDS
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.range import exact

Scan = tuple[int, bodies.CodeScan]


@dataclass(frozen=True, slots=True)
class Clearing:
    """One clearing. `how` says in words who says so."""

    mark: Mark
    how: str

    @property
    def text(self) -> str:
        return f"codes were cleared in entry {self.mark.seq} ({self.how})"


def clearings(case: Case) -> tuple[Clearing, ...]:
    """Return every clearing, in the order of the journal."""
    told = [
        Clearing(Mark(act.at, act.seq), f"said by {act.done_by.partition(':')[2]}")
        for act in case.timeline.acts_affecting("codes-cleared")
    ]
    heard = [
        Clearing(Mark(exact(one.at), one.seq), "heard on the wire")
        for one in case.timeline.exchanges
        if one.body.purpose == "clear" and one.body.result == "positive"
    ]
    return tuple(sorted([*told, *heard], key=lambda one: one.mark.seq))


def scanned(case: Case, scan: Scan) -> Mark:
    """Return when a scan was made: as its entry was, or where it was entered afterwards, as that says."""
    entry = _entry(case, scan[0])
    afterwards = entry.occurred.basis in AFTERWARDS
    return Mark(case.clock.occurred(entry) if afterwards else exact(case.timeline.entered[entry.seq]), entry.seq)


def was_heard(case: Case, scan: Scan) -> bool:
    """Say whether another tester read these codes and we only listened."""
    body = case.bodies.get(scan[1].exchange) if scan[1].exchange is not None else None
    return isinstance(body, bodies.ExchangeBody) and body.heard


def told_by(case: Case, seq: int) -> str:
    """Return who says what another tester showed, empty where no person does: it was asked for or heard."""
    by = _entry(case, seq).done_by
    return by.partition(":")[2] if by.startswith("person:") else ""


def _entry(case: Case, seq: int) -> Entry:
    return case.once("entries by number", lambda: {entry.seq: entry for entry in case.entries})[seq]


def unread(case: Case, one: Clearing, scans: Sequence[Scan], close: Mark | None) -> str:
    """Return in words why what was there when it was cleared is not known; empty where it had been read.

    `scans` are those of one control unit; `close` is when the last nipple was closed: what the work leaves is read
    after that.
    """
    before = [scan for scan in scans if not_after(case, scanned(case, scan), one.mark) == "yes"]
    if not before:
        return f"{one.text} before they were read: which there were is not known"
    worked = close is not None and not_after(case, close, one.mark) == "yes"
    if worked and close is not None and not_after(case, close, scanned(case, before[-1])) != "yes":
        return f"{one.text} after the work, before they were read again: which the work left is not known"
    return ""
