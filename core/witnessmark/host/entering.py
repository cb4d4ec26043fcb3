"""Keying a card in afterwards: what was written by hand becomes entries that say they were typed.

A point of the walk and the line written at it flow in, drafts flow out. Rules that hold here: every entry has the basis
`typed`, and its time is as coarse as it was written (`10:42` is that whole minute); a run is `told`; what was not done
is left out with its reason; what a machine would have read cannot be keyed in.

What can hardly be (a time before that of the line before, a value that no gauge shows) is a doubt, and is taken when it
is written once more; a time that is still to come is refused.

A line is `10:42` for a step, `10:42 what the container says`, `10:42 2.1 bar` for a reading, `10:42:05 10:42:15` for
a run (started, ended), `- why` for what was not done, `again STEP` for a step that is done again: it is asked next.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, tzinfo
from decimal import Decimal
from typing import Any

from witnessmark.clock import NS
from witnessmark.errors import InputError
from witnessmark.job.amount import unit_of, within
from witnessmark.job.container import READ_OFF, asked
from witnessmark.job.keys import told_run
from witnessmark.job.keys.again import offered
from witnessmark.job.plausible import bounds
from witnessmark.job.state import AGAIN, JobState
from witnessmark.job.steps import Point
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft, Occurred, occurred
from witnessmark.journal.store import Journal
from witnessmark.people.person import Person
from witnessmark.quantity import convert, parse

_TIME = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?")
AGAIN_WORD = "again"
FORMS = {
    "step": "10:42, or 10:42 and what was seen, or - and why not",
    "reading": "10:42 2.1 bar, or - and why not",
    "open": "10:42, or - and why not",
    "close": "10:42, or - and why not",
    "run": "10:42:05 10:42:15 (started, ended), or - and why not",
    "ask": "- and why the control unit was not read",
}


class Day:
    """The day the card was filled in, in the shop's zone. `now_ns` is the wall time at which it is keyed in."""

    def __init__(self, day: date, now_ns: int, zone: tzinfo | None = None) -> None:
        self._day = day
        self._now_ns = now_ns
        self._zone = zone

    def read(self, text: str) -> Occurred:
        """Return the range that a time as written stands for. Raises InputError for none, or one still to come."""
        match = _TIME.fullmatch(text)
        if match is None:
            raise InputError(f"{text!r} is no time", place="time", hint="write it like 10:42 or 10:42:05")
        hour, minute, second = (int(part or 0) for part in match.groups())
        moment = datetime(self._day.year, self._day.month, self._day.day, hour, minute, second, tzinfo=self._zone)
        start_ns = round(moment.timestamp()) * NS
        if start_ns > self._now_ns:
            raise InputError(f"{text} is still to come", place="time", hint="say which day is on the card: --on DAY")
        return occurred(start_ns, start_ns + (1 if match.group(3) else 60) * NS - 1, basis="typed")


def doubt(state: JobState, line: str, day: Day, before_ns: int) -> str:
    """Return why a line can hardly be so, empty when it can. `before_ns` is the time of the line before, 0 for none."""
    point = state.point
    first, _, rest = line.strip().partition(" ")
    if point is None or first in ("-", AGAIN_WORD):
        return ""
    when = day.read(first)
    if when.to_ns < before_ns:
        return f"{first} is before the time on the line before; past midnight, end here and go on with --on"
    if point.kind != "reading" or point.step is None:
        return ""
    amount = parse(rest.strip(), place=point.id, unit=_unit(point))
    unit = _unit(point) or amount.unit
    low, high = bounds(point.step.what or point.step.id, unit)
    value = amount.number if amount.unit == unit else convert(amount, unit)
    return "" if Decimal(low) <= value <= Decimal(high) else f"{amount.value} {amount.unit} can hardly be"


def _unit(point: Point) -> str:
    """Return the unit that a reading without one is taken in."""
    return unit_of(point.limit, point.step.unit if point.step else "")


def stays(state: JobState) -> str:
    """Return why a point stays as it is after its line was recorded, and what is written now."""
    point = state.point
    if state.wrong_fluid and point is not None and point.step is not None:
        wanted = asked(state.procedure, point.step)
        return f"recorded. It says {state.wrong_fluid}, asked for is {wanted}: write what the right container says"
    if refused(state):
        return "recorded, outside the limits. Write what was read later, or - and why it stays so"
    return "recorded. This step stays open and keeps the job from being finished; write it once it is done"


def time_of(line: str, day: Day) -> int:
    """Return the time that a line begins with, 0 where it says none."""
    first = line.split()[0]
    return 0 if first in ("-", AGAIN_WORD) else day.read(first).from_ns


def form(point: Point) -> str:
    """Return how the line of a point is written."""
    if point.kind == "reading":
        return f"10:42 and the value in {_unit(point) or '1'}, or - and why not"
    if point.step is not None and point.step.choices:
        return f"10:42 {point.step.choices[0]}, or - and why not"
    return FORMS[point.kind]


