"""What a face's command does: a command and the view it answers flow in, entries and acts of the runner flow out.

Rules that hold here: a command for another view than the one that stands is refused; a key that the view does not
offer is refused, but while a run is live it stops; words that are asked for must come; a value keeps the unit it was
entered in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Protocol

from witnessmark.errors import InputError, LocalError
from witnessmark.job import first_use, told_run
from witnessmark.job.amount import number, within
from witnessmark.job.container import FLUID
from witnessmark.job.first_use_view import RESULTS
from witnessmark.job.questions import OPENED
from witnessmark.job.record import Record
from witnessmark.job.run_view import LOOKED
from witnessmark.job.state import ACCEPT, EMPTY, LATER, MISSED, OTHER_PASS, READY, REDO, REFILL, Cue, JobState
from witnessmark.job.view import View
from witnessmark.journal import bodies
from witnessmark.journal.entry import Occurred
from witnessmark.procedure.model import Limit, Step
from witnessmark.quantity import UNITS, Quantity

Command = Mapping[str, Any]


class Acts(Protocol):
    """What a command may make the runner do."""

    state: JobState
    record: Record
    view: View | None

    @property
    def live(self) -> bool: ...

    def arm(self, answers: Mapping[str, bool]) -> None: ...

    def start(self) -> None: ...

    def by_second(self, body: bodies.Body, when: Occurred | None = None) -> None: ...

    def stop(self, why: str) -> None: ...

    def show(self) -> None: ...

    def ask_again(self) -> None: ...


def obey(runner: Acts, command: Command) -> None:
    """Do what one command asks. Raises LocalError, having done nothing, when it cannot be done."""
    do = _text(command, "do")
    if do == "view":
        runner.show()
    elif do in _ANY_TIME:
        if runner.live:
            raise LocalError("an actuation is live", hint="stop it first")
        _ANY_TIME[do](runner, command)
    elif do in _OF_A_VIEW:
        view = runner.view
        if view is None or command.get("view") != view.id:
            raise LocalError("the view has changed", hint="look at the new one")
        _OF_A_VIEW[do](runner, view, command)
    else:
        raise InputError(f"{do!r} is nothing a face may ask", place="command", hint="see the socket's own description")


def _key(runner: Acts, view: View, command: Command) -> None:
    key = _text(command, "key")
    button = next((one for one in view.buttons if one.key == key), None)
    if button is None:
        if runner.live:
            runner.stop("a key")
            return
        offered = ", ".join(one.key for one in view.buttons) or "none"
        raise InputError(f"key {key!r} does nothing here", place="key", hint=f"keys: {offered}")
    said = _text(command, "said")
    if button.asks and not said.strip():
        raise InputError(f"{button.label}: words are missing", place="said", hint="say it in a few words")
    _KEYS[view.kind](runner, view, key, said, _text(command, "by"))


def _step_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    point = runner.state.point
    step = point.step if point else None
    assert step is not None
    if key == "t":
        _pass_first(runner, said, by)
        return
    if key == "r":
        runner.ask_again()
        return
    yes = "confirmed" if step.act == "check" else "done"
    answer = ""
    if key.isdigit():
        answer, said = step.choices[int(key) - 1], ""
    elif key in ("o", "y") and step.affects in FLUID:
        answer, said = said, ""
    act = {"n": "skipped", "k": "confirmed"}.get(key, yes)
    body = bodies.StepDone(
        step=step.id,
        act=act,  # type: ignore[arg-type]
        pass_id=view.pass_id,
        nipple=view.nipples[0] if view.nipples else "",
        affects="" if key == "k" and view.kind == "step" else step.affects,
        answer=answer,
        said=said,
        also=() if act == "skipped" else _also(runner.state),
    )
    if step.person == "second":
        runner.by_second(body, _closing(runner, body.also))
    else:
        runner.record.said(body, by=by, when=_closing(runner, body.also))


def _also(state: JobState) -> tuple[str, ...]:
    """What a touch at this point says besides; that its nipple is closed only where it stands open."""
    point = state.point
    if point is None:
        return ()
    return tuple(word for word in point.also if word != "closed" or point.nipple in state.open_nipples)


def _closing(runner: Acts, also: tuple[str, ...]) -> Occurred | None:
    """A touch that closes besides closed some time since the run ended; None for every other touch."""
    point = runner.state.point
    if "closed" not in also or point is None:
        return None
    run = next((one for one in reversed(runner.state.runs) if one.pass_id == point.pass_id), None)
    return runner.record.since(run.to_mono) if run is not None and run.to_mono is not None else None


def _pass_first(runner: Acts, said: str, by: str) -> None:
    """Take a later pass first. The words begin with its id; the rest is the reason."""
    pass_id, _, why = said.strip().partition(" ")
    ahead = runner.state.passes_ahead[1:]
    if pass_id not in ahead or not why.strip():
        raise InputError(
            f"{said!r} is not a pass and a reason", place="said", hint=f"write one of {', '.join(ahead)}, then why"
        )
    runner.record.said(bodies.StepDone(step=OTHER_PASS, act="confirmed", pass_id=pass_id, said=why.strip()), by=by)


def _nipple_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    state = runner.state
    nipple = view.nipples[0]
    cue = next((one for one in state.cued if one.nipple == nipple and view.kind == "open"), None)
    if cue is not None:
        _cue_key(runner, cue, key, by)
        return
    missed = view.kind == "open" and state.point is not None and state.point.closes
    if missed and key == "n":
        runner.record.said(bodies.StepDone(step=MISSED, act="skipped", pass_id=view.pass_id, nipple=nipple), by=by)
        return
    if key == "l":
        later = bodies.StepDone(step=LATER, act="skipped", pass_id=view.pass_id, nipple=nipple, said=said)
        runner.record.said(later, by=by)
        return
    opens = view.kind in ("open", "running", "heard", "told")
    body = bodies.StepDone(
        step="open" if opens else "close", act="opened" if opens else "closed", pass_id=view.pass_id, nipple=nipple
    )
    run = next((one for one in reversed(state.runs) if one.pass_id == view.pass_id), None)
    when = None
    if missed and run is not None and run.from_mono is not None and run.to_mono is not None:
        when = runner.record.between(run.from_mono, run.to_mono)
    runner.record.said(body, by=by, when=when)


def _cue_key(runner: Acts, cue: Cue, key: str, by: str) -> None:
    """Record what a person says was done on the cue; the time is the cue's, or from it to the end of the run."""
    if key == "n":
        missed = bodies.StepDone(step=MISSED, act="skipped", pass_id=cue.pass_id, nipple=cue.nipple)
        runner.record.said(missed, by=by)
        return
    on_cue, when = key == "y", cue.occurred
    if not on_cue:
        run = next((one for one in reversed(runner.state.runs) if one.pass_id == cue.pass_id), None)
        when = runner.record.from_cue(cue.occurred, run.to_mono if run is not None else None)
    said = "" if on_cue else "late"
    body = bodies.StepDone(step="open", act="opened", pass_id=cue.pass_id, nipple=cue.nipple, on_cue=on_cue, said=said)
    runner.record.said(body, by=by, when=when)


