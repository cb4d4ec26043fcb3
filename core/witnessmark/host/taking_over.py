"""Taking over a job from another bay: its evidence is verified, then cited by the job's first entry here.

An evidence file flows in, the `moved` entry flows out. Rules that hold here: a file that is not as it was written is
refused; a run whose end nobody knew there is asked about here before anything else; the job is paused here, so that
readings, supports and container are asked again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from witnessmark.audit.verify import verify
from witnessmark.errors import InputError
from witnessmark.host.folded import first_unfit
from witnessmark.host.history import parsed
from witnessmark.host.shop import Shop
from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.runs import owed_for
from witnessmark.job.walk.standing import as_left
from witnessmark.job.walk.state import JobState
from witnessmark.journal import bodies, going_on, joining, moving
from witnessmark.journal import entry as entries
from witnessmark.journal.checkpoint import Anchor
from witnessmark.journal.entry import Draft, Entry
from witnessmark.people.person import Person

SOUND = ("intact", "consistent, unanchored")
ENDED = ("released", "abandoned")


@dataclass(frozen=True, slots=True)
class TakenOver:
    """The `moved` entry, and how the other bay's file was found."""

    entry: Entry
    verdict: str
    unended: bool = False
    """Whether nobody knows how a run there ended."""
    marked: bool = True
    """Whether the other bay knew that the job leaves it."""
    to: str = ""
    """Which bay it was handed over to, empty where that bay does not know."""
    left: tuple[str, ...] = ()
    """What stands open on the vehicle as it came, and what is still to be bled."""


def take_over(
    shop: Shop,
    file: Path,
    by: Person,
    *,
    earlier: Sequence[Path] = (),
    name: str | None = None,
    anchor: Anchor | None = None,
    plate: str = "",
    customer: str = "",
) -> TakenOver:
    """Verify `file` and `earlier`, and begin the job here. Raises InputError, naming the file, for one that is
    not sound, whose job has ended, or goes on here already.
    """
    verdict = ""
    parts = []
    for one in (*earlier, file):
        data = moving.one_bytes(one)
        found = verify(data, anchor if one == file else None, name=str(one))
        if found.verdict not in SOUND:
            raise InputError(f"{found.verdict}: {found.text}", place=str(one), hint="ask the other bay for it again")
        parts.append(parsed(data))
        verdict = found.verdict
    moving.check_goes_on([(str(one), moving.one_bytes(one)) for one in (*earlier, file)])
    state = _state((*earlier, file), parts)
    if state.status in ENDED:
        hint = "nobody goes on with it; what comes after is a job of its own"
        raise InputError(f"the job is {state.status} there", place=str(file), hint=hint)
    job = name or str(parts[-1][0].job)
    why = f"goes on from {parts[-1][0].job} of another bay"
    paused = Draft("state", job, by.actor, body=bodies.to_body(bodies.State(state="paused", why=why)))
    entries.check(paused)
    with shop.write() as journal:
        before = [moving.one_bytes(one) for one in earlier]
        going_on.check_once(journal, moving.one_bytes(file), str(file), before)
        moving.check_name(journal, job)
        told = {"registration": " ".join(plate.split()).upper(), "customer": " ".join(customer.split())}
        kept = {field: value for field, value in told.items() if value}
        entry = moving.take_over(
            journal, file, by.actor, job=job, earlier=earlier, personal=kept, owed=owed_for(state), then=[paused]
        )
    unended = bool(state.unended) or state.inspect is not None
    return TakenOver(entry, verdict, unended, moving.marked(parts[-1]), _to(parts[-1]), as_left(state))


def _state(files: Sequence[Path], parts: Sequence[Sequence[Entry]]) -> JobState:
    """Return where the job stood there. Raises InputError naming the entry that does not fit its kind."""
    try:
        return fold(joining.before_last(parts))
    except (msgspec.ValidationError, InputError) as error:
        found = ((one, first_unfit(part)) for one, part in zip(files, parts, strict=True))
        place = next((f"{one} entry {first.seq}" for one, first in found if first is not None), str(files[-1]))
        what = f"the record of job {parts[-1][0].job} cannot be read: {error}"
        hint = (
            "it was altered there, or a later version wrote it: open a job of its own, and look at the vehicle itself"
        )
        raise InputError(what, place=place, hint=hint) from error


def _to(last: Sequence[Entry]) -> str:
    """Return the bay that a job was handed over to, as the other bay calls it."""
    return str(last[-1].body["to"]) if moving.marked(last) else ""
