"""What a face's command does: a command and the view it answers flow in, entries and acts of the runner flow out.

Rules that hold here: a command for another view than the one that stands is refused; a key that the view does not
offer is refused, but while a run is live it stops; words that are asked for must come. What a key does at a step and at
a nipple is in `step_keys` and `nipple_keys`.
"""

from __future__ import annotations

from collections.abc import Callable

from witnessmark.errors import InputError, LocalError
from witnessmark.job.allowed import first_use
from witnessmark.job.amiss import anew
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.keys import told_run
from witnessmark.job.keys.acts import Acts, Command, text_of
from witnessmark.job.keys.arm_keys import answered, arm_key
from witnessmark.job.keys.level_keys import air_key, level_key, lid_key
from witnessmark.job.keys.mend_keys import mend_key
from witnessmark.job.keys.mend_safe_keys import was_safe_key
from witnessmark.job.keys.nipple_keys import nipple_key, told_key
from witnessmark.job.keys.pause_keys import others_key, pause, paused_key
from witnessmark.job.keys.step_keys import codes_key, mixing_key, reading, step_again, step_key
from witnessmark.job.keys.told_run import EARLY, ENDED, UNSEEN
from witnessmark.job.screens.first_use_view import RESULTS
from witnessmark.job.screens.run_view import LOOKED, SECOND
from witnessmark.job.unit.known_unit import WHICH_UNIT
from witnessmark.job.view import View
from witnessmark.job.walk import slip
from witnessmark.job.walk.leaving import LEFT
from witnessmark.job.walk.state import (
    ACCEPT,
    EMPTY,
    LEFT_BY_OTHERS,
    LET_OFF_LAST,
    LEVEL_LOOK,
    OFF_TO_FILL,
    READY,
    REDO,
    REFILL,
    SCAN_AGAIN,
)
from witnessmark.journal import bodies
from witnessmark.procedure.mending import MENDED_AT
from witnessmark.procedure.own import WAS_SAFE
from witnessmark.procedure.repeated import KEYS


def obey(runner: Acts, command: Command) -> None:
    """Do what one command asks. Raises LocalError, having done nothing, when it cannot be done."""
    do = text_of(command, "do")
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
    key = text_of(command, "key")
    button = next((one for one in view.buttons if one.key == key), None)
    if button is None:
        if runner.live:
            runner.stop("a key")
            return
        offered = ", ".join(one.key for one in view.buttons) or "none"
        raise InputError(f"key {key!r} does nothing here", place="key", hint=f"keys: {offered}")
    said = text_of(command, "said")
    if button.asks and not said.strip():
        raise InputError(f"{button.label}: words are missing", place="said", hint="say it in a few words")
    if key in KEYS:
        step_again(runner, key)
        return
    if key == anew.SAME and anew.offered(runner.state)[0] and view.kind in anew.KINDS:
        runner.record.said(anew.redo(runner.state), by=text_of(command, "by"))
        return
    if button in (slip.SLIP, slip.NOT_EMPTY):
        runner.record.said(slip.taken_back(view), by=text_of(command, "by"))
        return
    nipple = runner.state.point.nipple if runner.state.point is not None else ""
    own = bodies.StepDone(step=view.step, act="done", pass_id=view.pass_id, nipple=nipple)
    does = _STEPS.get(runner.state.word(own)) or _KEYS[view.kind]
    does(runner, view, key, said, text_of(command, "by"))


def _armed_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    if key == "s":
        runner.start()
    elif key == SECOND.key:
        _ready(runner, view)
    else:
        runner.stop("left")


def _ready(runner: Acts, view: View) -> None:
    runner.hands.by_second(bodies.StepDone(step=READY, act="confirmed", pass_id=view.pass_id), starts=True)


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
    if key == SECOND.key:
        _ready(runner, view)
        return
    if key != told_run.ENDED:
        runner.record.said(told_run.started(runner.state, one), by=by)
        return
    record, when = runner.record, runner.record.since_wall(runner.state.last_wall_ns)

    def ended(intent: Ticket) -> None:
        assert intent.entry is not None
        record.said(told_run.ran(intent.entry.seq, view.pass_id), by=by, when=when)

    record.said(told_run.started(runner.state, one), by=by, when=when).then = ended


