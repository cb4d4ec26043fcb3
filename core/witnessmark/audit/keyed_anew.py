"""What was keyed in anew in the place of what was taken back, and what was taken back before anything was done by it.

The entries of a job flow in, those that stand in another's place flow out. Rules that hold here: what was taken back
and keyed in anew was done once, so a reading of the record has the one or the other and never both; it stands in the
place of the first of its kind that was taken back at the same point of the walk, as does what was taken back once
more; a run that is not there has no end either. That a pass which the job did not plan was taken in says of no work
that it was done: taken back with nothing of that pass in the record it counts in no reading.
"""

from __future__ import annotations

from collections.abc import Sequence, Set

from witnessmark.journal.entry import Entry, withdrawn
from witnessmark.procedure.own import REDO, UNWRITTEN

Point = tuple[str, ...]


def keyed_anew(entries: Sequence[Entry], kept: Set[int]) -> frozenset[int]:
    """Return the entries that were keyed in anew in the place of those that were taken back and are `kept`."""
    back = withdrawn(entries)
    gone = {one.seq: one for one in entries if one.seq in back}
    waiting: dict[Point, list[Entry]] = {}
    anew: set[int] = set()
    for one in entries:
        target = one.body.get("target") if one.kind == "amendment" else None
        if target in gone:
            one = gone.pop(target)
            waiting.setdefault(_point(one), []).append(one)
        elif one.occurred.basis == "typed" and (there := waiting.get(_point(one))):
            first = min(there, key=lambda each: each.seq)
            there.remove(first)
            if first.seq in kept or first.seq in anew:
                anew.add(one.seq)
    runs = {one.seq for one in entries if one.seq in anew and one.kind == "intent"}
    return frozenset(anew | {one.seq for one in entries if one.kind == "outcome" and one.body.get("actuation") in runs})


def not_begun(entries: Sequence[Entry]) -> frozenset[int]:
    """Return the entries that took in a pass besides the plan and were taken back before anything of it was done."""
    gone = withdrawn(entries)
    planned = {name for one in entries if one.kind == "job-opened" for name in one.body.get("plan", ())}
    of = [(one.seq, one.body.get("pass_id"), one.body.get("step") == REDO) for one in entries]
    begun = {name for _, name, taken_in in of if name and not taken_in}
    return frozenset(seq for seq, name, taken_in in of if taken_in and seq in gone and name not in planned | begun)


def _point(one: Entry) -> Point:
    """Return what names the place of the walk at which an entry was keyed in, whatever was written there."""
    body = one.body
    silent = body.get("step") == UNWRITTEN
    if one.kind == "intent":
        name = "run"
    elif one.kind in ("step", "reading"):
        by_act = {"opened": "open", "closed": "close"}.get(str(body.get("act")), "")
        name = str(body.get("answer") if silent else by_act or body.get("step"))
    else:
        name = f"{one.kind} {body.get('when', '')}{body.get('what', '')}"
    return name, str(body.get("pass_id") or ""), str(body.get("nipple") or "")
