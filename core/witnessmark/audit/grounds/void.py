"""Visits that somebody declared void: they are to be done again, and no entry shows that they were.

A case and the verdict of a question flow in, the verdict flows out. Rules that hold here: what rests on a visit that
was declared void is no proof, whatever it shows; what stands against the job stays so; a visit is done again once each
of its nipples was opened after that, and where a wire command belongs to it, once that ran after it. A question that
asks about the record itself, and the people in it, asks about what was done all the same.
"""

from __future__ import annotations

from collections.abc import Mapping, Set

from msgspec import structs

from witnessmark.audit.case import Case
from witnessmark.audit.verdict import Detail, Verdict, from_details
from witnessmark.procedure.model import Pass

OF_THE_RECORD = (28, 29, 30, 31, 32)
"""Questions that ask about the record: when it was made, by whom, whether it is whole and can be true."""


def void(case: Case) -> Mapping[str, int]:
    """Return each pass that was to be done again and was not, with the entry that says so."""
    return case.once("void", lambda: {one.id: seq for one, seq in _again(case) if not _done(case, one, seq)})


def _again(case: Case) -> list[tuple[Pass, int]]:
    return [(case.passes[name], seq) for name, seq in case.timeline.again.items() if name in case.passes]


def _done(case: Case, one: Pass, seq: int) -> bool:
    """Whether a pass was done after an entry; one that runs a wire command may have been opened for it before."""
    runs = [run for run in case.timeline.actuations_of(one.id) if run.seq > seq and run.began == "yes"]
    openings = case.timeline.openings_at(one.id)
    anew = {each.nipple for each in openings if (max(each.cites) if runs else each.opened or 0) > seq}
    return anew.issuperset(one.nipples) and (bool(runs) or not one.wire_command)


def words(name: str, seq: int) -> str:
    """Say that a pass is still to be done again."""
    return f"{name} is to be done again (entry {seq}), and no entry shows that it was"


def left(case: Case) -> str:
    """Say which pass is still to be done again, of several the first; empty for none."""
    return next((words(*one) for one in void(case).items()), "")


def judged(case: Case, number: int, verdict: Verdict) -> Verdict:
    """Return the verdict of a question without what rests on a visit that was declared void."""
    if not void(case) or number in OF_THE_RECORD:
        return verdict
    details = tuple(_judged(case, one) for one in verdict.details)
    fallen = [one for one, was in zip(details, verdict.details, strict=True) if one.answer != was.answer]
    whole = _judged(case, Detail("", verdict.answer, verdict.text, verdict.cites))
    if fallen and verdict.answer != "not met":
        said = from_details(fallen, "").text
        text = said if verdict.answer == "met" else f"{whole.text}; {said}"
        whole = structs.replace(whole, answer="no proof", text=text)
    return Verdict(whole.answer, whole.text, details, whole.cites)


def _judged(case: Case, one: Detail) -> Detail:
    """Return a part as no proof where it is met by what is void; one that says what is void cites the entry for it.

    A part of another pass stands: it may cite an entry of this one, as the reading of the feed up to which it held.
    """
    at, met = _pass_of(case, one.subject), one.answer == "met"
    mine = {name: seq for name, seq in void(case).items() if met and at in ("", name)}
    found = {name: seq for name, seq in mine.items() if not _entries(case, name).isdisjoint(one.cites)}
    if found:
        text = "; ".join(words(*each) for each in found.items())
        return structs.replace(one, answer="no proof", text=text, cites=(*one.cites, *found.values()))
    said = tuple(seq for name, seq in void(case).items() if words(name, seq) in one.text)
    return structs.replace(one, cites=(*one.cites, *said)) if said else one


def _pass_of(case: Case, subject: str) -> str:
    """Return the pass that a part speaks of, empty where it speaks of none, or of the whole."""
    return next((name for name in case.passes if f"{subject},".startswith((f"{name},", f"{name} "))), "")


def _entries(case: Case, name: str) -> Set[int]:
    """Return the entries of a pass whose visit is void, also those of one that was begun again and not done."""

    def find() -> Set[int]:
        found = {entry.seq for entry, body in case.read if getattr(body, "pass_id", "") == name}
        found.update(*(one.cites for one in case.timeline.openings_at(name)))
        found.update(*(one.cites for one in case.timeline.actuations_of(name)))
        return found

    return case.once(("void entries", name), find)
