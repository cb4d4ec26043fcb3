"""What a card has beside the walk, at each pass: a look at the reservoir, its filling, and a note.

A job's state and a line that begins with its word flow in, the body of its entry flows out: `level 10:41 500 mL`,
`level 10:41 yes` where the procedure reads no level, `off 10:40` for the feed's pressure let off before a filling,
`filled 10:42 200 mL`, `note p3 what was seen`; behind a reading outside its limits `right 10:51 what was put right`;
where the level is set or read at the end `drawn 10:55 120 mL`, for fluid that was drawn off: it stood too high.
Rules that hold here: they say what the same keys at the bay's screen say; a filling of which no volume is written was
one, and how much went in has no proof; one with its volume is of that much and fills nothing up; a note says nothing
else.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from witnessmark.errors import InputError
from witnessmark.host.card import card_mend, card_words
from witnessmark.host.card.card_entries import refused
from witnessmark.host.card.card_line import DONE, EMPTY, Day, first_word
from witnessmark.job.fluid import feed
from witnessmark.job.fluid.tank import DRAWN, DRAWN_OFF, FILLED, LEVEL, SAID_FILLED
from witnessmark.job.keys.level_keys import let_off
from witnessmark.job.plausible import bounds
from witnessmark.job.reasons import puts_right
from witnessmark.job.walk.places import YES
from witnessmark.job.walk.state import LEVEL_LOOK, PUT_RIGHT, REFILL, JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal import bodies
from witnessmark.journal.entry import Occurred
from witnessmark.procedure import own
from witnessmark.procedure.model import Procedure
from witnessmark.quantity import parse

LEVEL_WORD, OFF_WORD, FILLED_WORD, NOTE_WORD, RIGHT_WORD = "level", "off", "filled", "note", "right"
DRAWN_WORD = "drawn"
WORDS = (LEVEL_WORD, OFF_WORD, FILLED_WORD, NOTE_WORD, RIGHT_WORD, DRAWN_WORD)
ML = "mL"


@dataclass(frozen=True, slots=True)
class Beside:
    """The places beside a pass: `unit` of a level, empty where it is only looked at; `fed` asks for the feed too."""

    unit: str = ""
    fed: bool = False
    fills: bool = True

    @property
    def kinds(self) -> tuple[str, ...]:
        """Return a word for each place, the word of its line first."""
        look = (f"{LEVEL_WORD} time", f"{LEVEL_WORD} {'value' if self.unit else 'box ' + YES}")
        fed = (f"{OFF_WORD} time",) if self.fed and self.fills else ()
        fills = (f"{FILLED_WORD} time", f"{FILLED_WORD} value") if self.fills else ()
        on = ("on again time",) if self.fed and self.fills else ()
        return (*look, *fed, *fills, *on, NOTE_WORD)


def places_beside(procedure: Procedure) -> Beside:
    """Return the places that the card of a procedure has beside each pass; none to fill where a step of it does."""
    steps = (*procedure.steps_before, *procedure.steps_after)
    each = (*procedure.steps_before_each_pass, *procedure.steps_after_each_pass)
    unit = next((step.unit for step in steps if step.what == LEVEL and step.unit), "")
    fed = any("pressurise" in (step.affects, *step.also) for step in (*steps, *each))
    return Beside(unit, fed, not any(REFILL in (step.affects, *step.also) for step in each))


def body_of(state: JobState, word: str, rest: str, day: Day) -> tuple[str, Occurred, bodies.Body]:
    """Return kind, time and body of one line. Raises InputError for what is not written so."""
    if word == NOTE_WORD:
        return "step", day.unknown(), _note(state, rest)
    first, said = first_word(rest)
    when = day.read(first)
    if word == RIGHT_WORD:
        return "step", when, _right(state, said)
    if word == OFF_WORD:
        if said not in ("", DONE, EMPTY):
            hint = "write off and the time alone; how much was filled is on its own line: filled 10:42 200 mL"
            raise InputError(f"{said!r} has no place on this line", place=OFF_WORD, hint=hint)
        return "step", when, let_off()
    if word == DRAWN_WORD:
        return "reading", when, _drawn(state, said)
    return _look(state, said, when) if word == LEVEL_WORD else _filled(state, said, when)


def _look(state: JobState, said: str, when: Occurred) -> tuple[str, Occurred, bodies.Body]:
    unit, pass_id = places_beside(state.procedure).unit, _ahead(state)
    if said.lower() == YES:
        return "step", when, bodies.StepDone(step=LEVEL_LOOK, act="confirmed", pass_id=pass_id)
    if not unit or said in ("", EMPTY):
        hint = f"write level 10:41 {'500 ' + unit if unit else YES}; leave the line out where nothing is written"
        raise InputError("it does not say how it stood", place=LEVEL_WORD, hint=hint)
    return (
        "reading",
        when,
        bodies.Reading(what=LEVEL, amount=_amount(said, LEVEL, unit), step=LEVEL_LOOK, pass_id=pass_id),
    )


def _filled(state: JobState, said: str, when: Occurred) -> tuple[str, Occurred, bodies.Body]:
    step, pass_id = SAID_FILLED, _ahead(state)
    if said in ("", EMPTY):
        return "step", when, bodies.StepDone(step=step, act="done", affects=REFILL, pass_id=pass_id)
    amount = _amount(said, FILLED_WORD, ML)
    return "reading", when, bodies.Reading(what=FILLED, amount=amount, step=step, pass_id=pass_id, affects=REFILL)


def _drawn(state: JobState, said: str) -> bodies.Reading:
    """Return how much was drawn off, as the bay's screen has it said where the level is set or read at the end."""
    point = state.point
    if point is None or point.step is None or not may_draw(state.procedure, point):
        hint = "write it where the level is set or read behind the passes, before that line"
        raise InputError("no fluid is drawn off here", place=DRAWN_WORD, hint=hint)
    if said in ("", EMPTY):
        raise InputError("it does not say how much", place=DRAWN_WORD, hint="write drawn 10:55 120 mL")
    amount, step = _amount(said, DRAWN, ML), point.step
    return bodies.Reading(
        what=DRAWN,
        amount=amount,
        step=DRAWN_OFF if step.what == LEVEL else step.id,
        affects=step.affects if step.what == FILLED and step.affects != REFILL else "",
        also=point.also if step.what == FILLED else (),
    )


