"""Bottles: with which of them what ran out at a nipple was read, and which of them nobody read.

A case flows in, names of passes and acts flow out. Rule that holds here: a bottle that was left unread ends what is
read with a later one, for what was in it may have been spilled.
"""

from __future__ import annotations

from witnessmark.audit.case import UNWRITTEN, Case
from witnessmark.audit.timeline import Act, Opening


def read_with(case: Case, pass_id: str) -> str:
    """Return the pass with which what ran out at `pass_id` was read: itself, or a later one."""
    return elsewhere(case).get(pass_id, pass_id)


def elsewhere(case: Case) -> dict[str, str]:
    """Return for each planned pass that shares a bottle with another the pass with which it was read.

    That is the one it shares it with, or any before that; one whose own bottle was read stands for itself. A bottle
    that was left unread ends it: what was in that one may have been spilled, and is in no later one for sure.
    """
    return case.once("bottles-elsewhere", lambda: _elsewhere(case))


def _elsewhere(case: Case) -> dict[str, str]:
    planned = {one.id for one in case.plan}
    shared = {one.id: one.bottle_with for one in case.plan if one.bottle_with in planned}
    bottles = case.timeline.readings("volume")
    found = {}
    for name, other in shared.items():
        if not any(one.pass_id == name for one in bottles):
            opened = min((one.opened for one in case.timeline.openings_at(name) if one.opened), default=None)
            ends = sorted((one.seq, one.pass_id) for many in (bottles, left_unread(case)) for one in many)
            later = (place for seq, place in ends if opened is not None and seq > opened)
            found[name] = next(later, other)
    return found


def was_read(case: Case, one: Opening) -> bool:
    """Whether what ran out at an opening was read: a volume of its bottle was entered after it was opened.

    Where nothing says when it was opened, and its pass was opened before, no sooner than it was closed.
    """
    read = case.timeline.readings("volume", read_with(case, one.pass_id))
    since = one.opened or 0
    if one.opened is None and one is not case.timeline.openings_at(one.pass_id)[0]:
        since = one.closed or 0
    return bool(read) and read[-1].seq >= since


def left_unread(case: Case) -> tuple[Act, ...]:
    """Return the acts that say that nobody read how much was in a bottle, where that pass has no reading after them."""
    return case.once("bottles-unread", lambda: _unread(case))


def _unread(case: Case) -> tuple[Act, ...]:
    last = {one.pass_id: one.seq for one in case.timeline.readings("volume")}
    silent = (act for act in case.timeline.acts if act.pass_id and (act.act == "skipped" or act.step == UNWRITTEN))
    steps = ((act, case.step(act.answer if act.step == UNWRITTEN else act.step)) for act in silent)
    return tuple(act for act, step in steps if step and step.what == "volume" and last.get(act.pass_id, -1) < act.seq)
