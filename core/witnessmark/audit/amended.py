"""Findings of a record in which entries were corrected: each question is answered on both readings.

The entries of one job, and the finding on each reading, flow in; one finding flows out. Rules that hold here: a
correction never makes an answer better: where what was first written and what was put in its place give different
answers, neither is proof, but what is not met by the last word stays not met; a finding that rests on a corrected entry
says so, and cites the correction; a correction of a correction is one of the entry that this one corrects, and the last
word counts; what was taken back is no more than a note.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import replace
from typing import Any

import msgspec

from witnessmark.audit.differing import differing
from witnessmark.audit.keyed_anew import keyed_anew, not_begun, note
from witnessmark.audit.say import listing
from witnessmark.audit.verdict import Finding
from witnessmark.journal.entry import AT, OCCURRED, WITHDRAWN, Entry, withdrawn
from witnessmark.journal.entry import corrected as corrected_time

Corrections = Mapping[int, tuple[int, ...]]
"""The entries that were corrected, each with the entries that correct it, in order."""
Decide = Callable[[Sequence[int]], Sequence[int]]
"""Takes the corrected entries that may change an answer, and returns those that do."""


MOST_PAIRED = 4
"""Of how many corrections a finding says which corrects which, and of how many parts that a correction changes them."""
SHORT = 80
"""A text of no more letters is told once more as corrected; of a longer one what differs is."""
SAME = "the same answer as corrected"
"""How the text of a finding ends that a correction changes nothing of."""


def corrections(entries: Sequence[Entry]) -> Corrections:
    """Return what was corrected among `entries`. A correction of an entry that is not among them says nothing."""
    found: dict[int, tuple[int, ...]] = {}
    there = {one.seq: one for one in entries}
    for one in entries:
        if one.kind == "amendment" and (root := _root(one, there)) is not None:
            found[root] = (*found.get(root, ()), one.seq)
    return found


def root_of(target: int, entries: Sequence[Entry]) -> int:
    """Return the entry that a correction of `target` is about in the end: of a correction, what that one corrects."""
    there = {one.seq: one for one in entries}
    one = there.get(target)
    root = _root(one, there) if one is not None and one.kind == "amendment" else None
    return target if root is None else root


def _root(one: Entry, there: Mapping[int, Entry]) -> int | None:
    """Return the entry that an amendment corrects in the end; None where that is not among those `there`."""
    at: Entry = one
    while at.kind == "amendment":
        target = at.body.get("target")
        if not isinstance(target, int) or target >= at.seq or target not in there:
            return None
        at = there[target]
    return at.seq


def as_first_written(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return `entries` before any correction: without what was keyed in anew in the place of what was taken back."""
    return as_corrected(entries, frozenset())


def as_corrected(entries: Sequence[Entry], only: Set[int] | None = None) -> tuple[Entry, ...]:
    """Return `entries` with each body, and its time, as all its corrections say that it should read.

    Where `only` is given, those are corrected and the rest stays as it was first written. Raises InputError for a time
    that cannot be read.
    """
    instead: dict[int, dict[str, object]] = {}
    amendments = {one.seq: one for one in entries if one.kind == "amendment"}
    for target, by in corrections(entries).items():
        if only is not None and target not in only:
            continue
        said = {seq: says(amendments[seq].body) for seq in by}
        for seq in by:
            corrected = amendments[seq].body.get("target")
            if corrected in said and _put_again(amendments[seq].body):
                said[corrected] = {}  # what it said is put in another's words
        for fields in said.values():
            instead[target] = instead.get(target, {}) | fields
    counted = without_taken_back(entries, only)
    return tuple(
        _as_corrected(one, instead[one.seq]) if one.kind == first.kind and one.seq in instead else one
        for one, first in zip(counted, entries, strict=True)
    )


def without_taken_back(entries: Sequence[Entry], only: Set[int] | None = None) -> tuple[Entry, ...]:
    """Return `entries` as first written, with a note in the place of each that was taken back.

    Where `only` is given, it is of those; the rest stands, and what was keyed in anew in its place does not.
    """
    gone, anew = withdrawn(entries), {}
    if only is not None and gone:
        anew = keyed_anew(entries, gone - only)
        gone = (gone & only) | not_begun(entries)
    if not gone and not anew:
        return tuple(entries)
    return tuple(note(one) if one.seq in gone else anew.get(one.seq, one) for one in entries)