def may_draw(procedure: Procedure, point: Point) -> bool:
    """Whether fluid may be drawn off at a point: where the level is set or read behind the passes."""
    step = point.step
    return step in procedure.steps_after and not point.pass_id and step is not None and step.what in (LEVEL, FILLED)


def _amount(said: str, what: str, unit: str) -> bodies.Amount:
    amount = parse(said, place=what, unit=unit)
    low, high = bounds(what if what in (LEVEL, DRAWN) else FILLED, amount.unit)
    if not Decimal(low) <= amount.number <= Decimal(high):
        raise InputError(f"{amount} can hardly be", place=what, hint=f"between {low} and {high} {amount.unit}")
    return bodies.Amount(value=amount.value, unit=amount.unit)


def may_put_right(state: JobState) -> bool:
    """Whether the next point is a reading outside its limits of which what was put right is still to be said."""
    step = state.point.step if state.point is not None else None
    return step is not None and refused(state) and bool(puts_right(step)) and state.put_right != step.id


def _right(state: JobState, said: str) -> bodies.StepDone:
    """Return what was put right since a reading outside its limits, so that only the next one counts."""
    if not may_put_right(state) or state.point is None or state.point.step is None:
        hint = "write it behind wheels or a volume read outside the limits, and before what was read then"
        hint += f"; at a check that was not right: {card_mend.EXAMPLE}" if card_mend.may_mend(state) else ""
        raise InputError("nothing was read here that could be put right", place=RIGHT_WORD, hint=hint)
    if said in ("", EMPTY):
        hint = "write right 10:51 and what was put right; leave the line out where nothing is written"
        raise InputError("it does not say what was put right", place=RIGHT_WORD, hint=hint)
    if card_words.of_another_line(said):
        hint = "write right 10:51 and in words what was put right; what was read then is the next line"
        raise InputError(f"{said!r} is nothing that was put right", place=RIGHT_WORD, hint=hint)
    at, step = state.point, state.point.step.id
    return bodies.StepDone(step=PUT_RIGHT, act="confirmed", pass_id=at.pass_id, answer=step, mended=said)


def _note(state: JobState, rest: str) -> bodies.StepDone:
    """Return a note, of the pass that its first word names, else of the one in hand."""
    first, said = first_word(rest)
    named = first if any(one.id == first for one in state.plan) else ""
    said = said if named else rest
    if not said:
        raise InputError("a note without words", place=NOTE_WORD, hint="write note p3 and what the card says")
    done = [one.pass_id for one in state.points[: state.cursor] if not one.again]
    return bodies.StepDone(step=own.SAID_NOTE, act="done", pass_id=named or (done[-1] if done else ""), said=said)


def _ahead(state: JobState) -> str:
    """Return the pass before which the reservoir is looked at: the next one, or the one in hand."""
    point = feed.next_work(state)
    return point.pass_id if point is not None else ""
