"""Keying a card in afterwards: what was written by hand becomes entries that say they were typed.

A point of the walk and the line written at it flow in, drafts flow out. Rules that hold here: every entry has the basis
`typed`; a run is `told`; a point is left out only where the bay's screen lets it be; what a machine would have read
cannot be keyed in; a box that is not written is empty, and nothing is recorded of it; a line is recorded whole or not
at all, and only while nobody else works on the job.

What can hardly be (a time before that of the line before, a value that no gauge shows, boxes all left empty) is a
doubt, and is taken when it is written once more.

A line is `10:42` for a step (`?` for a time that the card does not have), `10:42 what the container says`,
`10:42 2.1 bar` for a reading, `10:42 8 N.m, clear, capped` for one with boxes, `10:42:05 10:42:15` for a run (started,
ended, and when each nipple opened that opens with it), `- why` for what was left out, `again STEP` or `again PASS` for
what was done again, `first PASS why` for a pass that was taken before its turn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from typing import Any

from witnessmark.errors import InputError, LocalError
from witnessmark.host.card_line import AGAIN_WORD, FIRST_WORD, LEFT, Day, Line, first_word, read_line
from witnessmark.host.history import history
from witnessmark.host.shop import Shop
from witnessmark.job.amount import unit_of, within
from witnessmark.job.container import READ_OFF, asked
from witnessmark.job.fold import fold
from witnessmark.job.keys import told_run
from witnessmark.job.keys.again import offered
from witnessmark.job.places import BOXES, NO, NOT_CLEAR, YES, Places, may_leave, places
from witnessmark.job.plausible import bounds
from witnessmark.job.state import AGAIN, OTHER_PASS, READY, REDO, JobState
from witnessmark.job.steps import Point
from witnessmark.journal import bodies, moving
from witnessmark.journal.entry import Draft, Occurred
from witnessmark.journal.store import Journal
from witnessmark.people.person import Person
from witnessmark.quantity import convert, parse

UNCLEAR = "not-clear"
"""The step by which a card says that the fluid did not run clear, beside the reading that was taken all the same."""
MEANWHILE = "something was written meanwhile"


def state_of(shop: Shop, job: str) -> JobState:
    """Return where a job stands. Raises LocalError while it waits for something that no card can say."""
    with shop.read() as journal:
        journal.job_texts(job)
        moving.check_here(journal, job)
        state = fold(history(journal, job))
    if state.status not in ("open", "paused"):
        raise LocalError(f"the job is {state.status}: nothing more is keyed in", hint="open a job that follows it")
    if state.open_intent is not None or state.inspect is not None or state.decide:
        raise LocalError("a run of this job waits for somebody to look", hint=f"witnessmark job run {job}")
    return state


@contextmanager
def writing(shop: Shop, state: JobState) -> Iterator[Journal]:
    """Open the journal for one line; another job may go on in this bay meanwhile.

    Raises InputError where the job is not as it was when the line was asked for, JournalError while somebody works on
    this job or on the journal itself.
    """
    with shop.beside(state.job, "job enter") as journal:
        if fold(history(journal, state.job)).last_seq != state.last_seq:
            raise InputError(MEANWHILE, place="job", hint="look at what is asked now; this line was not recorded")
        yield journal


def here(state: JobState) -> Places:
    """Return the places of the point that is asked for."""
    assert state.point is not None
    return places(state.point, state.pass_of(state.point.pass_id))


def doubt(state: JobState, text: str, day: Day, before_ns: int) -> str:
    """Return why a line can hardly be so, empty when it can. `before_ns` is the time of the line before, 0 for none."""
    point = state.point
    first, _ = first_word(text)
    if point is None or first in (LEFT, AGAIN_WORD, FIRST_WORD):
        return ""
    line = read_line(text, here(state), day, point.id)
    if line.times[0].to_ns < before_ns:
        return f"{first} is before the time on the line before; past midnight, end here and go on with --on"
    if here(state).by and not line.by:
        return "it does not say by whom: a second person is asked for, and without one there is no proof of them"
    if point.kind != "reading" or point.step is None:
        return ""
    return _value_doubt(point, line) or _box_doubt(point, line)


def _value_doubt(point: Point, line: Line) -> str:
    assert point.step is not None
    amount = parse(line.value, place=point.id, unit=_unit(point))
    unit = _unit(point) or amount.unit
    low, high = bounds(point.step.what or point.step.id, unit)
    value = amount.number if amount.unit == unit else convert(amount, unit)
    return "" if Decimal(low) <= value <= Decimal(high) else f"{amount.value} {amount.unit} can hardly be"


def _box_doubt(point: Point, line: Line) -> str:
    empty = [" or ".join(BOXES[word]) for word in point.also if word in BOXES and not {*BOXES[word]} & {*line.boxes}]
    return f"no box is written: {', '.join(empty)}. Of an empty box there is no proof" if empty else ""


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


def form(state: JobState) -> str:
    """Return how the line of the point that is asked for is written."""
    point, at = state.point, here(state)
    assert point is not None
    ways = ["10:42"] if at.times else []
    if len(at.times) > 1:
        moments = [f"10:42:{seconds:02}" for seconds in (5, 15, *range(6, 6 + len(at.times) - 2))]
        ways = [f"{' '.join(moments)} ({', '.join(('started', 'ended', *at.times[2:]))})"]
    if at.unit is not None:
        ways = [f"10:42 and the value in {at.unit or '1'}"]
        ways[0] += f", then what is ticked: {', '.join(at.boxes)} (not clear: what was seen)" if at.boxes else ""
    elif at.boxes == (YES, NO):
        ways = ["10:42 yes", "10:42 no and what was seen"]
    elif at.boxes:
        ways = [f"10:42 {at.boxes[0]}"]
    elif point.step is not None and point.step.affects in READ_OFF:
        ways = ["10:42 and what it says"]
    if ways and at.by:
        ways[-1] += ", then by and the second person's id"
    if refused(state):
        ways.append("- and why it stays so")
    elif may_leave(point):
        ways.append(f"- and {_why(point)}")
    return ", or ".join(ways)


def _why(point: Point) -> str:
    if point.kind == "ask":
        return "why the control unit was not read"
    unread = point.step is not None and point.step.affects in READ_OFF
    check = point.step is not None and point.step.act == "check"
    return "why it cannot be read" if unread else "why it could not be seen" if check else "why it was left out"


def refused(state: JobState) -> bool:
    """Whether the point is a reading that was outside its limits the last time."""
    point = state.point
    if point is None or point.kind != "reading" or point.step is None:
        return False
    last = state.reading(point.step.what or point.step.id)
    same = last is not None and (last.pass_id, last.nipple) == (point.pass_id, point.nipple)
    return same and last is not None and last.within is False


def enter(journal: Journal, state: JobState, text: str, day: Day, done_by: Person, entered_by: Person) -> int:
    """Write what one line says of the next point, whole. Return the time it begins with, 0 where it says none.

    Raises InputError, having written nothing.
    """
    point = state.point
    assert point is not None
    first, rest = first_word(text)
    if first in (AGAIN_WORD, FIRST_WORD):
        body = _again(state, rest) if first == AGAIN_WORD else _first(state, rest)
        journal.append(Draft("step", state.job, done_by.actor, entered_by.actor, body=bodies.to_body(body)))
        return 0
    line = read_line(text, here(state), day, point.id)
    second = Person(line.by) if line.by else done_by
    drafts = []
    for kind, when, body in _bodies(state, point, line):
        by_second = not isinstance(body, bodies.Intent | bodies.Outcome) and getattr(body, "act", "") != "opened"
        whose = second if by_second else done_by
        after = "actuation" if isinstance(body, bodies.Outcome) else ""
        drafts.append(Draft(kind, state.job, whose.actor, entered_by.actor, when, bodies.to_body(body), after=after))
    journal.append_many(drafts)
    return line.begins_ns


def _again(state: JobState, what: str) -> bodies.StepDone:
    """Return that a step, or the pass in hand, is taken up again: it is asked for next. Raises InputError."""
    if what and what == _pass_in_hand(state):
        return bodies.StepDone(step=REDO, act="done", pass_id=what)
    ids = [one.step.id for one in offered(state).values() if one.step is not None]
    if what not in ids:
        ids += [_pass_in_hand(state)] if _pass_in_hand(state) else []
        known = f"one of: {', '.join(ids)}" if ids else "no step that is passed may be done again"
        raise InputError(f"{what!r} is not done again here", place=AGAIN_WORD, hint=known)
    return bodies.StepDone(step=AGAIN, act="confirmed", answer=what)


def _pass_in_hand(state: JobState) -> str:
    """Return the pass of which something is done and no step behind it is, empty for none."""
    done = [one for one in state.points[: state.cursor] if not one.again]
    return done[-1].pass_id if done else ""


def _first(state: JobState, text: str) -> bodies.StepDone:
    """Return that a later pass was taken before its turn. Raises InputError."""
    pass_id, why = first_word(text)
    ahead = state.passes_ahead[1:]
    if pass_id not in ahead or not why:
        known = f"write first, one of {', '.join(ahead)}, and why" if ahead else "only before the next pass is begun"
        raise InputError(f"{text!r} is no later pass and a reason", place=FIRST_WORD, hint=known)
    return bodies.StepDone(step=OTHER_PASS, act="confirmed", pass_id=pass_id, said=why)


Made = tuple[str, Occurred | None, Any]


def _bodies(state: JobState, point: Point, line: Line) -> Sequence[Made]:
    """Return kind, time and body of each entry of a line."""
    if line.why:
        return [("step", None, _left_out(state, point, line.why))]
    when = line.times[0]
    if point.kind == "run":
        one = state.pass_of(point.pass_id)
        assert one is not None
        result = bodies.Outcome(
            actuation=0, pass_id=one.id, result="completed", stop="confirmed", why="as the card says"
        )
        made: list[Made] = [("intent", when, told_run.started(state, one)), ("outcome", line.times[1], result)]
        for nipple, at in zip(one.nipples, line.times[2:], strict=False):
            made.append(("step", at, bodies.StepDone(step="open", act="opened", pass_id=one.id, nipple=nipple)))
        ready = bodies.StepDone(step=READY, act="confirmed", pass_id=one.id)
        return [("step", when, ready), *made] if line.by else made
    if point.kind == "reading":
        return [("reading", when, _reading(point, line, state)), *_unclear(point, line)]
    return [("step", when, _step(state, point, line))]


def _left_out(state: JobState, point: Point, why: str) -> bodies.StepDone:
    step = point.step.id if point.step else point.kind
    if refused(state):  # not left out: it was read, and stays as it was read
        return bodies.StepDone(step=step, act="confirmed", pass_id=point.pass_id, nipple=point.nipple, said=why)
    if not may_leave(point):
        hint = "write it as the card says it; what is not on the card is done now, with `witnessmark job run`"
        raise InputError("this cannot be left out", place=point.id, hint=hint)
    return bodies.StepDone(step=step, act="skipped", pass_id=point.pass_id, nipple=point.nipple, said=why)


def _unclear(point: Point, line: Line) -> Sequence[Made]:
    """Return that it was looked at and did not run clear, where that box is ticked."""
    if NOT_CLEAR not in line.boxes:
        return ()
    body = bodies.StepDone(
        step=UNCLEAR, act="skipped", pass_id=point.pass_id, nipple=point.nipple, affects="clear", said=line.words,
        looked=True,
    )  # fmt: skip
    return [("step", line.times[0], body)]


def _step(state: JobState, point: Point, line: Line) -> bodies.StepDone:
    if point.kind in ("open", "close"):
        act = "opened" if point.kind == "open" else "closed"
        return bodies.StepDone(step=point.kind, act=act, pass_id=point.pass_id, nipple=point.nipple)  # type: ignore[arg-type]
    step = point.step
    assert step is not None
    said = line.boxes[0] if line.boxes and line.boxes[0] not in (YES, NO) else line.words
    reads_off = step.affects in READ_OFF
    if reads_off and not said:
        raise InputError("it does not say what was read", place=point.id, hint="write 10:42 DOT 4")
    if step.act == "check" and not step.choices and not reads_off and not line.boxes:
        hint = "write 10:42 yes, or 10:42 no and what was seen; an empty box is no proof: then look now, with `job run`"
        raise InputError("it says neither yes nor no", place=point.id, hint=hint)
    if step.choices and not said:
        hint = f"write 10:42 and one of: {', '.join(step.choices)}, or what else it was"
        raise InputError("nothing is chosen", place=point.id, hint=hint)
    no = NO in line.boxes
    chosen = reads_off or said in step.choices
    return bodies.StepDone(
        step=step.id,
        act="skipped" if no else "confirmed" if step.act == "check" else "done",
        pass_id=point.pass_id,
        nipple=point.nipple,
        affects=step.affects,
        answer=said if chosen else "",
        said="" if chosen else said,
        also=() if no else _also(state, point, ()),
        looked=no,
    )


def _also(state: JobState, point: Point, boxes: Sequence[str]) -> tuple[str, ...]:
    """Return what a touch says besides: of what has boxes that which is ticked, closed only where it stands open."""
    ticked = [word for word in point.also if word not in BOXES or point.kind != "reading" or word in boxes]
    return tuple(word for word in ticked if word != "closed" or point.nipple in state.open_nipples)


def _reading(point: Point, line: Line, state: JobState) -> bodies.Reading:
    step = point.step
    assert step is not None
    amount = parse(line.value, place=point.id, unit=_unit(point))
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
        also=_also(state, point, line.boxes),
        calibrated_until=dict(state.instruments).get(step.instrument, ""),
    )
