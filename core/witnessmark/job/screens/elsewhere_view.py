"""The views of a run that another tester makes: we listen (`heard`), or a person says when (`told`).

Rules that hold here: there is no stop of ours, and every view says where it is stopped; what the procedure asks before
a run was answered before (`safety_look`).
"""

from __future__ import annotations

import dataclasses
from decimal import Decimal

from msgspec.structs import replace

from witnessmark.clock import NS
from witnessmark.job.allowed.length import longest_elsewhere_s
from witnessmark.job.allowed.rest import Moment, lacking_ns, rest_s
from witnessmark.job.amiss.anew import apart
from witnessmark.job.amiss.shown_open import can_show, longest_ns
from witnessmark.job.amount import seconds
from witnessmark.job.keys.told_run import EARLY, ENDED, NEVER, UNSEEN, WHY
from witnessmark.job.moment import in_seconds, since_ns
from witnessmark.job.reasons import UNSEEN as WHY_UNSEEN
from witnessmark.job.record import TOUCH_S, touch_s
from witnessmark.job.screens.pause_view import paused_view
from witnessmark.job.screens.run_view import SECOND
from witnessmark.job.screens.step_view import nipple_view
from witnessmark.job.unit.waking import SILENT, when_silent
from witnessmark.job.view import ELSEWHERE, UNKNOWN_ACT, Button, View, title
from witnessmark.job.walk.standing import close_now, named
from witnessmark.job.walk.state import JobState, RunState
from witnessmark.procedure.model import Pass

AT_MOST, TOO_LONG, TOO_SHORT = "How long it may run", "TOO LONG", "TOO SHORT"
"""How it begins what is said of how long a run may last, of one that lasts longer, and of one that did not last."""
REST = "Rest since the run before"
OPEN = "A NIPPLE IS OPEN."
NOT_PRESSED = "it ran and has ended, nobody pressed as it started: it counts as entered afterwards"
WAITS_ELSEWHERE = "Two people: who sits at the wheel says when ready, and only then it is started."
TOUCHES = "What two touches can show"
"""What rests, what is done where nothing answers, and what it will prove: nothing of it is recorded."""


def elsewhere_view(state: JobState, one: Pass) -> View:
    """Return the view before another tester runs the wire command of a pass."""
    command = state.command_of(one)
    what = f"{command.words if command is not None else one.wire_command}, for {one.seconds}"
    shown = {REST: _rest(state, one), SILENT: when_silent(state.procedure)}
    heard = state.grade == "heard"
    shown[AT_MOST] = _at_most(_longest_s(state, one.wire_command))
    shown |= {} if heard else {TOUCHES: _touches(state, one)} | apart(state.procedure, one)
    soon = f" Start it within {one.order_tolerance} of the opening." if one.order == "before" else ""
    does = "We listen and time it; we send nothing." if heard else "Press as it starts, and again as it ends."
    waits = one.two_people and state.ready != one.id
    first = f"{WAITS_ELSEWHERE} " if waits else ""
    ready = (SECOND,) if waits else ()
    return View(
        kind="hear" if heard else "tell",
        title=title(state, one.id),
        text=f"{first}Now run it on the other tester: {what}.{soon} {does} {ELSEWHERE}",
        caution=" ".join(state.procedure.cautions),
        fallback=_by_hand(state),
        pass_id=one.id,
        nipples=one.nipples,
        buttons=ready if heard else (*ready, Button("b", "it has started"), Button(ENDED, NOT_PRESSED)),
        shown={who: what for who, what in shown.items() if what},
    )


def _touches(state: JobState, one: Pass) -> str:
    """Say beforehand what two touches can hardly prove of a run; empty where they can."""
    touch, proof = touch_s(state.procedure), []
    if one.seconds and one.seconds_tolerance and 2 * touch > seconds(one.seconds_tolerance):
        proof.append("of its length")
    if not can_show(state.procedure, one):
        proof.append("of what was open while it ran")
    text = f"Their times are known to {touch:g} s each, so how long it ran to {2 * touch:g} s: for a run of"
    return f"{text} {one.seconds} there will hardly be proof {', nor '.join(proof)}" if proof else ""


def rests(left_s: int) -> str:
    """Say that the motor rests, and for how long yet."""
    return f"The motor rests for another {left_s} s."


