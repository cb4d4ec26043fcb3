"""What readings and steps say as they were corrected.

A case flows in, amounts and words by their entries flow out. Rules that hold here: a correction that cannot be read
changes nothing, for the audit names it; what is said as corrected says what was first entered too; what was taken back
is said by nothing here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from witnessmark.audit import amended
from witnessmark.audit.assemble import body_of
from witnessmark.audit.case import Case, corrected
from witnessmark.audit.timeline import Act, Gauge
from witnessmark.errors import InputError, WitnessmarkError
from witnessmark.journal import bodies
from witnessmark.journal.entry import withdrawn
from witnessmark.quantity import Quantity

Now = Mapping[int, Quantity]
"""The amount of each corrected reading by its `seq`."""


def read_now(case: Case) -> Now:
    """Return the amount of each reading that was corrected to another."""
    found = {}
    for seq, body in _corrected(case).items():
        was = case.timeline.gauge(seq)
        if was is not None and isinstance(body, bodies.Reading):
            now = Quantity(body.amount.value, body.amount.unit)
            if str(now) != str(was.amount):
                found[seq] = now
    return found


def amount(one: Gauge, now: Now) -> str:
    """Return what was read, as corrected where it was, and then what was first entered."""
    return f"{now[one.seq]} (corrected, first {one.amount})" if one.seq in now else str(one.amount)


def answers(case: Case, acts: Iterable[Act]) -> list[tuple[str, str]]:
    """Return what was chosen or read off at each act as it stands now, and in words, with what was first entered."""
    found = []
    for act in acts:
        body = _corrected(case).get(act.seq)
        now = body.answer if isinstance(body, bodies.StepDone) else act.answer
        said = now if now == act.answer else f"{now or 'nothing'} (corrected, first {act.answer or 'nothing'})"
        found.append((now, said))
    return found


def taken_back(case: Case) -> frozenset[int]:
    """Return the entries that were taken back."""
    return case.once("taken-back", lambda: withdrawn(case.entries) if case.of_kind("amendment") else frozenset())


def counted(case: Case) -> Case:
    """Return the case as first written without what was taken back, itself where nothing was."""
    if not taken_back(case):
        return case
    return case.once("counted", lambda: corrected(case, amended.without_taken_back(case.entries)))


def on_both(case: Case, tell: Callable[[Case], list[str]]) -> list[str]:
    """Return what is told of a case; a line that only its entries as first written give, or as corrected, says so."""
    first, now = tell(counted(case)), tell(as_corrected(case))
    was = [one if one in now else f"{one} (as first written)" for one in first]
    return was + [f"{one} (as corrected)" for one in now if one not in first]


def as_corrected(case: Case) -> Case:
    """Return the case as it was corrected, without what was taken back; where that cannot be read, as `counted`."""
    return case.once("as-corrected", lambda: _as_corrected(case)) if case.of_kind("amendment") else case


def _as_corrected(case: Case) -> Case:
    try:
        return corrected(case, amended.as_corrected(case.entries))
    except WitnessmarkError:
        return counted(case)


def _corrected(case: Case) -> Mapping[int, bodies.Body]:
    """Return the body of each corrected entry as it was corrected."""
    return case.once("read-now", lambda: _read(case))


def _read(case: Case) -> Mapping[int, bodies.Body]:
    if not case.of_kind("amendment"):
        return {}
    found = {}
    try:
        made = amended.as_corrected(case.entries)
    except InputError:
        return {}
    for entry, first in zip(made, case.entries, strict=True):
        try:
            body = None if entry is first else body_of(entry)
        except InputError:
            continue
        if body is not None:
            found[entry.seq] = body
    return found
