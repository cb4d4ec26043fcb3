"""Nipples that were not opened while the run of their pass lasted: said so, or shut again before it, or with no entry.

A case flows in, the numbers of such entries flow out, and what they say in words. Rules that hold here: the entry
speaks of the last run of its pass before it; an opening of the same nipple that may have lasted while that run did
stands against it, and where both were said neither is proof; one that was surely shut before the run began tells
nothing of it, for it may have been opened again with no entry; nor does one that only may have been shut by then.
"""

from __future__ import annotations

from witnessmark.audit.case import Case, not_opened
from witnessmark.audit.cited import spell
from witnessmark.audit.grounds.sequence import Mark, closed, not_after
from witnessmark.audit.timeline import Actuation, Opening
from witnessmark.range import Sure


def missed(case: Case, run: Actuation, nipple: str) -> tuple[int, ...]:
    """Return the entries that say that a nipple was not opened while this run lasted."""
    said = case.missed_at(run.pass_id, nipple)
    return tuple(seq for seq in said if _spoken_of(case, run.pass_id, seq) is run)


def contrary(case: Case, opening: Opening) -> tuple[int, ...]:
    """Return the entries that say of a run in which this nipple may have been open that it was not opened."""
    found = []
    for seq in case.missed_at(opening.pass_id, opening.nipple):
        run = _spoken_of(case, opening.pass_id, seq)
        if run is None or run.ran is None or over(case, opening, run):
            continue
        if opening.open.meets(run.ran) != "no":
            found.append(seq)
    return tuple(found)


def over(case: Case, opening: Opening, run: Actuation) -> bool:
    """Say whether an opening was over before a run began, as the times or the journal tell."""
    return _over(case, opening, run) == "yes"


def shut_before(case: Case, run: Actuation, nipple: str) -> Opening | None:
    """Return the last opening of a nipple on the pass of a run, where each was over before it; None for any other.

    Nor is there one where an opening of another pass may have lasted while it ran.
    """
    mine = case.timeline.openings_of(nipple, run.pass_id)
    near = case.timeline.open_in(run)
    may = any(one.nipple == nipple and not over(case, one, run) for one in near)
    return mine[-1] if mine and not may and all(over(case, one, run) for one in mine) else None


def may_be_shut_before(case: Case, run: Actuation, nipple: str) -> bool:
    """Whether each opening of a nipple on the pass of a run may have been over before it, as far as the times tell."""
    mine = case.timeline.openings_of(nipple, run.pass_id)
    return bool(mine) and all(may_be_over(case, one, run) for one in mine)


def may_be_over(case: Case, opening: Opening, run: Actuation) -> bool:
    """Whether an opening may have been over before a run began, as far as the times tell."""
    return _over(case, opening, run) != "no"


def _over(case: Case, opening: Opening, run: Actuation) -> Sure:
    """Say how sure it is that an opening was over before a run began; `no` where nothing closed it, or it never ran."""
    if run.ran is None or opening.closed is None:
        return "no"
    began = Mark(run.ran.start, run.seq)
    return case.once(("over", opening, run.seq), lambda: not_after(case, closed(opening), began))


def in_words(case: Case, run: Actuation, nipple: str) -> tuple[str, tuple[int, ...]]:
    """Return in words that no entry has a nipple open while this run lasted, and the entries on it."""
    shut = shut_before(case, run, nipple)
    if shut is None:
        return case.no_opening(run.pass_id, nipple)
    text = f"shut again before the run began ({spell(shut.cites[-1:])})"
    if against := missed(case, run, nipple):
        return f"{text}, and {not_opened(against)}", (*shut.cites, *against)
    return f"{text}, and no entry opens it after that", shut.cites


def _spoken_of(case: Case, pass_id: str, seq: int) -> Actuation | None:
    return next((run for run in reversed(case.timeline.actuations_of(pass_id)) if run.seq < seq), None)