def _arm_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    if key == "l":
        for nipple in _shut_here(runner.state):
            later = bodies.StepDone(step=LATER, act="skipped", pass_id=view.pass_id, nipple=nipple, said=said)
            runner.record.said(later, by=by)
        return
    before = runner.state.answered
    assert before is not None
    runner.arm(before.answers)


def _armed_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    if key == "s":
        runner.start()
    elif key == "w":
        runner.by_second(bodies.StepDone(step=READY, act="confirmed", pass_id=view.pass_id))
    else:
        runner.stop("left")


def _inspect_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    if key == "s":
        runner.stop("asked for at the inspection")
        return
    actuation = runner.state.inspect
    assert actuation is not None
    safe = key != list(LOOKED)[-1]
    body = bodies.Inspection(actuation=actuation, pass_id=view.pass_id, said=said or LOOKED[key], safe=safe)
    runner.record.said(body, by=by)


def _tell_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    one = runner.state.pass_of(view.pass_id)
    assert one is not None
    runner.record.said(told_run.started(runner.state, one), by=by)


def _told_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    run = runner.state.run_of(runner.state.open_intent)
    if key == "o" or run is None:
        _nipple_key(runner, view, key, said, by)
    else:
        runner.record.said(told_run.ended(run, key, said), by=by)


def _result_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    state = runner.state
    run = state.run_of(state.result_due)
    command = state.command_named(run.wire_command) if run is not None else None
    assert run is not None and command is not None
    body = first_use.result_of(state, run.intent, RESULTS[key], said, command)
    runner.record.said(body, by=by)


def _decide_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    step, act = (REDO, "done") if key == "r" else (ACCEPT, "confirmed")
    runner.record.said(bodies.StepDone(step=step, act=act, pass_id=view.pass_id, said=said), by=by)  # type: ignore[arg-type]


def _paused_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    runner.record.said(bodies.State(state="open", why=said), by=by)


def _done_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    runner.record.said(bodies.State(state="finished", why=said), by=by)


def _reading(runner: Acts, view: View, command: Command) -> None:
    if view.kind != "reading":
        raise InputError("no reading is asked for here", place="reading", hint="look at the view")
    value = str(number(_text(command, "value"), place=view.what))
    unit = _text(command, "unit") or view.unit
    if unit not in UNITS:
        raise InputError(f"unit {unit!r} is not known", place=view.what, hint=f"use one of: {', '.join(sorted(UNITS))}")
    limit = Limit(view.low, view.high) if view.low or view.high else None
    compared = Quantity(value, unit)
    converted = command.get("as")
    if unit != view.unit and limit is not None and isinstance(converted, dict):
        compared = Quantity(str(number(_text(converted, "value"), place=view.what)), _text(converted, "unit"))
    step, also = _step_of(runner.state), _also(runner.state)
    instrument = _text(command, "instrument") or step.instrument
    body = bodies.Reading(
        what=view.what,
        amount=bodies.Amount(value=value, unit=unit),
        step=view.step,
        pass_id=view.pass_id,
        instrument=instrument,
        low=view.low,
        high=view.high,
        within=within(compared, limit),
        nipple=view.nipples[0] if view.nipples else "",
        affects=step.affects,
        also=also,
        calibrated_until=dict(runner.state.instruments).get(instrument, ""),
    )
    if step.person == "second":
        runner.by_second(body, _closing(runner, also))
    else:
        runner.record.said(body, by=_text(command, "by"), when=_closing(runner, also))


