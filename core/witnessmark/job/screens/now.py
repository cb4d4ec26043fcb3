"""The view of this moment: the job's state, what is running and the clock flow in, one view flows out."""

from __future__ import annotations

import dataclasses

from msgspec.structs import replace

from witnessmark.clock import NS
from witnessmark.job import safety_look
from witnessmark.job.allowed import rules
from witnessmark.job.allowed.first_use import due_now, unread
from witnessmark.job.allowed.length import unfit_passes
from witnessmark.job.allowed.rest import Moment, wait_ns
from witnessmark.job.amiss import anew, not_safe, unwritten
from witnessmark.job.amiss.bleeding import unbled
from witnessmark.job.amiss.mend_safe import resumed
from witnessmark.job.amiss.unclear import to_decide
from witnessmark.job.bay import Bay
from witnessmark.job.fluid import feed
from witnessmark.job.fluid.container import READ_OFF, gone_on_with, never_mix
from witnessmark.job.keys import again
from witnessmark.job.moment import in_seconds
from witnessmark.job.questions import held
from witnessmark.job.screens import mend_safe_view as mend_safe
from witnessmark.job.screens.codes_view import codes_view
from witnessmark.job.screens.cue_view import cued_view, missed_view
from witnessmark.job.screens.elsewhere_view import (
    besides_view,
    elsewhere_view,
    past_longest,
    resting_elsewhere_view,
    rests,
    running_elsewhere_view,
    unheard_view,
    why_view,
)
from witnessmark.job.screens.first_use_view import first_use_view, result_view
from witnessmark.job.screens.level_view import air_view, level_view, lid_view, must_look
from witnessmark.job.screens.look_view import look_view
from witnessmark.job.screens.mend_view import mend_view
from witnessmark.job.screens.pause_view import done_view, left_open_view, others_view, paused_view
from witnessmark.job.screens.run_view import arm_view, decide_view, inspect_view, opens_at_arming, run_view
from witnessmark.job.screens.step_view import (
    ask_view,
    close_to_read_view,
    mixing_view,
    nipple_view,
    reading_view,
    step_view,
    unsafe_view,
)
from witnessmark.job.sending.run import Run
from witnessmark.job.view import GONE, View, busy_view, title
from witnessmark.job.walk import slip
from witnessmark.job.walk.standing import (
    PRESSURE_ON,
    as_left,
    is_contradicted,
    is_open,
    runs_perhaps,
    sentence,
    standing,
)
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point, pressure_point
from witnessmark.procedure.model import Pass

AFTER = {
    "finished": "NOT RELEASED: DO NOT DRIVE. The lead looks at what the audit leaves open, then releases it. "
    "What stays unmet is put right in a new job that follows it: {follows}.",
    "abandoned": "NOT RELEASED: DO NOT DRIVE. Hang its tag on the key; a new job that follows it goes on: {follows}.",
}
"""What holds for the vehicle once a job has ended, and by what it is gone on with."""


SAYS_WHAT_IS_DONE = ("close", "paused")
"""Views that say themselves what is done at a nipple while another tester is heard to run something."""


NAMES_THE_FLUID = ("step", "reading", "open", "arm", "hear", "tell", "done")


def after(state: JobState) -> str:
    """Return what holds for the vehicle once its job has ended, and what is left unbled."""
    follows = f'`witnessmark job open --scope "follows {state.job}" ...`'
    return " ".join((AFTER.get(state.status, "").format(follows=follows), *unbled(state)))


