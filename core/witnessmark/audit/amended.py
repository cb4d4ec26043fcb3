"""Findings of a record in which entries were corrected: each question is answered on both readings.

The entries of one job, and the finding on each reading, flow in; one finding flows out. Rules that hold here: a
correction never makes an answer better or worse by itself: where what was first written and what was put in its place
give different answers, neither is proof; a finding that rests on a corrected entry says so, and cites the correction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import msgspec

from witnessmark.audit.say import listing
from witnessmark.audit.verdict import Finding
from witnessmark.journal.entry import Entry

Corrections = Mapping[int, tuple[int, ...]]
"""The entries that were corrected, each with the entries that correct it, in order."""


def corrections(entries: Sequence[Entry]) -> Corrections:
    """Return what was corrected among `entries`. A correction of an entry that is not among them says nothing."""
    there = {one.seq for one in entries}
    found: dict[int, tuple[int, ...]] = {}
    for one in entries:
        target = one.body.get("target")
        if one.kind == "amendment" and isinstance(target, int) and target in there:
            found[target] = (*found.get(target, ()), one.seq)
    return found


def as_corrected(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return `entries` with each body as all its corrections say that it should read."""
    instead: dict[int, dict[str, object]] = {}
    for targets in corrections(entries).items():
        target, by = targets
        for one in entries:
            if one.seq in by and isinstance(one.body.get("instead"), dict):
                instead[target] = instead.get(target, {}) | one.body["instead"]
    return tuple(
        msgspec.structs.replace(one, body={**one.body, **instead[one.seq]}) if one.seq in instead else one
        for one in entries
    )


def on_both(first: Finding, corrected: Finding, made: Corrections) -> Finding:
    """Return one finding out of the one on what was first written and the one on what it was corrected to."""
    differ = first.answer != corrected.answer
    resting = sorted(({*first.cites, *corrected.cites} & made.keys()) or (made.keys() if differ else ()))
    if not resting:
        return first
    by = sorted({seq for target in resting for seq in made[target]})
    which = f"{_entries(resting)} corrected in {_entries(by)}"
    cites = tuple(sorted({*first.cites, *corrected.cites, *resting, *by}))
    if differ:
        text = (
            f"{which}: as first written {first.answer} ({first.text}); "
            f"as corrected {corrected.answer} ({corrected.text})"
        )
        return replace(first, answer="no proof", text=text, cites=cites)
    changed = "" if first.text == corrected.text else f": {corrected.text}"
    return replace(first, text=f"{first.text}; {which}, the same answer as corrected{changed}", cites=cites)


def unreadable(first: Finding, made: Corrections, why: str) -> Finding:
    """Return the finding where the record as corrected cannot be read: nothing that rests on a correction is proof."""
    resting = sorted({*first.cites} & made.keys())
    if not resting:
        return first
    by = sorted({seq for target in resting for seq in made[target]})
    text = f"{_entries(resting)} corrected in {_entries(by)}, which cannot be read: {why}; as first written "
    cites = tuple(sorted({*first.cites, *by}))
    return replace(first, answer="no proof", text=f"{text}{first.answer} ({first.text})", cites=cites)


def _entries(numbers: Sequence[int]) -> str:
    return f"{'entry' if len(numbers) == 1 else 'entries'} {listing(map(str, numbers))}"
