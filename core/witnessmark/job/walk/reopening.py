"""What serves opening, and whether anything is still opened: with that over, what is asked again, and what is not.

A job's state flows in, points and the state it goes on from flow out. Rules that hold here: while nothing is left to
open or to run nothing is asked of feed and fluid; what makes the vehicle safe is asked while it may still stand lifted,
not once it was put back on its wheels or is only driven and put away; before it is driven its pedal is held and its
level read again; where something is opened after all, what made it safe and was undone comes first, and where the job
lay, all else: what was said of it before holds no more.
"""

from __future__ import annotations

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from dataclasses import replace

from witnessmark.job.walk import made_safe
from witnessmark.job.walk.decided import asked_again
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.procedure.model import Procedure
from witnessmark.procedure.safe import never_kept
from witnessmark.procedure.words import UNDONE_BY

SAFE = {"made-safe", "service-mode-on", "wake"}
"""What a step affects that may have changed on the vehicle, as long as somebody works at it."""
FLUID = {"fluid-grade", "fluid-class", "pressurise"}
READ = {"container-age", "level"}
"""What a step affects or reads that counts as long as fluid is still to be run through."""
ROAD = "road-test"
ON_WHEELS = {"wheels-torqued", "refitted"}
"""What a step affects that puts the vehicle back on its wheels."""
UNDONE = {
    "service-mode-on": "the service mode was left, and pressure may be stored",
    "made-safe": "the wheels are on, or it was driven",
}
"""What made the vehicle safe to open, and in words that it was undone."""
UNDOES = frozenset(word for words in UNDONE_BY.values() for word in words)
"""What a step affects that undoes what made the vehicle safe to open."""
LAST = {ROAD, "waste", "codes-cleared"}
"""What is done to a vehicle that need not be lifted for it."""
DRIVES = {"pedal-pumped", "pedal-check", "leak-check"}
"""What a step affects that is looked at again before a vehicle that stood is driven."""
LEVEL = "level"


def no_hand(state: JobState) -> str:
    """Say before something is mended that what made the vehicle safe was undone since; empty where it was not."""
    undone = " and ".join(words for word, words in UNDONE.items() if _undone_since(state, word))
    if not undone:
        return ""
    return f" NO HAND TO A NIPPLE OR A JOINT YET: {undone}. First make it safe again as the procedure says."


def _undone_since(state: JobState, word: str) -> bool:
    """Whether what made the vehicle safe was undone, and not done again since."""
    done = reversed(state.points[: state.cursor])
    last = next((one for one in done if _says(one, {word, *UNDONE_BY[word]})), None)
    return last is not None and not _says(last, {word})


def opens(state: JobState) -> bool:
    """Whether a nipple is still to be opened or a wire command to be run."""
    return _opens(state.points[state.cursor :])


def lifted(state: JobState) -> bool:
    """Whether something is still done to the vehicle for which it may stand lifted."""
    ahead = [one for one in state.points[state.cursor :] if not asked_again(state, one)]
    if state.open_nipples or any(one.pass_id for one in ahead):
        return True
    return not (on_wheels(state) or all(one.kind == "ask" or _only(one, LAST) for one in ahead))


def on_wheels(state: JobState) -> bool:
    """Whether the vehicle was put back on its wheels: each step that says so was passed, or it was driven."""
    done, ahead = _parted(state)
    back = [one for one in state.procedure.steps_after if ON_WHEELS & {one.affects, *one.also}]
    left = {one.step for one in ahead if not one.pass_id}
    return any(_says(one, {ROAD}) for one in done) or (bool(back) and left.isdisjoint(back))


def wheels_off(state: JobState) -> bool:
    """Whether a step that puts the vehicle back on its wheels is still ahead: by the record it stands lifted."""
    return any(_says(one, ON_WHEELS) for one in state.points[state.cursor :]) and not on_wheels(state)