def _step_of(state: JobState) -> Step:
    point = state.point
    return point.step if point and point.step else Step(id="pressure", text="")


def _answers(runner: Acts, view: View, command: Command) -> None:
    if view.kind != "arm":
        raise InputError("nothing is asked here", place="answers", hint="look at the view")
    answers = command.get("answers")
    if not isinstance(answers, dict) or not all(isinstance(value, bool) for value in answers.values()):
        raise InputError("answers are not yes and no", place="answers", hint="send an object of true and false")
    if any(one.id == OPENED for one in view.questions):
        if answers.get(OPENED) is not True:
            raise LocalError("the nipple is not open", hint="open it, then answer again; nothing was sent")
        when = runner.record.before(runner.state.last_wall_ns)
        for nipple in _shut_here(runner.state):
            opened = bodies.StepDone(step="open", act="opened", pass_id=view.pass_id, nipple=nipple)
            runner.record.said(opened, by=_text(command, "by"), when=when)
    runner.arm(answers)


def _shut_here(state: JobState) -> tuple[str, ...]:
    """The nipples of the pass in hand that are shut."""
    one = state.pass_of(state.point.pass_id) if state.point else None
    return tuple(name for name in one.nipples if name not in state.open_nipples) if one else ()


def _start(runner: Acts, view: View, command: Command) -> None:
    if view.kind != "armed":
        raise InputError("nothing is armed", place="start", hint="arm first")
    runner.start()


def _need_open(runner: Acts, act: str) -> None:
    """Raise LocalError for a job that is over: only a lead opens it again, elsewhere."""
    if runner.state.status not in ("open", "paused"):
        raise LocalError(f"the job is {runner.state.status} and cannot be {act}", hint="open a job that follows it")


def _need_told(runner: Acts) -> None:
    """Raise LocalError while a run that a person told of has not been told to have ended."""
    run = runner.state.run_of(runner.state.open_intent)
    if run is not None and run.grade == "told":
        raise LocalError("a run has not been said to have ended", hint="say first how it ended")


def _pause(runner: Acts, command: Command) -> None:
    _need_open(runner, "paused")
    _need_told(runner)
    runner.stop("paused")
    runner.record.said(bodies.State(state="paused", why=_text(command, "why")), by=_text(command, "by"))


def _abandon(runner: Acts, command: Command) -> None:
    why = _text(command, "why")
    if not why.strip():
        raise InputError("a job is not abandoned without a reason", place="why", hint="say why")
    _need_open(runner, "abandoned")
    _need_told(runner)
    runner.stop("abandoned")
    runner.record.said(bodies.State(state="abandoned", why=why), by=_text(command, "by"))


def _say(runner: Acts, command: Command) -> None:
    what, said = _text(command, "what"), _text(command, "said")
    if what not in (EMPTY, REFILL, "note"):
        raise InputError(f"{what!r} cannot be said", place="what", hint=f"use {EMPTY}, {REFILL} or note")
    if what == "note" and not said.strip():
        raise InputError("a note without words", place="said", hint="say it in a few words")
    affects = "" if what == "note" else what
    runner.record.said(
        bodies.StepDone(step=f"said-{what}", act="done", affects=affects, said=said), by=_text(command, "by")
    )


def _text(command: Command, name: str) -> str:
    value = command.get(name, "")
    if not isinstance(value, str):
        raise InputError(f"{name} is not text", place="command", hint=f"send {name} as text")
    return value


_KEYS: dict[str, Callable[[Acts, View, str, str, str], None]] = {
    "step": _step_key,
    "reading": _step_key,
    "open": _nipple_key,
    "close": _nipple_key,
    "running": _nipple_key,
    "arm": _arm_key,
    "armed": _armed_key,
    "inspect": _inspect_key,
    "heard": _nipple_key,
    "tell": _tell_key,
    "told": _told_key,
    "result": _result_key,
    "decide": _decide_key,
    "paused": _paused_key,
    "done": _done_key,
}
_OF_A_VIEW: dict[str, Callable[[Acts, View, Command], None]] = {
    "key": _key,
    "reading": _reading,
    "answers": _answers,
    "start": _start,
}
_ANY_TIME: dict[str, Callable[[Acts, Command], None]] = {"pause": _pause, "abandon": _abandon, "say": _say}