def refused(state: JobState) -> bool:
    """Whether the point is a reading that was outside its limits the last time."""
    point = state.point
    if point is None or point.kind != "reading" or point.step is None:
        return False
    last = state.reading(point.step.what or point.step.id)
    here = last is not None and (last.pass_id, last.nipple) == (point.pass_id, point.nipple)
    return here and last is not None and last.within is False


def enter(journal: Journal, state: JobState, line: str, day: Day, done_by: Person, entered_by: Person) -> None:
    """Write what one line of the card says of the next point. Raises InputError, having written nothing."""
    point = state.point
    assert point is not None
    first, _, step = line.strip().partition(" ")
    if first == AGAIN_WORD:
        _take_up(journal, state, step.strip(), done_by, entered_by)
        return
    for body, kind, when in _bodies(state, point, line.strip(), day):
        draft = Draft(kind, state.job, done_by.actor, entered_by.actor, when, bodies.to_body(body))
        entry = journal.append(draft)
        if isinstance(body, bodies.Intent):
            end = day.read(line.split()[1])
            outcome = _outcome(entry.seq, point)
            journal.append(Draft("outcome", state.job, done_by.actor, entered_by.actor, end, bodies.to_body(outcome)))


def _take_up(journal: Journal, state: JobState, step: str, done_by: Person, entered_by: Person) -> None:
    """Write that a step is taken up again: it is asked for next. Raises InputError for one that may not be."""
    ids = [one.step.id for one in offered(state).values() if one.step is not None]
    if step not in ids:
        known = f"one of: {', '.join(ids)}" if ids else "no step that is passed may be done again"
        raise InputError(f"{step!r} is not done again here", place="again", hint=known)
    body = bodies.StepDone(step=AGAIN, act="confirmed", answer=step)
    journal.append(Draft("step", state.job, done_by.actor, entered_by.actor, body=bodies.to_body(body)))


def _bodies(state: JobState, point: Point, line: str, day: Day) -> Sequence[Any]:
    first, _, rest = line.partition(" ")
    if first == "-" or point.kind == "ask":
        if first != "-" or not rest.strip():
            raise InputError("this is not understood", place=point.id, hint=f"write {FORMS['ask']}")
        return [(_left_out(state, point, rest.strip()), "step", None)]
    when = day.read(first)
    if point.kind == "run":
        ended = day.read(rest.strip())
        if ended.to_ns < when.from_ns:
            raise InputError("it ended before it started", place=point.id, hint=f"write {FORMS['run']}")
        one = state.pass_of(point.pass_id)
        assert one is not None
        return [(told_run.started(state, one), "intent", when)]
    if point.kind == "reading":
        return [(_reading(point, rest.strip(), state), "reading", when)]
    return [(_step(point, rest.strip()), "step", when)]


def _left_out(state: JobState, point: Point, why: str) -> bodies.StepDone:
    step = point.step.id if point.step else point.kind
    if refused(state):  # not left out: it was read, and stays as it was read
        return bodies.StepDone(step=step, act="confirmed", pass_id=point.pass_id, nipple=point.nipple, said=why)
    return bodies.StepDone(step=step, act="skipped", pass_id=point.pass_id, nipple=point.nipple, said=why)


def _step(point: Point, said: str) -> bodies.StepDone:
    if point.kind in ("open", "close"):
        act = "opened" if point.kind == "open" else "closed"
        return bodies.StepDone(step=point.kind, act=act, pass_id=point.pass_id, nipple=point.nipple)  # type: ignore[arg-type]
    step = point.step
    assert step is not None
    reads_off = step.affects in READ_OFF
    if reads_off and not said:
        raise InputError("it does not say what was read", place=point.id, hint="write 10:42 DOT 4")
    return bodies.StepDone(
        step=step.id,
        act="confirmed" if step.act == "check" else "done",
        pass_id=point.pass_id,
        nipple=point.nipple,
        affects=step.affects,
        answer=said if reads_off or said in step.choices else "",
        said="" if reads_off or said in step.choices else said,
        also=point.also,
    )


def _reading(point: Point, text: str, state: JobState) -> bodies.Reading:
    step = point.step
    assert step is not None
    amount = parse(text, place=point.id, unit=_unit(point))
    limit = point.limit
    compared = amount
    if limit is not None:
        unit = parse(limit.low or limit.high, place="limit").unit
        if unit != amount.unit:
            compared = parse(f"{convert(amount, unit):.4f} {unit}", place=point.id)
    return bodies.Reading(
        what=step.what or step.id,
        amount=bodies.Amount(value=amount.value, unit=amount.unit),
        step=step.id,
        pass_id=point.pass_id,
        instrument=step.instrument,
        low=limit.low if limit else "",
        high=limit.high if limit else "",
        within=within(compared, limit),
        nipple=point.nipple,
        affects=step.affects,
        also=point.also,
        calibrated_until=dict(state.instruments).get(step.instrument, ""),
    )


def _outcome(actuation: int, point: Point) -> bodies.Outcome:
    return bodies.Outcome(
        actuation=actuation, pass_id=point.pass_id, result="completed", stop="confirmed", why="as the card says"
    )
