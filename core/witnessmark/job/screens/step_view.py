"""The views of what a person does: steps, readings, nipples, and of what the machine reads by itself.

The job's state and the point of its walk flow in, one view flows out.
"""

from __future__ import annotations

from typing import Literal

from msgspec.structs import replace

from witnessmark.job.amiss import not_right, not_safe
from witnessmark.job.amount import asked_in, seconds, within
from witnessmark.job.calibrated import read_with
from witnessmark.job.fluid import bottle
from witnessmark.job.fluid.container import DO_NOT_FILL, READ_OFF, asked, unread
from witnessmark.job.fluid.tank import FILLED, LEVEL
from witnessmark.job.plausible import bounds
from witnessmark.job.reasons import (
    AS_EXPECTED,
    KEEP,
    LATER,
    LEAVE_OUT,
    MIXED,
    NO,
    NOT_CLEAR,
    NOT_SO,
    ROAD,
    SPILLED,
    UNREAD,
    UNREADABLE,
    WHEELS,
    pass_first,
    puts_right,
)
from witnessmark.job.screens.earlier_view import earlier_view, is_earlier
from witnessmark.job.screens.mend_view import before_driving, bleeds, not_right_yet
from witnessmark.job.screens.told_unit_view import told_unit_view
from witnessmark.job.unit.waking import wake_line, when_silent
from witnessmark.job.view import INSTRUMENT, NOT_OPEN_KEY, Button, View, title
from witnessmark.job.walk import closed_late
from witnessmark.job.walk.standing import named
from witnessmark.job.walk.state import JobState, ReadingState
from witnessmark.job.walk.steps import PRESSURE, Point, is_bottle
from witnessmark.procedure.mending import OFFERED
from witnessmark.procedure.model import Limit, Pass, Step
from witnessmark.procedure.steps import is_check
from witnessmark.quantity import Quantity

DRAW = Button("l", "too high: fluid is drawn off, and how much")
"""The key by which it is said that the reservoir stood above where it is to stand."""


def ask_view(state: JobState, point: Point, unasked: str) -> View:
    """Return the view of a step that the machine does: a wait, or why it was not answered and the ways on."""
    step = point.step
    assert step is not None
    if state.grade != "sent":
        return told_unit_view(state, point)
    if not unasked:
        return View(kind="busy", title=state.procedure.title, text=f"{step.text}: asking the control unit.")
    how = f" {when_silent(state.procedure)}" if "answer" in unasked else ""
    return View(
        kind="step",
        title=state.procedure.title,
        text=f"{step.text}: {unasked}.{how}",
        caution=step.caution,
        step=step.id,
        buttons=(Button("r", "ask again"), Button("n", "leave out, and why", asks=True, reasons=LEAVE_OUT)),
    )


def step_view(state: JobState, point: Point) -> View:
    """Return the view of a step that a person does or looks at."""
    step = point.step
    assert step is not None
    if is_earlier(point):
        return earlier_view(state.procedure.title, point, " ".join(_general(state)))
    says = step.affects in READ_OFF
    check, seen, must_say = is_check(step), not_right.seen(state, step.id), not_right.must_say(state, step.id)
    buttons = [Button(str(number), choice) for number, choice in enumerate(step.choices, 1)]
    if step.choices:
        buttons.append(Button("o", "something else: what it says", asks=True))
    elif must_say:
        buttons.append(Button("w", "what was mended: then look again", asks=True, reasons=OFFERED))
    else:
        buttons.append(Button("y", "yes" if step.act == "check" else "done", asks=says))
    if check:
        no = unread(step) or "no, and what you see"
        reasons = UNREAD if unread(step) else ROAD if step.affects == "road-test" else NO
        buttons.append(Button("n", no, asks=True, reasons=reasons))
    elif step.may_skip:
        buttons.append(Button("n", "leave out, and why", asks=True, reasons=LEAVE_OUT))
    elif not_safe.makes_safe(state, point):
        buttons.append(Button("n", not_safe.NOT_SO, asks=True, reasons=NOT_SO))
    buttons += _was_shut(state, point)
    buttons += (again := bleeds(state))
    text, caution = closed_late.text(state, point, step.text), _caution(state, step)
    if "wake" in (step.affects, *point.also) and (line := wake_line(state.procedure)):
        text = f"{text.rstrip('.')}. Only so: {line}."
    if seen:
        text = f"{_sentence(text)} {not_right_yet(state, must_say, bool(again))}"
    if wanted := asked(state.procedure, step):
        text = f"{_sentence(text)} Asked for: {wanted}."
    if wanted and state.wrong_fluid:
        text = f"It says {state.wrong_fluid}. {text} Get the right one and look again."
        caution = f"{DO_NOT_FILL} {caution}".strip()
        buttons.append(Button("k", "go on with this one, and why", asks=True, reasons=KEEP))
    shown = View(
        kind="step",
        title=title(state, point.pass_id, point.nipple),
        text=not_safe.told(state, step, text),
        caution=caution,
        pass_id=point.pass_id,
        nipples=_nipples(point),
        step=step.id,
        person=step.person,
        takes_s=_takes(step),
        buttons=tuple(buttons),
    )
    return before_driving(state, point, shown)