def view_now(
    state: JobState,
    bay: Bay | None,
    run: Run | None,
    at: Moment,
    *,
    stopping: bool,
    unreadable: tuple[str, ...],
    unasked: str = "",
    stop_came: str = "",
    unheard: str = "",
) -> View:
    """Return what to show now; `stopping` while a stop request outside a run is being repeated.

    `stop_came` is what came of the last such; `unheard` why nothing is heard of another tester.
    """
    shown = _shown(state, bay, run, at, stopping, unreadable, unasked)
    if state.inspect is not None and shown.kind == "inspect":
        shown = inspect_view(state, stop_came)
    opened = sentence(is_open(state, (one for one in state.open_nipples if not is_contradicted(state, one))))
    opened = opened or (PRESSURE_ON if state.pressurised else "")
    if unheard:
        shown = unheard_view(state, shown, unheard, lost=unheard.startswith(GONE))
    told = standing if shown.kind == "done" else as_left
    runs = runs_perhaps(state) and (state.inspect is not None or shown.kind not in SAYS_WHAT_IS_DONE)
    return replace(
        shown,
        stands=told(state, runs=runs),
        opened=opened,
        caution=_to_bleed(state, shown) + _fluid(state, shown) + _ahead(state, shown) + shown.caution,
    )


def _shown(
    state: JobState,
    bay: Bay | None,
    run: Run | None,
    at: Moment,
    stopping: bool,
    unreadable: tuple[str, ...],
    unasked: str,
) -> View:
    if run is not None:
        return run_view(state, run.one, run.life.state, run.shown)
    if stopping:
        return busy_view("Stop sent, not confirmed yet.")
    besides = besides_view(state)
    if besides is not None:
        return besides
    point = state.point
    arms = point is not None and point.kind in ("open", "run") and state.grade == "sent"
    one = state.pass_of(point.pass_id) if point is not None and arms else None
    one = None if due_now(state) is not None else one
    stale = one is not None and bay is not None and rules.pressure_is_stale(state, one, bay.clock.stamp(), bay.boot_id)
    holding = held(state, at.now, at.boot_id)
    fresh = next_view(state, unreadable=unreadable, stale_pressure=stale, unasked=unasked, holding=holding)
    if unread(state) and not unasked and fresh.kind in ("open", "arm"):
        return busy_view("Reading which control unit this is.")
    resting = _resting(state, at, fresh)
    if resting is not None:
        return past_longest(state, anew.beside(state, resting), at)
    beside = again.beside(state, anew.beside(state, slip.beside(state, mend_safe.beside(state, fresh))))
    return past_longest(state, _never_sent(state, bay, fresh) or beside, at)