def resting_elsewhere_view(state: JobState, one: Pass, fresh: View, left_s: int) -> View:
    """Return the wait for the motor's rest before another tester makes the next run.

    Nothing of ours keeps that from starting it, so that a person can still say that it has; what is heard is heard.
    """
    not_yet = f"{rests(left_s)} Do not start it on the other tester before."
    if state.open_in(one):
        return replace(fresh, text=f"{not_yet} {fresh.text}")
    text = f"{not_yet} Leave every nipple shut until then."
    if state.grade == "heard":
        return View(kind="busy", title=fresh.title, text=text, pass_id=one.id)
    buttons = (Button("b", "it has started all the same"),)
    text = f"{text} {ELSEWHERE}"
    return View(kind="tell", title=fresh.title, text=text, fallback=_by_hand(state), pass_id=one.id, buttons=buttons)


def _rest(state: JobState, one: Pass) -> str:
    """Return how long the motor is to rest after the run before, empty where there was none or nothing asks for it."""
    rest = rest_s(state, state.runs[-1], one.wire_command) if state.runs else 0
    return f"at least {rest:g} s" if rest else ""


def running_elsewhere_view(state: JobState, run: RunState) -> View:
    """Return the view while it runs there."""
    one = state.pass_of(run.pass_id)
    closed = [name for name in one.nipples if name not in state.open_nipples] if one is not None else []
    buttons = [Button("o", "opened")] if closed else []
    if run.grade == "told":
        buttons += [
            Button(ENDED, "it has ended"),
            Button(EARLY, "it ended before its time"),
            Button(UNSEEN, "nobody saw it end, and why", asks=True, reasons=WHY_UNSEEN),
            Button(NEVER, "it did not start after all"),
        ]
    opens = f"Open the nipple {named(state, closed[0])} now. " if closed else ""
    lacking = lacking_ns(state, run)
    if lacking > 0:
        early = f"it was started {in_seconds(lacking)} s before the motor's rest was over"
        opens = f"TOO EARLY: {early}. {'Leave the nipple shut. ' if closed else ''}"
    if run.grade != "heard":
        lasts = "" if lacking > 0 else f" Let it run {run.seconds} s, then press as it ends."
        now = f"It runs, as you said.{lasts} {ELSEWHERE}"
    elif lacking > 0:
        now = f"Its start was heard, and no end yet. {ELSEWHERE}"
    else:
        now = (
            f"Its start was heard, and no end yet. Let it run {run.seconds} s; to stop it before: on the other tester."
        )
    return View(
        kind="heard" if run.grade == "heard" else "told",
        title=title(state, run.pass_id),
        text=f"{opens}{now}",
        fallback=state.procedure.physical_fallback,
        pass_id=run.pass_id,
        nipples=tuple(closed[:1]) or (one.nipples if one is not None else ()),
        takes_s=_least_s(one, run) if lacking <= 0 and state.last_seq == run.intent else "",
        buttons=tuple(buttons),
    )


