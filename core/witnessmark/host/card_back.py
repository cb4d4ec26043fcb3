"""Taking back what was keyed in last: a mistyped line is withdrawn, and asked for again.

The entries of a job flow in, an amendment of the last keyed entry flows out, or of both ends of a run. Rules that hold
here: nothing is removed, every reader shows both; only what was keyed in is taken back, the last line first, and
nothing on which somebody worked on at the bay's screen.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.errors import InputError
from witnessmark.job.fold import fold
from witnessmark.journal import amendment
from witnessmark.journal.entry import WITHDRAWN, Draft, Entry
from witnessmark.journal.kinds import WORK

BACK_WORD = "back"


def taken_back(entries: Sequence[Entry], by: str, why: str) -> list[Draft]:
    """Return the drafts by which the last keyed entry is taken back. Raises InputError where there is none."""
    gone = amendment.withdrawn(entries)
    left = [one for one in entries if one.seq not in gone]
    drafts: list[Draft] = []
    while not drafts or fold(left).open_intent is not None:
        work = [one for one in left if one.kind in WORK or one.kind == "state"]
        last = work[-1] if work else None
        if last is None or last.kind == "state" or last.occurred.basis != "typed":
            what = "nothing that was keyed in stands last" + ("" if last is None else f": entry {last.seq} is no line")
            raise InputError(what, place=BACK_WORD, hint="write the line that is asked for, or again and what is done")
        left.remove(last)
        body = {"instead": {WITHDRAWN: True}, "reason": why or "keyed in by mistake", "target": last.seq}
        drafts.append(Draft("amendment", last.job, by, body=body, corrects=last.kind))
    return drafts
