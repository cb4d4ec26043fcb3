"""Keying a card in afterwards: what was written by hand becomes entries that say they were typed.

A point of the walk and the line written at it flow in, drafts flow out. Rules that hold here: every entry has the basis
`typed`; what a line says as entries stands in `card_entries`; what a machine would have read cannot be keyed in; every
place may be empty, and the walk goes on behind it; a line is recorded whole or not at all, and only while nobody else
works on the job.

What can hardly be (a time before what is known already, a value that no gauge shows, boxes all left empty) is a
doubt, and is taken when it is written once more.

A line is `10:42` for a step, `10:42 what the container says`, `10:42 2.1 bar` for a reading, `10:42 8 N.m, clear,
capped, with` for one with boxes, read with what the card names, `10:42:05 10:42:15` for a run (started, ended, and when
each nipple opened that opens with it), `- why` for what was left out, `again STEP` or `again PASS` for what was done
again, `first PASS why` for a pass that was taken before its turn, `back` takes the last line back. `?` stands for what
is not written: in place of a time or a value, at the end for all that is left of the line, alone for all of it. What
stands beside the walk is in `card_beside`, what was mended in `card_mend`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal

from witnessmark.errors import InputError, LocalError
from witnessmark.host.card import card_mend, card_words
from witnessmark.host.card.card_back import BACK_WORD, taken_back
from witnessmark.host.card.card_beside import NOTE_WORD, RIGHT_WORD, WORDS, body_of, may_put_right
from witnessmark.host.card.card_entries import bodies_of, refused, unit_at
from witnessmark.host.card.card_known import Known, known
from witnessmark.host.card.card_line import AGAIN_WORD, EMPTY, FIRST_WORD, LEFT, Day, Line, first_word, read_line
from witnessmark.host.card.card_mend import MENDED_WORD
from witnessmark.host.folded import check_here, folded
from witnessmark.host.history import history
from witnessmark.host.shop import Shop
from witnessmark.job.amiss import bleeding
from witnessmark.job.fluid.container import READ_OFF, asked, is_other
from witnessmark.job.keys.again import offered
from witnessmark.job.plausible import bounds
from witnessmark.job.walk import standing
from witnessmark.job.walk.places import BOXES, NO, NO_CODE, NOT_CLEAR, YES, Places, identifies, may_leave, places
from witnessmark.job.walk.state import AGAIN, OTHER_PASS, REDO, UNEXPLAINED, UNWRITTEN, JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft, Occurred
from witnessmark.journal.store import Journal
from witnessmark.people.person import Person
from witnessmark.procedure.fluid import named
from witnessmark.procedure.model import Step
from witnessmark.procedure.whole import NOT_KNOWN
from witnessmark.quantity import Quantity, convert, parse, printed

MEANWHILE = "something was written meanwhile"


def state_of(shop: Shop, job: str) -> JobState:
    """Return where a job stands. Raises LocalError while it waits for something that no card can say."""
    with shop.read() as journal:
        journal.job_texts(job)
        check_here(journal, job)
        state = folded(journal, job)
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
        if folded(journal, state.job).last_seq != state.last_seq:
            raise InputError(MEANWHILE, place="job", hint="look at what is asked now; this line was not recorded")
        yield journal


def here(state: JobState) -> Places:
    """Return the places of the point that is asked for."""
    assert state.point is not None
    return places(state.point, state.pass_of(state.point.pass_id))


def seen(shop: Shop, job: str) -> Known:
    """Return what the journal already has of when a job was worked on."""
    with shop.read() as journal:
        return known(history(journal, job))


def values(shop: Shop, state: JobState, since: int) -> list[str]:
    """Return how each value that was keyed in after an entry was taken: of what, where, and in which unit."""
    with shop.read() as journal:
        made = [one for one in history(journal, state.job) if one.seq > since and one.kind == "reading"]
    said = []
    for body in (bodies.from_body(one.kind, one.body) for one in made):
        assert isinstance(body, bodies.Reading)
        what = (body.what.replace("-", " "), body.pass_id, standing.named(state, body.nipple))
        amount = Quantity(body.amount.value, body.amount.unit)
        said.append(printed(f"taken as {', '.join(filter(None, what))}: {amount}"))
    return said


def doubt(state: JobState, text: str, day: Day, before: Known) -> str:
    """Return why a line can hardly be so, empty when it can. `before` is what is known of the time before it."""
    point = state.point
    first, rest = first_word(text)
    if first in (*WORDS, MENDED_WORD) and first != NOTE_WORD:
        said, more = first_word(rest)
        early = _too_early(said, day.read(said), day, before)
        return early if early or first != MENDED_WORD else card_mend.doubt(state, more)
    if point is None or point.mends or first in (LEFT, AGAIN_WORD, FIRST_WORD, BACK_WORD, *WORDS):
        return ""
    line = _line(state, point, text, day)
    early = _too_early(first, line.times[0], day, before)
    if early or line.why:
        return early
    unsaid = [card_mend.look_doubt(state, line), card_words.beside_time(point, here(state), line)]
    if here(state).by and not line.by and not line.rest:
        unsaid.insert(
            0, "it does not say by whom: a second person is asked for, and without one there is no proof of them"
        )
    if any(unsaid):
        return "; ".join(one for one in unsaid if one)
    if point.step is not None and point.step.affects in READ_OFF:
        return _fluid_doubt(state, point.step, line)
    if point.kind != "reading" or point.step is None:
        return ""
    ticked_before = line.rest or refused(state)  # a card has its boxes once for all that is read there
    return _value_doubt(point, line) or ("" if ticked_before else _box_doubt(point, line))


def _too_early(said: str, when: Occurred, day: Day, before: Known) -> str:
    """Return that a time is before what is known; a card of a day before the opening says so itself."""
    if when.to_ns >= before.last_ns or (before.opens and not day.has(before.last_ns)):
        return ""
    return f"{said} is before {before.what}" + ("" if before.opens else "; past midnight, end here and go on with --on")


def _fluid_doubt(state: JobState, step: Step, line: Line) -> str:
    """Return that what was read off names no fluid that is known, nor what the procedure or the step names."""
    said = " ".join((*line.boxes, line.words)).strip()
    is_asked = bool(asked(state.procedure, step)) and not is_other(state.procedure, step, said)
    if not said or line.boxes or is_asked or named(said) is not None or said.lower() in NOT_KNOWN:
        return ""
    return f"{said!r} names no grade or class of fluid that is known"


def _value_doubt(point: Point, line: Line) -> str:
    if not line.value or point.step is None:
        return ""
    amount = parse(line.value, place=point.id, unit=unit_at(point))
    unit = unit_at(point) or amount.unit
    low, high = bounds(point.step.what or point.step.id, unit)
    value = amount.number if amount.unit == unit else convert(amount, unit)
    return "" if Decimal(low) <= value <= Decimal(high) else f"{amount.value} {amount.unit} can hardly be"


def _box_doubt(point: Point, line: Line) -> str:
    empty = [" or ".join(BOXES[word]) for word in point.also if word in BOXES and not {*BOXES[word]} & {*line.boxes}]
    return f"no box is written: {', '.join(empty)}. Of an empty box there is no proof" if empty else ""


def stays(state: JobState) -> str:
    """Return why a point stays as it is after its line was recorded, and what is written now."""
    point = state.point
    if state.wrong_fluid and point is not None and point.step is not None:
        wanted = asked(state.procedure, point.step)
        said = f"recorded. It says {state.wrong_fluid}, asked for is {wanted}: write what the right container says"
        return f"{said}, {EMPTY} where the card has no other"
    if refused(state):
        first = f"{RIGHT_WORD} 10:42 and what was put right, then " if may_put_right(state) else ""
        said = f"recorded, outside the limits. Write {first}what was read later, or - and why it stays so"
        return f"{said}, {EMPTY} where that is not written"
    if state.codes_due:
        return (
            f"recorded. The work does not set all of it: write what was read later, - and why it stays so, or {EMPTY}"
        )
    if state.other_vehicle and point is not None and point.kind == "ask":
        return (
            f"recorded. It is not the order's number, {state.vehicle}: write what was read later, - and why, or {EMPTY}"
        )
    if ways := card_mend.ways(state):
        return f"recorded. It was not right: write {', or '.join(ways)}; then what was seen later, or {EMPTY}"
    return f"recorded. This step stays open: write it once it is done, {EMPTY} where the card says no more of it"


def form(state: JobState) -> str:
    """Return how the line of the point that is asked for is written."""
    point, at = state.point, here(state)
    assert point is not None
    if point.mends:
        return ", or ".join((*card_mend.ways(state), f"{EMPTY} where nothing is bled now"))
    ways = ["10:42"] if at.times else []
    if len(at.times) > 1:
        moments = [f"10:42:{seconds:02}" for seconds in (5, 15, *range(6, 6 + len(at.times) - 2))]
        ways = [f"{' '.join(moments)} ({', '.join(('started', 'ended', *at.times[2:]))})"]
    if at.unit is not None:
        ways = [f"10:42 and the value in {at.unit or '1'}"]
        seen = " (not clear: what was seen)" if NOT_CLEAR in at.boxes else ""
        ways[0] += f", then what is ticked: {', '.join(at.boxes)}{seen}" if at.boxes else ""
        ways[0] += f", then with if it was read with the {at.tool}, or with and what else it was" if at.tool else ""
    elif point.kind == "ask":
        shown = "the number" if identifies(point) else f"the codes, or {NO_CODE},"
        ways = [f"10:42 and {shown} as another tester showed it"]
    elif at.boxes == (YES, NO):
        ways = ["10:42 yes", "10:42 no and what was seen"]
    elif at.boxes:
        ways = [f"10:42 {at.boxes[0]}"]
    elif point.step is not None and point.step.affects in READ_OFF:
        ways = ["10:42 and what it says"]
    if ways and at.by:
        ways[-1] += ", then by and the second person's id"
    ways += card_mend.ways(state)
    if may_put_right(state):
        ways.append(f"{RIGHT_WORD} 10:42 and what was put right")
    if refused(state):
        ways.append("- and why it stays so")
    elif state.codes_due:
        ways.append("- and why they stay")
    elif may_leave(point):
        ways.append(f"- and {_why(point)}")
    return ", or ".join((*ways, EMPTY))


def _why(point: Point) -> str:
    if point.kind == "ask":
        return "why the control unit was not read"
    unread = point.step is not None and point.step.affects in READ_OFF
    check = point.step is not None and point.step.act == "check"
    return "why it cannot be read" if unread else "why it could not be seen" if check else "why it was left out"


def enter(journal: Journal, state: JobState, text: str, day: Day, done_by: Person, entered_by: Person) -> int:
    """Write what one line says of the next point, whole. Return the time it begins with, 0 where it says none.

    Raises InputError, having written nothing.
    """
    point = state.point
    first, rest = first_word(text)
    if first == BACK_WORD:
        journal.append_many(taken_back(list(history(journal, state.job)), entered_by.actor, rest))
        return 0
    if point is None:
        raise InputError("nothing more is asked for", place="job", hint="write back to take the last line back")
    if first in (AGAIN_WORD, FIRST_WORD):
        body = _again(state, rest) if first == AGAIN_WORD else _first(state, rest)
        made = bodies.to_body(body)
        journal.append(Draft("step", state.job, done_by.actor, entered_by.actor, day.unknown(), made))
        return 0
    if first == MENDED_WORD:
        said, more = first_word(rest)
        when = day.read(said)
        made_of = map(bodies.to_body, card_mend.bodies_of(state, more))
        journal.append_many([Draft("step", state.job, done_by.actor, entered_by.actor, when, one) for one in made_of])
        return 0 if said == EMPTY else when.from_ns
    if first in WORDS:
        kind, when, body_beside = body_of(state, first, rest, day)
        made = bodies.to_body(body_beside)
        journal.append(Draft(kind, state.job, done_by.actor, entered_by.actor, when, made))
        return 0
    if point.mends:
        body = card_mend.left(state, text)
        journal.append(Draft("step", state.job, done_by.actor, entered_by.actor, day.unknown(), bodies.to_body(body)))
        return 0
    line = _line(state, point, text, day)
    second = Person(line.by) if line.by else done_by
    drafts = []
    for kind, when, body in bodies_of(state, point, line, day):
        whose = second if _by_second(body) else done_by
        after = "actuation" if isinstance(body, bodies.Outcome) else ""
        drafts.append(Draft(kind, state.job, whose.actor, entered_by.actor, when, bodies.to_body(body), after=after))
    journal.append_many(drafts)
    return line.begins_ns


def _line(state: JobState, point: Point, text: str, day: Day) -> Line:
    """Take apart what is written of a point. Raises InputError for what its line has no place for."""
    line = read_line(text, here(state), day, point.id)
    units = {places(one, state.pass_of(one.pass_id)).unit for one in state.points}
    card_words.check(point, here(state), line, units)
    return line


def _by_second(body: bodies.Body) -> bool:
    """Whether what a line says is of the second person it names: not the run, its nipples, nor what is not written."""
    if isinstance(body, bodies.StepDone):
        return body.act != "opened" and body.step not in (UNWRITTEN, UNEXPLAINED)
    return not isinstance(body, bodies.Intent | bodies.Outcome)


def _again(state: JobState, what: str) -> bodies.StepDone:
    """Return that a step or a pass is taken up again: it is asked for next. Raises InputError.

    It is the pass in hand, or one that was bled again for a check that was not right.
    """
    passes = [one for one in bleeding.offered(state) if "," not in one]
    passes += [one for one in [_pass_in_hand(state)] if one and one not in passes]
    if what in passes:
        return bodies.StepDone(step=REDO, act="done", pass_id=what)
    ids = [one.step.id for one in offered(state).values() if one.step is not None]
    if what not in ids:
        ids += passes
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
    if pass_id not in ahead or not why or card_words.of_another_line(why):
        known = f"write first, one of {', '.join(ahead)}, and why" if ahead else "only before the next pass is begun"
        raise InputError(f"{text!r} is no later pass and a reason", place=FIRST_WORD, hint=known)
    return bodies.StepDone(step=OTHER_PASS, act="confirmed", pass_id=pass_id, said=why)