def _again_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    if key == SECOND.key:
        _ready(runner, view)
        return
    runner.ask_again()


def _result_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    state = runner.state
    run = state.run_of(state.result_due)
    command = state.command_named(run.wire_command) if run is not None else None
    assert run is not None and command is not None
    body = first_use.result_of(state, run.intent, RESULTS[key], said, command)
    runner.record.said(body, by=by)


def _decide_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    if runner.state.air:
        air_key(runner, view, key, said, by)
        return
    step, act = (REDO, "done") if key == "r" else (ACCEPT, "confirmed")
    runner.record.said(bodies.StepDone(step=step, act=act, pass_id=view.pass_id, said=said), by=by)  # type: ignore[arg-type]


def _why_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    runner.record.said(told_run.why_early(runner.state, key, said), by=by)


def _done_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    if key == "o":
        runner.record.said(bodies.StepDone(step=LET_OFF_LAST, act="done", affects="depressurise"), by=by)
        return
    runner.record.said(bodies.State(state="finished", why=said), by=by)


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
        hint = f"say first how it ended: {ENDED}, {EARLY} before its time, {UNSEEN} nobody saw it; then p pauses"
        raise LocalError("a run has not been said to have ended, and its end would look later than it was", hint=hint)


def _pause(runner: Acts, command: Command) -> None:
    _need_open(runner, "paused")
    _need_told(runner)
    runner.stop("paused")
    pause(runner, text_of(command, "why"), text_of(command, "by"))


def _abandon(runner: Acts, command: Command) -> None:
    why = text_of(command, "why")
    if not why.strip():
        raise InputError("a job is not abandoned without a reason", place="why", hint="say why")
    _need_open(runner, "abandoned")
    _need_told(runner)
    runner.stop("abandoned")
    runner.record.said(bodies.State(state="abandoned", why=why), by=text_of(command, "by"))


def _leave(runner: Acts, command: Command) -> None:
    runner.leave(LEFT)


def _hands(runner: Acts, command: Command) -> None:
    runner.hands.switch()


def _say(runner: Acts, command: Command) -> None:
    what, said = text_of(command, "what"), text_of(command, "said")
    if what not in (EMPTY, REFILL, "note"):
        raise InputError(f"{what!r} cannot be said", place="what", hint=f"use {EMPTY}, {REFILL} or note")
    if what == "note" and not said.strip():
        raise InputError("a note without words", place="said", hint="say it in a few words")
    affects = "" if what == "note" else what
    runner.record.said(
        bodies.StepDone(step=f"said-{what}", act="done", affects=affects, said=said), by=text_of(command, "by")
    )


_KEYS: dict[str, Callable[[Acts, View, str, str, str], None]] = {
    "step": step_key,
    "reading": step_key,
    "open": nipple_key,
    "close": nipple_key,
    "running": nipple_key,
    "arm": arm_key,
    "armed": _armed_key,
    "mixing": mixing_key,
    "inspect": _inspect_key,
    "hear": _again_key,
    "heard": nipple_key,
    "tell": _tell_key,
    "told": told_key,
    "result": _result_key,
    "why": _why_key,
    "decide": _decide_key,
    "paused": paused_key,
    "done": _done_key,
}
_STEPS = {
    LEVEL_LOOK: level_key,
    OFF_TO_FILL: lid_key,
    LEFT_BY_OTHERS: others_key,
    WHICH_UNIT: _again_key,
    MENDED_AT: mend_key,
    WAS_SAFE: was_safe_key,
    SCAN_AGAIN: codes_key,
}
"""What is asked beside the walk, in a view of whatever kind."""
_OF_A_VIEW: dict[str, Callable[[Acts, View, Command], None]] = {
    "key": _key,
    "reading": reading,
    "answers": answered,
    "start": _start,
}
_ANY_TIME: dict[str, Callable[[Acts, Command], None]] = {
    "pause": _pause,
    "abandon": _abandon,
    "say": _say,
    "hands": _hands,
    "leave": _leave,
}
