"""What a touch at a step does, and a reading: the view that stands and what was pressed flow in, an entry flows out.

Rule that holds here: a value keeps the unit it was entered in; a touch says of its nipple only what can be so.
"""

from __future__ import annotations

from witnessmark.errors import InputError
from witnessmark.job.amiss import not_safe
from witnessmark.job.amount import number
from witnessmark.job.fluid.bottle import inside
from witnessmark.job.fluid.container import IN_VEHICLE, READ_OFF, UNKNOWN
from witnessmark.job.fluid.tank import DRAWN, DRAWN_OFF, FILLED
from witnessmark.job.keys.acts import Acts, Command, text_of
from witnessmark.job.keys.again import offered
from witnessmark.job.keys.mend_keys import bleed_again, first_and_why
from witnessmark.job.keys.mend_safe_keys import make_safe
from witnessmark.job.reasons import ELSEWHERE, NOT_LOOKED, SCANNED_AFTER
from witnessmark.job.screens.mend_safe_view import SAFE_KEY
from witnessmark.job.screens.step_view import DRAW
from witnessmark.job.screens.told_unit_view import SHOWS_NONE, TELLS
from witnessmark.job.unit import told_unit
from witnessmark.job.view import BLEED_AGAIN, INSTRUMENT, NOT_OPEN_KEY, View
from witnessmark.job.walk.state import (
    AGAIN,
    AS_EXPECTED,
    LEVEL_LOOK,
    MISSED,
    MIXING_ALLOWED,
    NOT_AGAIN,
    OTHER_PASS,
    PUT_RIGHT,
    READ_FLUIDS,
    REFILL,
    SCAN_AGAIN,
    TAKEN_BACK,
    JobState,
)
from witnessmark.job.walk.steps import BOTTLE, pressure_point
from witnessmark.journal import bodies
from witnessmark.journal.entry import Occurred
from witnessmark.procedure.mending import MENDED, OFFERED
from witnessmark.procedure.model import Limit, Step
from witnessmark.procedure.steps import is_check
from witnessmark.quantity import UNITS, Quantity


def step_again(runner: Acts, key: str) -> None:
    """Take up a step again, the one that the key stands for."""
    point = offered(runner.state)[key]
    assert point.step is not None
    body = bodies.StepDone(
        step=AGAIN, act="confirmed", pass_id=point.pass_id, nipple=point.nipple, answer=point.step.id
    )
    runner.record.said(body)


def step_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record what a key at a step or a reading says."""
    point = runner.state.point
    step = point.step if point else None
    assert step is not None
    if view.what == DRAWN:
        runner.filling.forget()
        return
    if key == DRAW.key:
        runner.filling.say(DRAWN, runner.state)
        return
    if key == SAFE_KEY:
        make_safe(runner, by)
        return
    if key == "t":
        _pass_first(runner, said, by)
        return
    if key == BLEED_AGAIN:
        bleed_again(runner, said, by)
        return
    if key == INSTRUMENT:
        raise InputError("an instrument comes with its reading", place="key", hint="send its name with the value")
    if key == "r":
        runner.ask_again()
        return
    if key == "b":
        nipple = view.nipples[0] if view.nipples else ""
        back = TAKEN_BACK if view.pass_id in runner.state.as_expected else ""
        seen = bodies.StepDone(step=AS_EXPECTED, act="confirmed", pass_id=view.pass_id, nipple=nipple, answer=back)
        runner.record.said(seen, by=by)
        return
    if key == NOT_OPEN_KEY:
        shut = bodies.StepDone(step=MISSED, act="skipped", pass_id=view.pass_id, nipple=view.nipples[0])
        runner.record.said(shut, by=by)
        return
    if key == "w":
        mended = said.strip()
        if is_check(step):
            offered = mended if mended in OFFERED else ""
            what = bodies.StepDone(
                step=MENDED, act="confirmed", pass_id=view.pass_id, answer=offered, mended="" if offered else mended
            )
            runner.record.said(what, by=by)
            return
        right = bodies.StepDone(step=PUT_RIGHT, act="confirmed", pass_id=view.pass_id, answer=step.id, mended=mended)
        runner.record.said(right, by=by)
        return
    if key == "x":
        left = bodies.StepDone(step=NOT_AGAIN, act="confirmed", pass_id=view.pass_id, answer=step.id)
        runner.record.said(left, by=by)
        return
    if point is not None and point.kind == "ask" and key in (TELLS, SHOWS_NONE):
        shown = said if key == TELLS else None
        runner.record.said(told_unit.said(runner.state, point, shown), by=by)
        return
    yes = "confirmed" if step.act == "check" else "done"
    answer = ""
    if key.isdigit():
        answer, said = step.choices[int(key) - 1], ""
    elif key in ("o", "y") and step.affects in READ_OFF:
        answer, said = said, ""
    act = {"n": "skipped", "k": "confirmed"}.get(key, yes)
    if key == "n" and step.affects == IN_VEHICLE and is_check(step):
        act, answer = yes, UNKNOWN
    if point is not None and point.kind == "ask" and act == "skipped":
        said = said or ELSEWHERE
    body = bodies.StepDone(
        step=step.id,
        act=act,  # type: ignore[arg-type]
        pass_id=view.pass_id,
        nipple=view.nipples[0] if view.nipples else "",
        affects="" if key == "k" and view.kind == "step" else step.affects,
        answer=answer,
        said=said,
        also=() if act == "skipped" else _also(runner.state),
        looked=act == "skipped" and not not_safe.makes_safe(runner.state, point) and _looked(step, view, said),
    )
    if step.person == "second":
        runner.hands.by_second(body, _closing(runner, body.also))
    else:
        runner.record.said(body, by=by, when=_closing(runner, body.also))


def _looked(step: Step, view: View, said: str) -> bool:
    """Say whether a no means that it was looked at and not right, and not that it was left out or could not be seen."""
    if said in NOT_LOOKED or step.choices:
        return False
    unclear = (
        view.kind == "reading" and not step.may_skip and step.what != BOTTLE
    )  # what did not run clear was looked at
    return is_check(step) or unclear


def codes_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record that the trouble codes are read again, with what was done before, or why they stay."""
    affects = SCANNED_AFTER.get(said, "")
    body = bodies.StepDone(step=SCAN_AGAIN, act="done", affects=affects, said=said)
    stays = bodies.StepDone(step=runner.state.codes_due, act="confirmed", said=said)
    runner.record.said(body if key == "r" else stays, by=by)


