"""What was opened for a mend is still to be bled until it was: as the audit has it, as far as the walk can know.

A job's state before and after an entry flows in, the state after it flows out. Rules that hold here: it was bled once a
visit of a pass is over that opened and closed its nipple after the mend was said, with the nipple open as a run of its
wire command completed, by hand with as much read as the pass asks; where it was read that nothing ran, or accepted that
it did not run clear, it was not; a pass that is begun anew begins this anew.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from witnessmark import quantity
from witnessmark.job.amiss import shown_open
from witnessmark.job.amiss.unclear import undecided
from witnessmark.job.fluid.tank import PER_UNIT
from witnessmark.job.walk.state import ACCEPT, NOT_CLEAR, Flow, JobState
from witnessmark.job.walk.steps import BOTTLE
from witnessmark.journal.entry import Entry
from witnessmark.procedure.model import Pass


def noted(was: JobState, state: JobState, entry: Entry) -> JobState:
    """Return the state after an entry, with what was bled by the visit that is over with it."""
    state = shown_open.noted(was, state, entry)
    if not state.to_bleed:
        return state
    pass_id = entry.body.get("pass_id", "")
    unclear = was.done_not_right == NOT_CLEAR if was.decide == pass_id else pass_id in undecided(was)
    in_vain = pass_id if unclear and entry.body.get("step") == ACCEPT else ""
    begun = [*state.flows, *_flows(was, state, entry)]
    flows = {(one.pass_id, one.nipple): one for one in reversed(begun) if one.pass_id != in_vain}
    kept = {visit: one for visit, one in flows.items() if visit in state.was_open - state.missed}
    done = {one.nipple for one in kept.values() if _is_over(state, one) and _ran(state, one)}
    left = tuple(name for name in state.to_bleed if name not in done)
    return replace(state, to_bleed=left, flows=tuple(one for one in kept.values() if one.nipple in left))


def _flows(was: JobState, state: JobState, entry: Entry) -> list[Flow]:
    """Return the nipples still to be bled at which it ran with this entry, or runs from now on."""
    body = entry.body
    one = state.pass_of(body.get("pass_id", ""))
    names: tuple[str, ...] = ()
    if one is not None and (entry.kind, body.get("result")) == ("outcome", "completed"):
        names = state.open_in(one)
    elif one is not None and body.get("act") == "opened" and (not one.wire_command or _on_cue(was, one, body)):
        names = (body.get("nipple", ""),)
    ml = dict(state.tank.taken)
    return [Flow(one.id, name, entry.seq, ml.get(one.id, Decimal(0))) for name in names if one and name in was.to_bleed]


def _on_cue(was: JobState, one: Pass, body: dict[str, str]) -> bool:
    """Whether a nipple was opened on a cue of a run that has completed since."""
    cue = next((cue for cue in was.cued if cue.nipple == body.get("nipple")), None)
    run = next((run for run in reversed(was.runs) if run.pass_id == one.id), None)
    if cue is None or run is None or run.result != "completed":
        return False
    return run.recorded.wall_ns >= cue.occurred.from_ns


def _is_over(state: JobState, flow: Flow) -> bool:
    """Whether a visit is over: its nipple is shut, nothing of its pass is ahead, and nothing to be decided on."""
    ahead = any(one.pass_id == flow.pass_id and not one.again for one in state.points[state.cursor :])
    decided = state.decide != flow.pass_id and flow.pass_id not in undecided(state)
    return flow.nipple not in state.open_nipples and decided and not ahead


def _ran(state: JobState, flow: Flow) -> bool:
    """Whether something ran, as far as it was read, and by hand as much as the pass asks."""
    ml, last, one = _ml(state, flow), state.reading(BOTTLE), state.pass_of(flow.pass_id)
    if last is not None and last.pass_id == flow.pass_id and last.seq > flow.seq and ml <= 0:
        return False
    if one is not None and one.wire_command:
        return shown_open.is_shown(state, one, flow.nipple)
    if one is None or one.volume is None or not one.volume.low:
        return True
    least = quantity.parse(one.volume.low, place="volume")
    return ml >= least.number * PER_UNIT[least.unit]


def _ml(state: JobState, flow: Flow) -> Decimal:
    """Return how much was read of a visit."""
    return dict(state.tank.taken).get(flow.pass_id, Decimal(0)) - flow.before_ml