def _takes(step: Step) -> str:
    return f"{seconds(step.takes_at_least):f}" if step.takes_at_least else ""


def reading_view(state: JobState, point: Point) -> View:
    """Return the view of a value that is read and typed."""
    step = point.step
    assert step is not None
    last = state.reading(step.what or step.id)
    pressure = step.what == PRESSURE
    here = last is not None and (last.pass_id, last.nipple) == (point.pass_id, point.nipple)
    refused = last is not None and last.within is False and here
    never, full = not_safe.is_kept_never(state, step), bottle.refused(state, point)
    buttons = []
    if refused and not never and (not pressure or _may_keep(state, last)):
        buttons.append(Button("k", "keep it as it is, and why", asks=True, reasons=KEEP))
    if refused and state.put_right != step.id and (mends := puts_right(step)):
        label = "what was put right" if step.what == WHEELS else "it was misread"
        buttons.append(Button("w", label, asks=True, reasons=mends))
    if step.may_skip and not never:
        buttons.append(Button("n", "leave out, and why", asks=True, reasons=LEAVE_OUT))
    elif not_safe.makes_safe(state, point) and not refused:
        buttons.append(Button("n", not_safe.UNREAD, asks=True, reasons=UNREADABLE))
    elif "clear" in point.also:
        buttons.append(Button("n", "it did not run clear, and what you see", asks=True, reasons=NOT_CLEAR))
    elif is_bottle(point):
        buttons.append(Button("n", "not read, and why: no proof of how much ran", asks=True, reasons=SPILLED))
    if step.instrument:
        names = tuple(name for name, _ in state.instruments if name != step.instrument)
        buttons.append(Button(INSTRUMENT, "another instrument", asks=True, reasons=names[:9]))
    buttons += _draw_off(state, point)
    buttons += _other_pass(state)
    noted = _noted(state, point)
    text = f"{step.text.rstrip('.')}{noted}" if noted else step.text
    text = closed_late.text(state, point, text)
    if _not_asked_clear(point):
        buttons.append(Button("b", AS_EXPECTED[point.pass_id in state.as_expected]))
    buttons += _was_shut(state, point)
    if refused and last is not None:
        text = f"{text.rstrip('.')}. It was {last.amount.value} {last.amount.unit}, outside the limits: "
        text += f"put it right {_counts(state, step, last)} Both are kept."
    if full:  # more runs only once its nipple is opened again
        text = f"{step.text.rstrip('.')}. {bottle.said(state, point)}"
        buttons = [one for one in buttons if one.key in ("k", "w")]
    elif counts := bottle.before(state, point):
        text = f"{text.rstrip('.')}. {counts}"
    unit = asked_in(step, point.limit)
    least, most = bounds(step.what or step.id, unit)
    most = state.tank.most(step.what, unit, most)
    return View(
        kind="step" if full else "reading",
        title=title(state, point.pass_id, point.nipple),
        text=not_safe.told(state, step, text),
        caution=" ".join(one for one in (*_warnings(state, refused, pressure, never), step.caution) if one),
        least=least,
        most=most,
        pass_id=point.pass_id,
        nipples=_nipples(point),
        step=step.id,
        what=step.what or step.id,
        unit=unit,
        low=point.limit.low if point.limit else "",
        high=point.limit.high if point.limit else "",
        instrument=read_with(state, step),
        person=step.person,
        takes_s=_takes(step),
        buttons=tuple(buttons),
    )


