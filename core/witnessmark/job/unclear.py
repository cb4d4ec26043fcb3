"""Passes of which a card says that they did not run clear: each is decided on, as after the same key on a screen.

A job's state and an entry flow in, the state after it flows out. Rules that hold here: the card is keyed in to its end
before; what is said to have run clear later is decided; a pass that is done again is done where the job stands, once
the pass in hand is through, and what was done behind the last pass is asked again after it; what is asked again because
the job lay comes before.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job import decided, feed
from witnessmark.job.state import UNCLEAR, JobState
from witnessmark.journal import bodies

WHY = "the fluid did not run clear"


def note(state: JobState, body: bodies.StepDone | bodies.Reading) -> JobState:
    """Take note of what an entry says of how a pass ran."""
    if isinstance(body, bodies.StepDone) and body.act == "skipped":
        says = body.step == UNCLEAR and body.looked
        return replace(state, unclear=tuple(dict.fromkeys((*state.unclear, body.pass_id)))) if says else state
    return settled(state, body.pass_id) if "clear" in (body.affects, *body.also) else state


def settled(state: JobState, pass_id: str) -> JobState:
    """Return the state after a pass was decided on."""
    return replace(state, unclear=tuple(one for one in state.unclear if one != pass_id))


def to_decide(state: JobState) -> JobState | None:
    """Return the state as it is shown while such a pass is decided on; None where none is, or a nipple stands open."""
    if not state.unclear or state.open_nipples or state.decide:
        return None
    return replace(state, decide=state.unclear[0], done_not_right=WHY)


def done_again(state: JobState, pass_id: str) -> JobState:
    """Return the state in which a pass is done again: the one in hand from its beginning, an earlier one after that."""
    done = [one for one in state.points[: state.cursor] if not one.again]
    last = max((at for at, one in enumerate(done) if one.pass_id), default=-1)
    here = state.point.pass_id if state.point is not None else ""
    if pass_id in (here, done[last].pass_id if last >= 0 and last == len(done) - 1 else ""):
        return decided.done_again(state, pass_id)
    again = decided.each_once(one for one in done if one.pass_id == pass_id)
    ahead = list(state.points[state.cursor :])
    if not any(one.pass_id for one in ahead):  # behind the last pass: what was done there is done again after it
        first = next((at for at, one in enumerate(ahead) if not decided.asked_again(state, one)), len(ahead))
        behind = [one for one in done[last + 1 :] if not decided.asked_again(state, one)]
        points, cursor = (*done[: last + 1], *ahead[:first], *again, *behind, *ahead[first:]), last + 1
    else:
        own = done[last].pass_id if last >= 0 else ""
        through = next((at for at, one in enumerate(ahead) if one.pass_id != own and not one.again), len(ahead))
        points, cursor = (*done, *ahead[:through], *again, *ahead[through:]), len(done)
    was_open, missed = (frozenset(one for one in many if one[0] != pass_id) for many in (state.was_open, state.missed))
    return feed.put_on_again(replace(state, points=points, cursor=cursor, was_open=was_open, missed=missed))
