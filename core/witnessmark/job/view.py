"""What a face shows next: a `View` made from the job's state.

The state flows in, one view flows out. Rules that hold here: a view says all that a face needs (text, caution, unit,
limits, buttons, questions), so that a terminal and a page show the same; its `id` is given by the runner and changes
with every view, so that a second press of the same key acts on nothing.

Kinds: `step` (buttons, perhaps words), `reading` (a value and unit), `open` and `close` (a nipple), `arm` (questions,
then read and arm), `armed` (start or leave), `running`, `inspect` (look, perhaps send stop), `decide` (run again or
accept), `paused`, `busy` (wait), `done`.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from witnessmark.job.amount import unit_of, within
from witnessmark.job.state import JobState, ReadingState
from witnessmark.job.steps import PRESSURE, Point, pressure_point
from witnessmark.procedure.model import Pass
from witnessmark.quantity import Quantity

ViewKind = Literal[
    "step", "reading", "open", "close", "arm", "armed", "running", "inspect", "decide", "paused", "busy", "done"
]
UNKNOWN_ACT = "Treat as running; hands clear."


class Button(msgspec.Struct, frozen=True):
    """One key a person may press. `asks`: words must come with it (`said`)."""

    key: str
    label: str
    asks: bool = False


class Asked(msgspec.Struct, frozen=True):
    """One question that is answered yes or no."""

    id: str
    text: str


class View(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What to show. `unit`, `low` and `high` belong to a reading; `wait_s` is how long arming would be refused."""

    id: str = ""
    kind: ViewKind
    title: str = ""
    text: str = ""
    caution: str = ""
    pass_id: str = ""
    nipples: tuple[str, ...] = ()
    step: str = ""
    what: str = ""
    unit: str = ""
    low: str = ""
    high: str = ""
    person: str = ""
    buttons: tuple[Button, ...] = ()
    questions: tuple[Asked, ...] = ()
    shown: dict[str, str] = {}
    wait_s: str = ""
    at: int = 0
    of: int = 0


def next_view(
    state: JobState, *, unreadable: tuple[str, ...] = (), stale_pressure: bool = False, unasked: str = ""
) -> View:
    """Return what to show for `state` while nothing runs.

    `unreadable` names preconditions that the control unit would not tell, so that a person is asked; `stale_pressure`
    says that the pressure must be read again before arming; `unasked` why the machine's own step was not answered.
    """
    if state.inspect is not None:
        return _inspect(state)
    if state.status in ("abandoned", "finished", "released"):
        return View(kind="done", title=f"The job is {state.status}.")
    if state.status == "paused":
        return View(kind="paused", title="Paused", buttons=(Button("r", "go on"),))
    if state.decide:
        return _decide(state)
    point = state.point
    if point is None:
        buttons = (Button("f", "finish the job"),)
        return View(kind="done", title="All steps are done.", buttons=buttons)
    one = state.pass_of(point.pass_id)
    must_close = _must_close(state, one)
    if must_close:
        return _nipple(state, one, must_close, "close")
    if point.kind == "ask":
        return _ask(state, point, unasked)
    if one is not None and (point.kind == "run" or opens_at_arming(state, point)):
        return _arm(state, one, unreadable, stale_pressure)
    if point.kind == "open":
        return _nipple(state, one, point.nipple, "open")
    if point.closes and point.nipple not in state.open_nipples and not _was_open(state, point):
        return _missed(state, one, point.nipple)
    if point.kind == "close":
        return _nipple(state, one, point.nipple, "close")
    return _reading(state, point) if point.kind == "reading" else _step(state, point)


def opens_at_arming(state: JobState, point: Point | None) -> bool:
    """Whether the touch that answers before arming also says that the nipples of this pass are open."""
    one = state.pass_of(point.pass_id) if point is not None and point.kind == "open" else None
    return one is not None and bool(one.wire_command) and state.procedure.opened_at_arming


