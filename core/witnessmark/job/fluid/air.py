"""The reservoir ran empty while work was done: which entries say so, and the passes that are done again for it.

A job's state and an entry flow in, the state after it flows out. Rules that hold here: what is said before any nipple
was opened is only the old fluid drawn out; air goes from the reservoir into every line, so each pass that was begun is
done again, in the order in which the job has them (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.fluid import feed
from witnessmark.job.walk.decided import each_once
from witnessmark.job.walk.state import AIR_ACCEPTED, AIR_DRAWN, EMPTY, PASSES_AGAIN, JobState
from witnessmark.journal import bodies

DECIDED = (PASSES_AGAIN, AIR_ACCEPTED)
SAID = (AIR_DRAWN, f"said-{EMPTY}")


def drawn(state: JobState, body: bodies.StepDone | bodies.Reading) -> bool:
    """Whether an entry says that the reservoir ran empty after something was begun."""
    return state.word(body) in SAID and bool(state.begun)


def taken_back(state: JobState) -> JobState:
    """Return the state where that it ran empty was a slip: it is looked at again, and empty only if it was before."""
    return replace(state, air=False, reservoir_empty=state.tank.left_ml == 0) if state.air else state


def decided(state: JobState, *, again: bool) -> JobState:
    """Return the state after it was decided: at the first pass that was begun, or where it stood."""
    if not again or not state.begun:
        return replace(state, air=False)
    points = [one for one in state.points if not one.again]
    first = next(at for at, one in enumerate(points) if one.pass_id in state.begun)
    last = max(at for at, one in enumerate(points) if one.pass_id)
    kept = each_once(one for at, one in enumerate(points) if at < first or one.pass_id or at > last)
    begun = set(state.begun)
    was_open, missed = (
        frozenset(one for one in many if one[0] not in begun) for many in (state.was_open, state.missed)
    )
    anew = replace(state, points=kept, cursor=first, was_open=was_open, missed=missed, ran_ahead="", air=False)
    return feed.put_on_again(replace(anew, decide="", done_not_right="", why_due=False, stays_open="", cued=()))
