"""Passes that are bled again at a check behind them that was not right: which are offered, and the walk after that.

A job's state and a pass flow in, words and the state after it flow out. Rules that hold here: what was opened to mend
it comes first, also where the plan leaves its passes out: a pass that is bled all the same joins the plan, so that all
is asked of it; several may be taken by one touch, in the procedure's order; the checks behind them come after them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from witnessmark.job.allowed.length import unfit
from witnessmark.job.amiss import not_right, unclear
from witnessmark.job.amiss.shown_open import of_mend
from witnessmark.job.fluid import feed
from witnessmark.job.walk import decided
from witnessmark.job.walk.standing import named, place
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point, visit
from witnessmark.procedure.mending import bleeding
from witnessmark.procedure.model import Pass
from witnessmark.procedure.plan import grown
from witnessmark.procedure.steps import is_check


def offered(state: JobState) -> dict[str, str]:
    """Return what may be bled again at a check of a finished walk that was not right: passes, each with why.

    Several that are taken by one touch stand with a comma between them. Often there is nothing.
    """
    if not _at_check(state):
        return {}
    due = [one.id for one in bleeding(state.procedure, state.to_bleed) if _can_run(state, one)]
    done = dict.fromkeys(one.pass_id for one in state.points[: state.cursor] if one.pass_id)
    all_due = {",".join(due): "each, after what was mended"} if len(due) > 1 else {}
    each = {one: f"{place(state, one)}: bled after what was mended" for one in due}
    besides = {one: f"{place(state, one)}: bled once more for what was seen" for one in done if one not in each}
    return all_due | each | besides


def _at_check(state: JobState) -> bool:
    """Whether the walk stands at a check that was not right, with every pass behind it and every nipple shut.

    At any check behind the passes while something is still to be bled.
    """
    point = state.point
    if point is None or point.step is None:
        return False
    due = bool(state.to_bleed) and is_check(point.step) and point.step in state.procedure.steps_after
    if not (due or not_right.seen(state, point.step.id)):
        return False
    return not (state.open_nipples or state.decide or any(one.pass_id for one in state.points[state.cursor :]))


def to_bleed(state: JobState) -> str:
    """Say what was opened for a mend and not bled since, and which passes of it the plan leaves out; empty for none."""
    if not state.to_bleed:
        return ""
    names = ", ".join(named(state, one) for one in state.to_bleed)
    said = f" TO BLEED AGAIN, for its line was opened for it, or may have been: {names}.{of_mend(state)}"
    passes = bleeding(state.procedure, state.to_bleed)
    outside = [one for one in passes if state.pass_of(one.id) is None and _can_run(state, one)]
    if outside:
        names = ", ".join(one.id for one in outside)
        said += f" The scope of this job leaves out {names}: taken in by the key that bleeds again."
        said += _not_allowed_yet(state, outside)
    if never := [one.id for one in passes if not _can_run(state, one)]:
        said += f" {', '.join(never)} cannot be run in this job: its map does not allow it. Open one: "
        said += f'witnessmark job open --grade told --scope "follows {state.job}".'
    opened = {name for one in passes for name in one.nipples}
    if left := [named(state, one) for one in state.to_bleed if one not in opened]:
        said += f" No pass of this procedure opens {', '.join(left)}: bleed it by one that does, in a job of its own."
    return said


def _not_allowed_yet(state: JobState, outside: Sequence[Pass]) -> str:
    """Say of passes that this job did not plan what is to be asked before they are taken in; empty for nothing."""
    ran = {run.wire_command for run in state.runs}
    new = dict.fromkeys(one.wire_command for one in outside if one.wire_command and one.wire_command not in ran)
    if state.grade != "sent" or not new:
        return ""
    return (
        f" Ask the shop lead first whether {', '.join(new)} is approved for this control unit: where it is not,"
        f" the walk waits there, or goes on with another tester (`witnessmark job run {state.job} --grade told`)."
    )


def unbled(state: JobState) -> tuple[str, ...]:
    """Say at the end of a job, in a line, what is still to be bled; nothing where nothing is."""
    names = ", ".join(named(state, one) for one in state.to_bleed)
    line = f"NOT BLED AGAIN since its line was opened for a mend, or may have been: {names}.{of_mend(state)}"
    return (f"{line} No check proves that it holds: bleed it in a job that follows this one.",) if names else ()


def _can_run(state: JobState, one: Pass) -> bool:
    """Whether a pass can be done in this job: by hand, by another tester, planned, or with a command of its map."""
    if state.grade != "sent" or not one.wire_command or state.pass_of(one.id) is not None:
        return True
    command = state.command_of(one)
    return command is not None and not unfit(state.procedure, one, command)


def again(state: JobState, pass_id: str) -> JobState:
    """Return the state in which a pass is done again: at a check behind the passes, or where it was decided on."""
    of_card = pass_id in unclear.undecided(state)
    state, at_check = replace(unclear.settled(state, pass_id), spilled=""), _at_check(state)
    known = any(one.id == pass_id for one in state.procedure.passes)
    if not known or not (at_check or _with_others(state, pass_id)):
        return unclear.done_again(state, pass_id) if of_card else decided.done_again(state, pass_id)
    plan = grown(state.procedure, (one.id for one in state.plan), (pass_id,))
    state = replace(state, plan=plan, rebled=(*state.rebled, pass_id))
    one = next(each for each in plan if each.id == pass_id)
    if not at_check:
        return _behind_others(state, tuple(visit(state.procedure, one)))
    if any(point.pass_id == pass_id for point in state.points[: state.cursor]):
        return unclear.done_again(state, pass_id)
    ahead = (point for point in state.points[state.cursor :] if not point.mends)
    state = replace(state, points=(*state.points[: state.cursor], *ahead))
    return feed.put_on_again(unclear.behind_the_last(state, tuple(visit(state.procedure, one))))


def _with_others(state: JobState, pass_id: str) -> bool:
    """Whether the pass is taken by the touch that just took another: that one is still to be begun."""
    if state.decide or not state.rebled or pass_id in state.rebled:
        return False
    return any(one.pass_id == state.rebled[-1] and not one.late for one in state.points[state.cursor :])


def _behind_others(state: JobState, points: tuple[Point, ...]) -> JobState:
    """Return the state with a pass ahead behind those that are."""
    last = max(at for at, one in enumerate(state.points) if one.pass_id and not one.late)
    gone = {one.pass_id for one in points}
    was_open, missed = (frozenset(one for one in many if one[0] not in gone) for many in (state.was_open, state.missed))
    points = (*state.points[: last + 1], *points, *state.points[last + 1 :])
    return replace(state, points=points, was_open=was_open, missed=missed)