def _was_open(state: JobState, point: Point) -> bool:
    """Whether a touch that closes besides has been made already, so that only its reading is asked again."""
    if point.kind == "close" or point.step is None:
        return False
    last = state.reading(point.step.what)
    return last is not None and last.pass_id == point.pass_id and last.nipple == point.nipple


def _ask(state: JobState, point: Point, unasked: str) -> View:
    """Return the view of a step that the machine does: a wait, or why it was not answered and the ways on."""
    step = point.step
    assert step is not None
    if not unasked:
        return View(kind="busy", title=state.procedure.title, text=f"{step.text}: asking the control unit.")
    wake = state.procedure.wake
    how = f" {wake.how} (this energises: {wake.energises})" if wake and wake.how and "answer" in unasked else ""
    return View(
        kind="step",
        title=state.procedure.title,
        text=f"{step.text}: {unasked}.{how}",
        caution=step.caution,
        step=step.id,
        buttons=(Button("r", "ask again"), Button("n", "leave out, and why", asks=True)),
    )


def _must_close(state: JobState, one: Pass | None) -> str:
    """A nipple that stands open where the walk needs it shut: a pass done again, or one opened with its run."""
    if one is None:
        return ""
    if state.point is not None and state.point.kind == "open" and state.point.nipple in state.open_nipples:
        return state.point.nipple
    opens = (
        index for index, point in enumerate(state.points) if point.pass_id == one.id and point.kind in ("open", "run")
    )
    return next(iter(state.open_in(one)), "") if state.cursor < next(opens) or _at_own_opening(state, one) else ""


def _at_own_opening(state: JobState, one: Pass) -> bool:
    point = state.point
    return point is not None and point.kind == "run" and one.order in ("with", "after")


def _step(state: JobState, point: Point) -> View:
    step = point.step
    assert step is not None
    says = step.affects in ("fluid-grade", "fluid-class")
    check = step.act == "check"
    buttons = [Button(str(number), choice) for number, choice in enumerate(step.choices, 1)]
    if step.choices:
        buttons.append(Button("o", "something else: what it says", asks=True))
    else:
        buttons.append(Button("y", "yes" if check else "done", asks=says))
    if check:
        buttons.append(Button("n", "no, and what you see", asks=True))
    elif step.may_skip:
        buttons.append(Button("n", "leave out, and why", asks=True))
    return View(
        kind="step",
        title=_title(state, point.pass_id, point.nipple),
        text=step.text,
        caution=step.caution,
        pass_id=point.pass_id,
        nipples=_nipples(point),
        step=step.id,
        person=step.person,
        buttons=tuple(buttons),
    )


def _reading(state: JobState, point: Point) -> View:
    step = point.step
    assert step is not None
    last = state.reading(step.what or step.id)
    pressure = step.what == PRESSURE
    refused = last is not None and last.within is False and last.pass_id == point.pass_id
    buttons = []
    if refused and (not pressure or _may_keep(state, last)):
        buttons.append(Button("k", "keep it as it is, and why", asks=True))
    if step.may_skip:
        buttons.append(Button("n", "leave out, and why", asks=True))
    elif "clear" in point.also:
        buttons.append(Button("n", "it did not run clear, and what you see", asks=True))
    buttons += _other_pass(state)
    text = step.text
    if refused and last is not None:
        text += f" It was {last.amount.value} {last.amount.unit}, outside the limits: put it right and read again."
    return View(
        kind="reading",
        title=_title(state, point.pass_id, point.nipple),
        text=text,
        caution=step.caution,
        pass_id=point.pass_id,
        nipples=_nipples(point),
        step=step.id,
        what=step.what or step.id,
        unit=unit_of(point.limit, step.unit),
        low=point.limit.low if point.limit else "",
        high=point.limit.high if point.limit else "",
        person=step.person,
        buttons=tuple(buttons),
    )