def _as_corrected(one: Entry, instead: Mapping[str, object]) -> Entry:
    typed = one.occurred.basis == "typed"
    fields = {name: value for name, value in instead.items() if name not in (AT, OCCURRED, WITHDRAWN)}
    at = corrected_time(instead[OCCURRED]) if typed and OCCURRED in instead else one.occurred
    return msgspec.structs.replace(one, body={**one.body, **fields}, occurred=at)


def says(made: Mapping[str, Any]) -> dict[str, object]:
    """Return the fields of an entry that an amendment's body says should read otherwise.

    One that corrects an amendment may put that one's `instead`, and so on.
    """
    said = made.get("instead")
    if not isinstance(said, dict):
        return {}
    if _put_again(made):
        return says(said)
    return {name: value for name, value in said.items() if name not in ("reason", "target")}


def _put_again(made: Mapping[str, Any]) -> bool:
    """Say whether it puts what another amendment says in other words."""
    said = made.get("instead")
    return isinstance(said, dict) and isinstance(said.get("instead"), dict)


def on_both(first: Finding, corrected: Finding, made: Corrections, decide: Decide = tuple) -> Finding:
    """Return one finding out of the one on what was first written and the one on what it was corrected to.

    Where the two answers differ, `decide` says which of the corrected entries that is due to.
    """
    differ = first.answer != corrected.answer
    resting = sorted({*first.cites, *corrected.cites} & made.keys())
    if differ:
        resting = sorted(decide(resting or sorted(made)))
    if not resting:
        return first
    by = sorted({seq for target in resting for seq in made[target]})
    which = _which(resting, made)
    cites = tuple(sorted({*first.cites, *corrected.cites, *resting, *by}))
    if differ:
        text = (
            f"{which}: as first written {first.answer} ({first.text}); "
            f"as corrected {corrected.answer} ({corrected.text})"
        )
        if corrected.answer == "not met":
            return replace(corrected, text=text, cites=cites)
        return replace(first, answer="no proof", text=text, cites=cites)
    return replace(first, text=f"{first.text}; {which}, {_changed(first, corrected)}", cites=cites)


def _changed(first: Finding, corrected: Finding) -> str:
    """Say that the answer is the same, and what a correction changes of its words or of those of its parts."""
    if first.text != corrected.text:
        changed = differing(first.text, corrected.text) if len(corrected.text) > SHORT else ""
        return f"{SAME}, but for {changed}" if changed else f"{SAME}: {corrected.text}"
    was, now = ({(one.subject, one.answer, one.text) for one in each.details} for each in (first, corrected))
    parts = sorted({subject for subject, _, _ in was ^ now})
    if not parts:
        return SAME
    return f"{SAME}, but what is said of {'; '.join(parts) if len(parts) <= MOST_PAIRED else 'its parts'} differs"


def unreadable(first: Finding, made: Corrections, why: str) -> Finding:
    """Return the finding where the record as corrected cannot be read: nothing that rests on a correction is proof."""
    resting = sorted({*first.cites} & made.keys())
    if not resting:
        return first
    by = sorted({seq for target in resting for seq in made[target]})
    text = f"{_which(resting, made)}, which cannot be read: {why}; as first written "
    cites = tuple(sorted({*first.cites, *by}))
    return replace(first, answer="no proof", text=f"{text}{first.answer} ({first.text})", cites=cites)


def _which(resting: Sequence[int], made: Corrections) -> str:
    """Say which entry was corrected in which; of many only which were and in which, together."""
    if len(resting) > MOST_PAIRED:
        return f"{_entries(resting)} corrected in {_entries(sorted({seq for one in resting for seq in made[one]}))}"
    return listing(f"{_entries([one])} corrected in {_entries(made[one])}" for one in resting)


def without_list(text: str) -> str:
    """Return what a finding says, its substance, without the list of which entries were corrected in which."""
    return _LIST.sub("corrected", text)


_NUMBERS = r"entr(?:y|ies) [0-9]+(?:, [0-9]+)*(?: and [0-9]+)?"
_ONE = f"{_NUMBERS} corrected in {_NUMBERS}"
_LIST = re.compile(f"{_ONE}(?:, {_ONE})*(?: and {_ONE})?")
"""What `_which` says."""


def _entries(numbers: Sequence[int]) -> str:
    return f"{'entry' if len(numbers) == 1 else 'entries'} {listing(map(str, numbers))}"