def mixing_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record that both fluids are read again, or that a lead who is here goes on."""
    if key == "r":
        runner.record.said(bodies.StepDone(step=READ_FLUIDS, act="confirmed"), by=by)
    else:
        runner.hands.by_lead(bodies.StepDone(step=MIXING_ALLOWED, act="confirmed", said=said))


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
    pass_id, why = first_and_why(said, runner.state.passes_ahead[1:])
    runner.record.said(bodies.StepDone(step=OTHER_PASS, act="confirmed", pass_id=pass_id, said=why), by=by)


def reading(runner: Acts, view: View, command: Command) -> None:
    """Record a value that was read, in the unit it was entered in. Raises InputError for what is no value of it."""
    if view.kind != "reading":
        raise InputError("no reading is asked for here", place="reading", hint="look at the view")
    value = str(number(text_of(command, "value"), place=view.what))
    unit = text_of(command, "unit") or view.unit
    if unit not in UNITS:
        raise InputError(f"unit {unit!r} is not known", place=view.what, hint=f"use one of: {', '.join(sorted(UNITS))}")
    limit = Limit(view.low, view.high) if view.low or view.high else None
    looks = view.step == LEVEL_LOOK
    unsafe = _unsafe(runner.state, view)
    step = unsafe or (_look(view) if looks else _drawn(runner.state) if view.what == DRAWN else _step_of(runner.state))
    beside = looks or unsafe is not None or view.step == DRAWN_OFF
    also = () if beside else _also(runner.state)
    instrument = text_of(command, "instrument") or step.instrument
    body = bodies.Reading(
        what=view.what,
        amount=bodies.Amount(value=value, unit=unit),
        step=view.step,
        pass_id=view.pass_id,
        instrument=instrument,
        low=view.low,
        high=view.high,
        within=inside(runner.state, view.what, view.pass_id, Quantity(value, unit), limit),
        nipple=view.nipples[0] if view.nipples else "",
        affects=step.affects,
        also=also,
        calibrated_until=dict(runner.state.instruments).get(instrument, ""),
    )
    if step.person == "second":
        runner.hands.by_second(body, _closing(runner, also))
    else:
        runner.record.said(body, by=text_of(command, "by"), when=_closing(runner, also))


def _look(view: View) -> Step:
    """The step by which the reservoir is looked at; with how much went in it says that it was filled up."""
    return Step(id=LEVEL_LOOK, text="", affects=REFILL if view.what == FILLED else "")


def _drawn(state: JobState) -> Step:
    """The step by which fluid is drawn off: in the place of a filling it sets the level, and fills nothing."""
    step = _step_of(state)
    sets = step.what == FILLED and step.affects != REFILL
    return Step(id=step.id, text="", affects=step.affects if sets else "", person=step.person)


def _unsafe(state: JobState, view: View) -> Step | None:
    """The step that is read again before anything is opened, where the walk stands behind it; else None."""
    left = not_safe.due(state)
    here = state.point is not None and state.point.step is not None and state.point.step.id == view.step
    return left.step if left is not None and left.step is not None and left.step.id == view.step and not here else None


def _step_of(state: JobState) -> Step:
    """The step that is read for; before a run, the feed's pressure that is read again."""
    point = state.point
    one = state.pass_of(point.pass_id) if point is not None and point.step is None else None
    again = pressure_point(state.procedure, one) if one is not None else point
    return again.step if again is not None and again.step is not None else Step(id="pressure", text="")