def _may_keep(state: JobState, last: ReadingState | None) -> bool:
    """Whether a pressure outside the band of its pass is still within what the procedure allows at all."""
    limit = state.procedure.pressure_limit
    if last is None or limit is None:
        return False
    same_unit = unit_of(limit, last.amount.unit) == last.amount.unit
    return same_unit and within(Quantity(last.amount.value, last.amount.unit), limit) is True


def _other_pass(state: JobState) -> list[Button]:
    """Offer to take a later pass first, while none of the next one is done."""
    ahead = state.passes_ahead[1:]
    return [Button("t", f"another pass first: {', '.join(ahead)}, and why", asks=True)] if ahead else []


def _nipple(state: JobState, one: Pass | None, nipple: str, kind: Literal["open", "close"]) -> View:
    known = next((known for known in state.procedure.nipples if known.id == nipple), None)
    name = known.name if known else nipple
    how = f" {known.opening}" if known and kind == "open" and known.opening else ""
    buttons = [Button("y", "opened" if kind == "open" else "closed")]
    if kind == "open" and one is not None and one.wire_command:
        buttons.append(Button("l", "not yet: open it while it runs, and why", asks=True))
    return View(
        kind=kind,
        title=_title(state, one.id if one else ""),
        text=f"{'Open' if kind == 'open' else 'Close'} the nipple {name}{how}.",
        pass_id=one.id if one else "",
        nipples=(nipple,),
        buttons=tuple(buttons),
    )


def _missed(state: JobState, one: Pass | None, nipple: str) -> View:
    return View(
        kind="open",
        title=_title(state, one.id if one else ""),
        text=f"Was the nipple {nipple} opened while it ran?",
        pass_id=one.id if one else "",
        nipples=(nipple,),
        buttons=(Button("y", "yes, opened during the run"), Button("n", "no: the run must be done again")),
    )


def _arm(state: JobState, one: Pass, unreadable: tuple[str, ...], stale_pressure: bool) -> View:
    if stale_pressure and one.pressure is not None:
        return _reading(state, pressure_point(one))
    again = state.answered is not None and state.answered.pass_id == one.id and all(state.answered.answers.values())
    command = state.command_of(one)
    buttons = [Button("a", "arm again, all answers as before")] if again else []
    opens = _opens(state, one) if opens_at_arming(state, state.point) else ""
    if opens:
        buttons = [Button("l", "not yet: open it while it runs, and why", asks=True)]
    runs = f"{command.words if command else one.wire_command}: {one.seconds}."
    return View(
        kind="arm",
        title=_title(state, one.id),
        text=f"{opens + ' ' if opens else ''}{runs} Answer with your own eyes, then arm.",
        caution=" ".join(state.procedure.cautions),
        pass_id=one.id,
        nipples=one.nipples,
        buttons=tuple(buttons),
        questions=(*([Asked(OPENED, f"Done: {opens}")] if opens else []), *questions(state, unreadable)),
    )


OPENED = "opened"
"""The question before arming by which the nipples of the pass are said to be open."""


def _opens(state: JobState, one: Pass) -> str:
    """Return what is to be opened, in words."""
    shut = [name for name in one.nipples if name not in state.open_nipples]
    known = {nipple.id: nipple for nipple in state.procedure.nipples}
    said = [f"{known[name].name} {known[name].opening}".strip() if name in known else name for name in shut]
    return f"Open the nipple {' and '.join(said)}." if said else ""


def questions(state: JobState, unreadable: tuple[str, ...] = ()) -> tuple[Asked, ...]:
    """Return what is asked before arming: what only eyes can see, and preconditions that nobody can read."""
    readable = {one.name for one in state.map.conditions} if state.map else set()
    told = [one for one in state.procedure.preconditions if one.name not in readable or one.name in unreadable]
    asked = [Asked(one.id, one.text) for one in state.procedure.questions]
    asked += [Asked(one.name, one.text) for one in told]
    named = {one.name for one in state.procedure.preconditions} | {one.id for one in asked}
    if STANDING not in named and (STANDING not in readable or STANDING in unreadable):
        asked.append(Asked(STANDING, "Does the vehicle stand still, held so that it cannot roll?"))
    return tuple(asked)