def _warnings(state: JobState, refused: bool, pressure: bool, never: bool) -> tuple[str, ...]:
    """Return what a reading outside its limits warns of, before the caution of its step."""
    return (not_safe.CAUTION if refused and never else "", _of_pressure(state) if refused and pressure else "")


def unsafe_view(state: JobState, point: Point) -> View:
    """Return the view of a reading that is read again before anything is opened; nothing else can be done there."""
    shown = reading_view(state, point)
    return replace(shown, buttons=tuple(one for one in shown.buttons if one.key == INSTRUMENT))


def _counts(state: JobState, step: Step, last: ReadingState) -> str:
    """Say what the next reading is worth after one outside the limits: as much as the audit makes of it."""
    if step.what == WHEELS and state.put_right != step.id:
        return "and say what was put right; then read again, and the later reading counts: only then."
    if step.what == WHEELS:
        return "and read again: what was put right is recorded, the later reading counts."
    if step.act == "volume" and state.put_right != step.id:
        return "and read again. Both count as they stand, unless you say that the first was misread."
    if step.act == "volume":
        return "and read again: the first is recorded as misread, the later reading counts."
    if step.what == PRESSURE and _over(state, last):
        return "and read again. The later reading counts for the pass; that the feed was over its maximum stays open."
    return "and read again. The later reading counts."


def _over(state: JobState, last: ReadingState) -> bool:
    """Whether a pressure is known to have been above the highest that the procedure allows at all."""
    high = state.procedure.pressure_limit.high if state.procedure.pressure_limit else ""
    if not high:
        return False
    return within(Quantity(last.amount.value, last.amount.unit), Limit(high=high)) is False


def _not_asked_clear(point: Point) -> bool:
    """Whether a touch asks whether it ran clear on a pass that need not."""
    return not point.late and point.step is not None and "clear" in point.step.also and "clear" not in point.also


def _was_shut(state: JobState, point: Point) -> list[Button]:
    """Offer, where a nipple is asked for first after its run, to say that it was shut while it ran."""
    says = {point.step.affects, *point.step.also} if point.step is not None else {"closed"}
    said = (point.pass_id, point.nipple) in state.missed or point.pass_id in state.as_expected
    ran = point.pass_id in {run.pass_id for run in state.runs} and not said
    if point.late or not point.nipple or not says & {"closed", "clear"} or not ran:
        return []
    return [Button(NOT_OPEN_KEY, "the nipple was not open while it ran: the run does not count")]


def _noted(state: JobState, point: Point) -> str:
    """Return what the procedure notes of the pass, where it is asked whether it ran clear, and what was said of it."""
    one = state.pass_of(point.pass_id)
    if one is None or point.late or point.step is None or "clear" not in point.step.also:
        return ""
    said = ". It is recorded that it was not clear, as expected here" if one.id in state.as_expected else ""
    said += f". {_to_run(one).rstrip('.')}" if _to_run(one) else ""
    return (f". Noted for this pass: {one.note.rstrip('.')}" if one.note else "") + said


def _to_run(one: Pass | None) -> str:
    """Say how much a pass is to run through its nipple: it is read only when the nipple is shut again."""
    if one is None or one.volume is None or len(one.nipples) > 1:
        return ""
    low, high = one.volume.low, one.volume.high
    between = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}"
    return f"To run through before it is shut: {between}."


def _of_pressure(state: JobState) -> str:
    """Return the caution of the step that puts the feed under pressure: it holds for a pressure out of its limits."""
    steps = (*state.procedure.steps_before, *state.procedure.steps_before_each_pass)
    return " ".join(step.caution for step in steps if "pressurise" in (step.affects, *step.also) and step.caution)


