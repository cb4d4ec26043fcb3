"""Taking back what was keyed in last: a mistyped line is withdrawn, and asked for again.

The entries of a job flow in, an amendment of each entry of the last line flows out. Rules that hold here: a line is
taken back whole, as it was recorded (a run with both its ends, with who was ready and with what opened with it; a
reading with what ran unclear, a mend with where it was); nothing is removed, every reader shows both; only what was
keyed in is taken back, the last line first, and nothing on which somebody worked on at the bay's screen.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.errors import InputError
from witnessmark.journal.entry import WITHDRAWN, Draft, Entry, withdrawn
from witnessmark.journal.kinds import WORK
from witnessmark.procedure import own

BACK_WORD = "back"
TOLD = ("scan", "condition")
"""What else than work a line may say: what another tester showed."""
BEHIND_A_MEND = (own.MENDED_AT, own.WAS_SAFE)
"""What a card says of a mend behind what was mended, with it on one line."""


def taken_back(entries: Sequence[Entry], by: str, why: str) -> list[Draft]:
    """Return the drafts by which the last line is taken back. Raises InputError where there is none."""
    gone = withdrawn(entries)
    left = [one for one in entries if one.seq not in gone]
    work = [one for one in left if one.kind in (*WORK, "state") or (one.kind in TOLD and one.occurred.basis == "typed")]
    last = work[-1] if work else None
    if last is None or last.kind == "state" or last.occurred.basis != "typed":
        what = "nothing that was keyed in stands last" + ("" if last is None else f": entry {last.seq} is no line")
        raise InputError(what, place=BACK_WORD, hint="write the line that is asked for, or again and what is done")
    return [
        Draft(
            "amendment",
            one.job,
            by,
            body={"instead": {WITHDRAWN: True}, "reason": why or "keyed in by mistake", "target": one.seq},
            corrects=one.kind,
        )
        for one in reversed(_line(work))
    ]


def _line(work: Sequence[Entry]) -> Sequence[Entry]:
    """Return the entries that the last line wrote."""
    first = last = len(work) - 1
    if work[last].body.get("step") == own.UNCLEAR:
        first -= 1
    while first > 0 and work[first].body.get("step") in BEHIND_A_MEND and work[first - 1].occurred.basis == "typed":
        first -= 1
    while first > 0 and _opens(work[first]) and _one_pass(work[first - 1], work[last]):
        first -= 1
    if first < last and _opens(work[last]) and not _ran(work[first]):
        first = last  # lines of their own: the nipple opens before the run
    if work[first].kind == "outcome" and first > 0 and work[first - 1].kind == "intent":
        first -= 1
    ready = work[first - 1] if first > 0 and _starts(work[first]) else None
    if ready is not None and ready.body.get("step") == own.READY and _one_pass(ready, work[first]):
        first -= 1
    return work[max(first, 0) :]


def _opens(one: Entry) -> bool:
    """Whether it says of a nipple that it was opened, or that this is not written."""
    silent = one.body.get("step") == own.UNWRITTEN and one.body.get("answer") == "open"
    return one.kind == "step" and (one.body.get("act") == "opened" or silent)


def _ran(one: Entry) -> bool:
    """Whether it is the last that a line says of the run itself."""
    return one.kind == "outcome" or _silent_run(one)


def _starts(one: Entry) -> bool:
    return one.kind == "intent" or _silent_run(one)


def _silent_run(one: Entry) -> bool:
    return one.body.get("step") == own.UNWRITTEN and one.body.get("answer") == "run"


def _one_pass(one: Entry, other: Entry) -> bool:
    typed = one.occurred.basis == other.occurred.basis == "typed"
    return typed and one.body.get("pass_id") == other.body.get("pass_id")