def before(state: JobState, *, safe: bool, fluid: bool, fed: bool) -> list[Point]:
    """Return the points before the passes that are asked again, each once: on safety, on the fluid, on a feed let off.

    What is still ahead is not asked besides; what stands before each pass is asked of none on the way to a mend.
    """
    mends = any(one.mends for one in state.points[state.cursor :])
    ahead = {one.step.id for one in state.points[state.cursor :] if one.step is not None and not one.pass_id}
    found: dict[str, Point] = {}
    for point in state.points[: state.cursor]:
        step = point.step
        if step is None or step.id in ahead or not asked_again(state, point):
            continue
        of_fluid = _says(point, FLUID) or step.what in READ
        if step not in state.procedure.steps_before and not (mends and safe and _of_safety(state, point)):
            continue
        puts_on = _says(point, {"pressurise"}) and not state.pressurised
        if (safe and _of_safety(state, point)) or (fluid and of_fluid) or (fed and puts_on):
            found[step.id] = point
    return list(found.values())


def before_each(state: JobState) -> list[Point]:
    """Return what makes it safe before each pass, or reads that it is, of no pass: each once, where it was done."""
    own = state.procedure.steps_before_each_pass
    return makes_safe(state.procedure, (one for one in state.points[: state.cursor] if one.step in own))


def looked_over(state: JobState) -> JobState:
    """Return the state in which pedal and level are looked at again before the vehicle is driven."""
    ahead = state.points[state.cursor :]
    if any(one.pass_id for one in ahead) or not any(_says(one, {ROAD}) for one in ahead):
        return state
    done = (one for one in state.points[: state.cursor] if one.step in state.procedure.steps_after and not one.pass_id)
    return made_safe.ahead_again(state, [one for one in done if _says(one, DRIVES) or _reads(one, LEVEL)])


def spared(state: JobState, rest: list[Point]) -> JobState:
    """Return the state after a decision with `rest` still to be done: without what serves opening, if nothing opens."""
    if _opens(rest) or state.decide or state.unclear or state.unsaid or state.air:
        return state
    at = state.cursor
    kept = [one for one in state.points[at:] if one in rest or (lifted(state) and _of_safety(state, one))]
    dropped = len(kept) < len(state.points) - at
    return replace(state, points=(*state.points[:at], *kept), unasked=state.unasked or dropped)


def after(was: JobState, state: JobState) -> JobState:
    """Return the state after a decision: where something is opened that was not to be, with what serves it first."""
    if opens(was) or not opens(state):
        return state
    safe = state.unasked or _undone(was)
    asked = before(state, safe=safe, fluid=state.unasked, fed=False)
    at, held = state.cursor, () if safe else state.held
    return replace(state, points=(*state.points[:at], *asked, *state.points[at:]), unasked=False, held=held)


def _undone(state: JobState) -> bool:
    """Whether what made the vehicle safe to open was undone behind the passes: lowered, or its service mode left."""
    return on_wheels(state) or any(_says(one, UNDOES) for one in state.points[: state.cursor])


def may_be_left(state: JobState, point: Point) -> bool:
    """Whether a point asked again makes no sense to whoever sees that nothing is opened or lifted any more."""
    through, ahead = (any(one.pass_id or one.late for one in many) for many in _parted(state))
    return through and not ahead and asked_again(state, point) and not state.open_nipples


def makes_safe(procedure: Procedure, points: Iterable[Point]) -> list[Point]:
    """Return of a walk what makes the vehicle safe to open, or reads that it is, of no pass: each once."""
    own = (*procedure.steps_before, *procedure.steps_before_each_pass)
    those = (one for one in points if one.step in own and (_says(one, SAFE) or _is_never_kept(procedure, one)))
    return list({one.id: one for one in (replace(one, pass_id="", nipple="") for one in those)}.values())


def _of_safety(state: JobState, point: Point) -> bool:
    return _says(point, SAFE) or _is_never_kept(state.procedure, point)


def _is_never_kept(procedure: Procedure, point: Point) -> bool:
    return point.step is not None and never_kept(procedure, point.step)


def _parted(state: JobState) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    return state.points[: state.cursor], state.points[state.cursor :]


def _opens(points: Iterable[Point]) -> bool:
    return any(one.kind in ("open", "run") for one in points)


def _says(point: Point, words: AbstractSet[str]) -> bool:
    return point.step is not None and not words.isdisjoint({point.step.affects, *point.step.also})


def _only(point: Point, words: set[str]) -> bool:
    """Whether a point says something, and nothing but these words."""
    return point.step is not None and {point.step.affects, *point.step.also} <= words


def _reads(point: Point, what: str) -> bool:
    return point.step is not None and point.step.what == what