def _sentence(text: str) -> str:
    return text if text.endswith("?") else f"{text.rstrip('.')}."


def _caution(state: JobState, step: Step) -> str:
    """Return the caution of a step; with the first touch of a job comes all that holds for the whole of it."""
    general = _general(state)
    return " ".join((*general, step.caution) if step.caution else general)


def _general(state: JobState) -> tuple[str, ...]:
    """Return what holds for the whole job: with each touch of it until a step of its own is done."""
    return state.procedure.cautions if all(is_earlier(one) for one in state.points[: state.cursor]) else ()


def _may_keep(state: JobState, last: ReadingState | None) -> bool:
    """Whether a pressure outside the band of its pass is still within what the procedure allows at all."""
    limit = state.procedure.pressure_limit
    if last is None or limit is None:
        return False
    return within(Quantity(last.amount.value, last.amount.unit), limit) is True


def _draw_off(state: JobState, point: Point) -> list[Button]:
    """Offer to draw fluid off where the level is set or read behind the passes."""
    behind = not point.pass_id and point.step in state.procedure.steps_after
    return [DRAW] if behind and point.step is not None and point.step.what in (LEVEL, FILLED) else []


def _other_pass(state: JobState) -> list[Button]:
    """Offer to take a later pass first, while none of the next one is done."""
    ahead = state.passes_ahead[1:]
    label = f"another pass first ({', '.join(ahead)}), and why"
    return [Button("t", label, asks=True, reasons=pass_first(ahead), starts=ahead)] if ahead else []


def mixing_view(state: JobState, never: str) -> View:
    """Return the view of fluids that never mix: nothing goes on without the lead."""
    return View(
        kind="mixing",
        title=state.procedure.title,
        text=f"{never} Nothing goes on: read both labels again, or fetch the lead.",
        caution=DO_NOT_FILL,
        buttons=(
            Button("r", "read both again"),
            Button("k", "the lead goes on, and why", asks=True, reasons=MIXED),
        ),
    )


def nipple_view(state: JobState, one: Pass | None, nipple: str, kind: Literal["open", "close"]) -> View:
    """Return the view of a nipple that is to be opened or closed."""
    known = next((known for known in state.procedure.nipples if known.id == nipple), None)
    name = known.name if known else nipple
    how = f" {known.opening}" if known and kind == "open" and known.opening else ""
    runs = f" {_to_run(one)}" if _to_run(one) else ""
    buttons = [Button("y", "opened" if kind == "open" else "closed")]
    if kind == "open" and one is not None and one.wire_command:
        buttons.append(Button("l", "not yet: open it while it runs, and why", asks=True, reasons=LATER))
    if point := state.point if kind == "close" else None:
        own = one is not None and (point.kind, point.pass_id, point.nipple) == ("close", one.id, nipple)
        buttons += _was_shut(state, point) if own and not state.decide else []
    return View(
        kind=kind,
        title=title(state, one.id if one else ""),
        text=f"{'Open' if kind == 'open' else 'Close'} the nipple {name}{how}.{runs}",
        pass_id=one.id if one else "",
        nipples=(nipple,),
        buttons=tuple(buttons),
    )


def close_to_read_view(state: JobState, one: Pass, nipple: str) -> View:
    """Return the view that has an open nipple closed before the feed's pressure is read again."""
    last = state.reading(PRESSURE)
    out = last is None or last.within is False
    why = "has no reading within its limits" if out else "was read too long ago"
    name = named(state, nipple)
    return View(
        kind="close",
        title=title(state, one.id),
        text=f"The feed's pressure {why}: it is read again with the nipple shut. Close the nipple {name}.",
        pass_id=one.id,
        nipples=(nipple,),
        buttons=(
            Button("y", "closed"),
            Button("n", "it stays open: the record shows one long opening"),
        ),
    )


def _nipples(point: Point) -> tuple[str, ...]:
    return (point.nipple,) if point.nipple else ()