def past_longest(state: JobState, shown: View, at: Moment) -> View:
    """Return the view with how long a run that was told may be, that it is or was longer, or was shorter than asked."""
    open_run = state.run_of(state.open_intent)
    run = open_run if open_run is not None else state.runs[-1] if state.runs else None
    if run is None or run.grade != "told":
        return shown
    longest = _longest_s(state, run.wire_command)
    if shown.kind == "told":
        if longest is None:
            return shown
        ran_s = (since_ns(run.recorded, at.now, at.boot_id) or 0) // NS
        said = {TOO_LONG: f"it runs for {ran_s} s, at most {longest:g} s are allowed. {ELSEWHERE}"}
        return replace(shown, shown=shown.shown | (said if ran_s > longest else {AT_MOST: _at_most(longest)}))
    began, ended = run.begun, run.recorded
    if began is None or began.boot_id != ended.boot_id or state.last_wall_ns != ended.wall_ns:
        return shown
    ran_ns = ended.mono_ns - began.mono_ns
    text = _too_long(ran_ns // NS, longest) or _too_short(state, run, ran_ns)
    return replace(shown, text=f"{shown.text}\n{text}") if text else shown


def _too_long(ran_s: int, longest_s: Decimal | None) -> str:
    if longest_s is None or ran_s <= longest_s:
        return ""
    return f"{TOO_LONG}: it ran for {ran_s} s by the touches, at most {longest_s:g} s are allowed. Let the motor rest."


def _too_short(state: JobState, run: RunState, ran_ns: int) -> str:
    """Say that a run that was told as whole cannot have lasted as long as asked."""
    least_s = _least_s(state.pass_of(run.pass_id), run)
    most_s = max(ran_ns, longest_ns(state, run.pass_id)) / NS  # a set clock, or a start that nobody saw, shows nothing
    if run.result != "completed" or not least_s or most_s >= float(least_s):
        return ""
    return f"{TOO_SHORT}: by the touches it can have run for {most_s:.1f} s at most, {run.seconds} s are asked."


def _longest_s(state: JobState, wire_command: str) -> Decimal | None:
    return longest_elsewhere_s(state.procedure, wire_command, state.command_named(wire_command))


def _at_most(longest_s: Decimal | None) -> str:
    return "" if longest_s is None else f"at most {longest_s:g} s"


def _least_s(one: Pass | None, run: RunState) -> str:
    """Return how many seconds a told run lasts at least, from when its start was pressed; empty for any other."""
    if one is None or run.grade != "told" or not run.seconds:
        return ""
    apart = float(seconds(one.seconds_tolerance)) if one.seconds_tolerance else TOUCH_S
    least = float(run.seconds) - apart
    return f"{least:g}" if least > 0 else ""


def unheard_view(state: JobState, shown: View, why: str, *, lost: bool) -> View:
    """Return the view while nothing is heard: nothing is opened or run on it, or, on a silent bus, it says so."""
    if not lost:
        return replace(shown, caution=f"{why} {shown.caution}".strip())
    if state.status != "open" or shown.kind not in ("open", "hear", "heard"):
        return replace(shown, text=f"{why} Plug the interface in. {shown.text}")
    opened = _opened(state)
    act = "Stop what runs on the other tester. Plug the interface in: we try to listen again by ourselves."
    if opened is not None:
        near = nipple_view(state, *opened, "close")
        return replace(near, text=f"{why} {OPEN} {close_now(state, opened[1])} {act}")
    return View(
        kind="hear",
        title=shown.title,
        text=f"{why} Leave every nipple shut, start nothing. {act}",
        fallback=_by_hand(state),
        pass_id=shown.pass_id,
        buttons=(Button("l", "listen again now"),),
    )


def besides_view(state: JobState) -> View | None:
    """Return the view while another tester runs what is not the pass's, None while nothing of it is heard running.

    While the job is paused nothing that runs is the pass's: its keys stay those of the pause.
    """
    paused = state.status == "paused"
    running = [run for run in state.runs if run.grade == "heard" and not run.ended and (paused or not run.pass_id)]
    if not running or state.status not in ("open", "paused"):
        return None
    names = " and ".join(dict.fromkeys(run.wire_command.upper() for run in running))
    not_own = "" if any(run.pass_id for run in running) else ": it is NOT this pass's"
    text = f"{names} RUNS, heard{not_own}. {ELSEWHERE}"
    if state.inspect is not None:
        return View(kind="busy", title=state.procedure.title, text=f"{text} {UNKNOWN_ACT}", fallback=_by_hand(state))
    opened = _opened(state)
    if paused:
        still = f"{OPEN} {close_now(state, opened[1])}" if opened is not None else "Leave every nipple shut."
        asked = paused_view(dataclasses.replace(state, stays_said=()), "")  # what was to stay so is asked again
        return replace(asked, text=f"{text} {still} The job is paused.", fallback=_by_hand(state))
    if opened is None:
        point = state.point
        where = title(state, point.pass_id if point is not None else "")
        return View(kind="busy", title=where, text=f"{text} Leave every nipple shut.", fallback=_by_hand(state))
    one, nipple = opened
    shown = nipple_view(state, one, nipple, "close")
    said = f"{OPEN} {close_now(state, nipple)}"
    return replace(shown, text=f"{text} {said}", fallback=_by_hand(state))


def _opened(state: JobState) -> tuple[Pass, str] | None:
    """Return the nipple that was opened last and stands open, and the pass it is open for, of several in the plan."""
    for nipple in reversed(state.open_nipples):
        here = state.point.pass_id if state.point is not None else ""
        at = here if (here, nipple) in state.was_open else state.opened_at(nipple)
        one = state.pass_of(at) or next((each for each in state.plan if nipple in each.nipples), None)
        if one is not None:
            return one, nipple
    return None


def _by_hand(state: JobState) -> str:
    return state.procedure.physical_fallback


def why_view(state: JobState) -> View:
    """Return the view that asks why a run ended before its time: when it did was taken down with the touch before."""
    return View(
        kind="why",
        title=title(state, state.decide),
        text="It ended before its time, as you said: that moment is recorded. Why did it end?",
        pass_id=state.decide,
        buttons=(*(Button(key, reason) for key, reason in WHY), Button("0", "other words", asks=True)),
    )
