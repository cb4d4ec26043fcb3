"""What an erasure takes and what it leaves: a person's data goes, what a list of this program says stays.

A journal and a job flow in, the `erasure` entry flows out. Rules that hold here: plate, customer, complaint, names and
captions of files, and whatever somebody put in their own words go; a reason that the screen itself offers tells of
nobody, so it stays whoever picked it, and findings go on saying it.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.job import reasons
from witnessmark.job.screens.run_view import LOOKED
from witnessmark.journal import personal
from witnessmark.journal.commitment import Kept
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal

FIELDS = ("said", "why")
"""Where a reason may stand."""
BY_ITSELF = ("late", "paused by the technician", "gone on with after it was left")
"""What is written there without anybody's words: that of a key, or of going on."""
STAYS = (
    "the number of the vehicle, what the shop calls it, ids of people, times, readings, choices, reasons picked from a "
    "list, and what the machine saw"
)


def ready_made() -> frozenset[str]:
    """Return every reason that a list of this program offers."""
    found = {*BY_ITSELF, *LOOKED.values()}
    for name, value in vars(reasons).items():
        if name.isupper() and not isinstance(value, int):
            found |= {value} if isinstance(value, str) else {*value}
    return frozenset(found | {one.partition(" ")[2] for one in reasons.pass_first(["p"])})


def to_erase(journal: Journal, job: str) -> dict[str, Kept]:
    """Return what an erasure of `job` takes, by commitment."""
    known = ready_made()
    values = personal.values_of(journal, job).items()
    return {mark: one for mark, one in values if one.field not in FIELDS or one.value not in known}


def erase(journal: Journal, job: str, by: str, why: str, copies: Sequence[str]) -> Entry:
    """Delete it, and return the entry. Raises as `personal.erase` does."""
    return personal.erase(journal, job, by, why, copies, to_erase(journal, job))