def _resting(state: JobState, at: Moment, fresh: View) -> View | None:
    """Return the wait for the motor's rest, counted down before anything is opened for its next run; else None."""
    point = state.point
    one = state.pass_of(fresh.pass_id)
    begins = point is not None and point.kind in ("open", "run") and point.pass_id == fresh.pass_id
    if one is None or not begins or not one.wire_command or fresh.kind not in ("open", "arm", "hear", "tell"):
        return None
    left_s = -(-wait_ns(state, one, at) // NS)
    if left_s <= 0 or state.cued or state.decide:
        return None
    if state.grade != "sent":
        return resting_elsewhere_view(state, one, fresh, left_s)
    if state.command_of(one) is None or state.open_in(one):
        return None
    text = f"{rests(left_s)} Leave every nipple shut until then."
    return View(kind="busy", title=fresh.title, text=text, pass_id=one.id)


def _to_bleed(state: JobState, shown: View) -> str:
    """Name, at each step behind the passes, what was opened for a mend and not bled: it is not driven before."""
    ahead = any(one.pass_id for one in state.points[state.cursor :])
    if ahead or not state.to_bleed or shown.kind not in ("step", "reading"):
        return ""
    return f"DO NOT DRIVE. {as_left(state)[-1]} "


def _fluid(state: JobState, shown: View) -> str:
    """Name another fluid that was gone on with wherever something is filled, opened, run, driven or finished."""
    said = gone_on_with(state) if shown.kind in NAMES_THE_FLUID else ""
    return f"{said} " if said else ""


def _ahead(state: JobState, shown: View) -> str:
    """Name, at the steps before it, the runs still to come that their length keeps from ever being sent."""
    if state.grade != "sent" or shown.kind not in ("step", "reading"):
        return ""
    due = {one.pass_id for one in state.points[state.cursor :] if one.kind == "run"}
    passes = tuple(one for one in state.plan if one.id in due)
    wrong = unfit_passes(state.procedure, passes, state.map)
    return "".join(f"{title(state, name)}: its run is never sent: {why}. " for name, why in wrong.items())


def _never_sent(state: JobState, bay: Bay | None, fresh: View) -> View | None:
    """Say before anything is opened for a run that it is never sent, by what map and procedure say; else None."""
    point = state.point
    one = state.pass_of(fresh.pass_id)
    begins = point is not None and point.kind in ("open", "run") and fresh.kind in ("open", "arm")
    if one is None or not begins or state.grade != "sent" or state.cued or state.decide or state.open_in(one):
        return None
    why = _why_never(state, bay, one)
    text = f"Its run is never sent: {why}. Leave every nipple shut. Pause, then go on with another tester"
    text += f" (`witnessmark job run {state.job} --grade told`), or open a job with a procedure and map that allow it."
    return View(kind="busy", title=fresh.title, text=text, pass_id=one.id) if why else None


def _why_never(state: JobState, bay: Bay | None, one: Pass) -> str:
    """Return why the run of a pass is never sent, empty when it may be."""
    command = state.command_of(one)
    if not one.wire_command:
        return ""
    if command is None:
        return f"the map has no wire command {one.wire_command!r}" if state.map is not None else "there is no map"
    too_long = unfit_passes(state.procedure, (one,), state.map).get(one.id, "")
    if too_long or bay is None:
        return too_long
    never = rules.never(bay.request(state, one, command))
    return never.why if never is not None else ""


def next_view(
    state: JobState,
    *,
    unreadable: tuple[str, ...] = (),
    stale_pressure: bool = False,
    unasked: str = "",
    holding: tuple[str, ...] = (),
) -> View:
    """Return what to show for `state` while nothing runs.

    `unreadable` names preconditions that the control unit would not tell, so that a person is asked; `stale_pressure`
    says that the pressure must be read again before arming; `holding` are questions whose
    yes still holds; `unasked` why the machine's own step was not answered.
    """
    if state.inspect is not None:
        return inspect_view(state)
    if state.status in ("abandoned", "finished", "released"):
        return View(kind="done", title=f"The job is {state.status}.", text=after(state))
    if state.status == "paused":
        goes_on = resumed(dataclasses.replace(state, status="open"))
        then = next_view(goes_on, unreadable=unreadable, unasked=unasked)
        return paused_view(state, f"{then.title}. {then.text}")
    run = state.run_of(state.open_intent)
    if run is not None and run.grade != "sent":
        return running_elsewhere_view(state, run)
    if state.result_due is not None:
        return result_view(state)
    if state.cued:
        return cued_view(state, state.cued[0])
    if state.others:
        return others_view(state)
    if state.left_open:
        return left_open_view(state, state.left_open[0])
    if state.unsure:
        return left_open_view(state, state.unsure[0][1])
    if state.mend:
        return mend_view(state)
    if state.was_safe_due:
        return mend_safe.was_safe_view(state)
    if state.air:
        return air_view(state)
    if state.decide:
        decided = decide_view(state)
        return why_view(state) if state.why_due and decided.kind == "decide" else decided
    if (not_run := unwritten.to_decide(state)) is not None:
        return decide_view(not_run)
    if (on_card := to_decide(state)) is not None:
        return decide_view(on_card)
    point = state.point
    if (never := never_mix(state)) and not state.mixing_allowed and not state.wrong_fluid and not _reads_fluid(point):
        return mixing_view(state, never)
    if point is None:
        return done_view(state)
    one = state.pass_of(point.pass_id) if point.pass_id else _opened_in(state)
    must_close = _must_close(state, one)
    if must_close:
        return nipple_view(state, one, must_close, "close")
    if (left := not_safe.due(state)) is not None:
        open_still = next(iter(state.open_nipples), "")
        if not open_still:
            return unsafe_view(state, left)
        if one is not None and point.kind in ("open", "run"):
            return nipple_view(state, one, open_still, "close")
    shut_first = bool(state.open_nipples) and due_now(state) is not None
    if not shut_first and (why := must_look(state)):
        return level_view(state, why)
    if feed.sprays(state, point) and point.step is not None:
        return lid_view(state, point, point.step.text)
    if stale_pressure and one is not None and one.pressure is not None:
        still = state.open_in(one) if state.stays_open != one.id else ()
        return (
            close_to_read_view(state, one, still[0])
            if still
            else reading_view(state, pressure_point(state.procedure, one))
        )
    one = one if point.pass_id else None
    if one is not None and safety_look.due(state, one):
        return look_view(state, one, holding)
    if point.kind == "ask":
        return codes_view(state, point) if state.codes_due else ask_view(state, point, unasked)
    if one is not None and point.kind == "run" and state.grade != "sent":
        return elsewhere_view(state, one)
    if one is not None and due_now(state) is not None:
        return first_use_view(state, one, unreadable)
    if one is not None and (point.kind == "run" or opens_at_arming(state, point)):
        return arm_view(state, one, unreadable, holding)
    if point.kind == "open":
        return nipple_view(state, one, point.nipple, "open")
    if point.closes and point.nipple not in state.open_nipples and not _was_open(state, point):
        return missed_view(state, one, point.nipple)
    if point.kind == "close":
        return nipple_view(state, one, point.nipple, "close")
    if point.mends:
        return mend_safe.mend_here_view(state, point)
    return reading_view(state, point) if point.kind == "reading" else step_view(state, point)


def _reads_fluid(point: Point | None) -> bool:
    """Whether the walk stands where a fluid is read off again."""
    return point is not None and point.again and point.step is not None and point.step.affects in READ_OFF


def _was_open(state: JobState, point: Point) -> bool:
    """Whether a touch that closes besides has been made already, so that only its reading is asked again."""
    if (point.pass_id, point.nipple) in state.was_open | state.unopened:
        return True
    if point.kind == "close" or point.step is None:
        return False
    last = state.reading(point.step.what)
    begun = max((run.intent for run in state.runs if run.pass_id == point.pass_id), default=-1)
    return last is not None and (last.pass_id, last.nipple) == (point.pass_id, point.nipple) and last.seq > begun


def _opened_in(state: JobState) -> Pass | None:
    """The pass in which a nipple was opened that still stands open."""
    opened = (one for one in reversed(state.plan) if any((one.id, name) in state.was_open for name in one.nipples))
    return next((one for one in opened if state.open_in(one)), None)


def _must_close(state: JobState, one: Pass | None) -> str:
    """A nipple that stands open where the walk needs it shut: outside a pass, or a pass done again or opened late."""
    if one is None:
        return ""
    if state.point is not None and not state.point.pass_id:
        return state.open_in(one)[0]
    if state.point is not None and state.point.kind == "open" and state.point.nipple in state.open_nipples:
        return state.point.nipple
    opens = (
        index for index, point in enumerate(state.points) if point.pass_id == one.id and point.kind in ("open", "run")
    )
    return next(iter(state.open_in(one)), "") if state.cursor <= next(opens) or _at_own_opening(state, one) else ""


def _at_own_opening(state: JobState, one: Pass) -> bool:
    point = state.point
    return point is not None and point.kind == "run" and one.order in ("with", "after")


def wait_text(state: JobState, bay: Bay | None, fresh: View) -> str:
    """Return how many seconds arming would still be refused, empty when it would not."""
    one = state.pass_of(fresh.pass_id) if fresh.kind == "arm" else None
    command = state.command_of(one) if one else None
    if one is None or command is None or bay is None:
        return ""
    left_ns = wait_ns(state, one, bay.request(state, one, command).at)
    return in_seconds(left_ns) if left_ns > 0 else ""


def progress(run: Run, now_ns: int) -> dict[str, object]:
    """Return how a run stands, for a face that shows it going on."""
    state = run.life.state
    shown: dict[str, object] = {"state": _WORDS.get(state, state), "of_s": str(run.run_s)}
    if run.from_ns is not None:
        shown["elapsed_s"] = f"{max(0, now_ns - run.from_ns) / NS:.1f}"
    return shown


_WORDS = {"stopping": "stop sent", "starting": "start sent", "cue": "counting"}
