"""What was keyed in anew in the place of what was taken back, and what was taken back before anything was done by it.

The entries of a job flow in, those that stand in another's place flow out. Rules that hold here: what was taken back
and keyed in anew was done once, so of an opening, a closing, a run and an amount that adds up a reading of the record
has the one or the other and never both; it stands in the place of the first of its kind that was taken back at the same
nipple and pass, as does what was taken back once more; what was keyed in while that still stood does not; a run that is
not there has no end either. That a pass which the job did not plan was taken in says of no work that it was done: taken
back with nothing of that pass in the record it counts in no reading.
"""

from __future__ import annotations

from collections.abc import Sequence, Set

import msgspec

from witnessmark.audit.timeline import VOLUMES
from witnessmark.journal.entry import Entry, takes_back, withdrawn
from witnessmark.procedure.own import REDO

Point = tuple[str, ...]
CLOSED = "closed"


def keyed_anew(entries: Sequence[Entry], kept: Set[int]) -> dict[int, Entry]:
    """Return by its `seq` what is left of each entry that was keyed in anew in the place of one that is `kept`.

    That is a note, or where a reading or a step also says that a nipple was closed, the same without that.
    """
    back = withdrawn(entries)
    gone = {one.seq: one for one in entries if one.seq in back}
    waiting: dict[Point, list[int]] = {}
    anew: dict[int, Entry] = {}
    for one in entries:
        target = one.body.get("target") if one.kind == "amendment" and takes_back(one) else None
        if isinstance(target, int) and target in gone and (point := _point(gone.pop(target))):
            waiting[point] = sorted((*waiting.get(point, ()), target))
        elif one.occurred.basis == "typed" and waiting.get(_point(one)):
            first = waiting[_point(one)].pop(0)
            if first in kept or first in anew:
                anew[one.seq] = _without(one)
    runs = {one.seq for one in entries if one.seq in anew and one.kind == "intent"}
    ends = {one.seq: note(one) for one in entries if one.kind == "outcome" and one.body.get("actuation") in runs}
    return anew | ends


def note(one: Entry) -> Entry:
    """Return an entry that says nothing, in the place of another."""
    return msgspec.structs.replace(one, kind="note", body={})


def _without(one: Entry) -> Entry:
    also = [word for word in one.body.get("also", ()) if word != CLOSED]
    besides = len(also) < len(one.body.get("also", ())) and one.body.get("what") not in VOLUMES
    return msgspec.structs.replace(one, body={**one.body, "also": also}) if besides else note(one)


def not_begun(entries: Sequence[Entry]) -> frozenset[int]:
    """Return the entries that took in a pass besides the plan and were taken back before anything of it was done."""
    gone = withdrawn(entries)
    planned = {name for one in entries if one.kind == "job-opened" for name in one.body.get("plan", ())}
    of = [(one.seq, str(one.body.get("pass_id") or ""), one.body.get("step") == REDO) for one in entries]
    begun = {name for _, name, taken_in in of if name and not taken_in}
    return frozenset(seq for seq, name, taken_in in of if taken_in and seq in gone and name not in planned | begun)


def _point(one: Entry) -> Point:
    """Return the opening, closing, run or amount that an entry tells of and that, told twice, would have been twice.

    Empty for any other, of a kind that nobody knows yet too, and for one that says that a card leaves it empty: what is
    keyed in then is all there is.
    """
    body = one.body
    if one.kind not in ("intent", "step", "reading"):
        return ()
    if one.kind == "intent":
        name = "run"
    elif body.get("act") in ("opened", "closed"):
        name = str(body["act"])
    elif body.get("what") in VOLUMES:
        name = str(body["what"])
    elif CLOSED in body.get("also", ()):
        name = CLOSED
    else:
        return ()
    return name, str(body.get("pass_id") or ""), str(body.get("nipple") or "")