STANDING = "speed"
"""The condition that says whether the vehicle moves: read where the map has it, else asked. It must be 0."""


def armed_view(state: JobState, one: Pass, shown: dict[str, str]) -> View:
    """Return the view of an armed actuation: what it will do, and the two ways on."""
    return View(
        kind="armed",
        title=_title(state, one.id),
        text="Armed. Start when the hand is ready; any key stops."
        + (" Open on the cue." if one.order == "with" else ""),
        caution=state.procedure.physical_fallback,
        pass_id=one.id,
        nipples=one.nipples,
        buttons=(Button("s", "start"), Button("x", "leave, nothing is sent")),
        shown=shown,
    )


def running_view(state: JobState, one: Pass) -> View:
    """Return the view while it runs. Nipples that are still shut are opened now, each with one key."""
    closed = [nipple for nipple in one.nipples if nipple not in state.open_nipples]
    opens = one.order != "with" and bool(closed)
    return View(
        kind="running",
        title=_title(state, one.id),
        text=f"Open the nipple {closed[0]} now." if opens else "Running. Any other key stops.",
        pass_id=one.id,
        nipples=tuple(closed[:1]) if opens else one.nipples,
        buttons=(Button("o", "opened"),) if opens else (),
    )


def busy_view(text: str) -> View:
    """Return the view of a wait in which no key but stop does anything."""
    return View(kind="busy", text=text)


def run_view(state: JobState, one: Pass, life: str, shown: dict[str, str]) -> View:
    """Return the view of an actuation in the state `life` of the table."""
    if life == "armed":
        return armed_view(state, one, shown)
    if life == "running":
        return running_view(state, one)
    text = {
        "checking": "Reading the preconditions.",
        "arming": "Reading the preconditions.",
        "cue": "Counting down: open on the cue. Any key stops.",
        "stopping": "Stop sent, not confirmed yet.",
    }
    said = text.get(life, "Starting. Any key stops.")
    return View(kind="busy", title=_title(state, one.id), text=said, pass_id=one.id, nipples=one.nipples)


def _inspect(state: JobState) -> View:
    run = state.run_of(state.inspect)
    what = "was interrupted" if state.interrupted else "ended in a way nobody knows"
    fallback = state.procedure.physical_fallback
    return View(
        kind="inspect",
        title=_title(state, run.pass_id if run else ""),
        text=f"An actuation {what}. {UNKNOWN_ACT} {fallback}".strip() + " Look, then say what you saw.",
        caution=fallback,
        pass_id=run.pass_id if run else "",
        buttons=(
            Button("s", "send the stop request"),
            Button("y", "looked: at rest and safe", asks=True),
            Button("n", "looked: not safe", asks=True),
        ),
    )


def _decide(state: JobState) -> View:
    return View(
        kind="decide",
        title=_title(state, state.decide),
        text="This run did not complete. Do the pass again, or accept what was done and say why.",
        pass_id=state.decide,
        buttons=(Button("r", "do the pass again"), Button("k", "accept it, and why", asks=True)),
    )


def _title(state: JobState, pass_id: str, nipple: str = "") -> str:
    if not pass_id:
        return state.procedure.title
    place = next((index for index, one in enumerate(state.plan, 1) if one.id == pass_id), 0)
    one = state.pass_of(pass_id)
    names = [
        known.name for known in state.procedure.nipples if one and known.id in ((nipple,) if nipple else one.nipples)
    ]
    return f"Pass {place} of {len(state.plan)}: {', '.join(names)}"


def _nipples(point: Point) -> tuple[str, ...]:
    return (point.nipple,) if point.nipple else ()
