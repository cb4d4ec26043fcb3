"""What was keyed in anew in the place of what was taken back.

The entries of a job flow in, those that stand in another's place flow out. Rules that hold here: what was taken back
and keyed in anew was done once, so a reading of the record has the one or the other and never both; it stands in the
place of the first of its kind that was taken back at the same point of the walk, as does what was taken back once
more; a run that is not there has no end either.
"""

from __future__ import annotations

from collections.abc import Sequence, Set

from witnessmark.journal.entry import Entry, withdrawn
from witnessmark.procedure.own import UNWRITTEN

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
