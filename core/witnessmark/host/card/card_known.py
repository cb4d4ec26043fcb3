"""What the journal already has of when the work of a job was done, which a card is held against.

The entries of a job flow in, when the machine last saw work and the last time that is known flow out. Rules that hold
here: a time is known as a card or a clock says it, to a minute or better; what is wider says nothing; before any work
there is the opening, and a card of an earlier day is for before it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from witnessmark.audit.say import NO_CALENDAR, moment
from witnessmark.journal.entry import Entry, withdrawn
from witnessmark.journal.kinds import WORK


@dataclass(frozen=True, slots=True)
class Known:
    """`live_ns`: when the machine last saw work, 0 for never; `last_ns` and `what`: the last known time, and of what.

    `opens` says that this is the opening of the job and no work.
    """

    live_ns: int = 0
    last_ns: int = 0
    what: str = ""
    opens: bool = False

    def day_before(self, now_ns: int) -> str:
        """Return the day of the last known time, where that is before today; else empty."""
        last, now = moment(self.last_ns, None), moment(now_ns, None)
        return str(last.date()) if self.last_ns and last and now and last.date() < now.date() else ""

    def after(self, began_ns: int) -> Known:
        """Return what is known after a line that begins with this time, 0 for one that says none."""
        return Known(self.live_ns, began_ns, "the time on the line before") if began_ns else self


def known(entries: Iterable[Entry]) -> Known:
    """Return what the entries of a job say."""
    found, all_ = Known(), tuple(entries)
    gone = withdrawn(all_)
    for entry in all_:
        if entry.seq in gone:
            continue
        live, at = entry.occurred.basis != "typed", entry.occurred
        if entry.kind == "job-opened":
            found = Known(0, at.from_ns, f"the job was opened ({_clock(at.from_ns)})", opens=True)
        elif entry.kind in WORK and at.timed:
            what = f"what entry {entry.seq} says ({_clock(at.from_ns)})"
            found = Known(at.from_ns if live else found.live_ns, at.from_ns, what)
    return found


def _clock(ns: int) -> str:
    said = moment(ns, None)
    return NO_CALENDAR if said is None else f"{said:%H:%M:%S}"
