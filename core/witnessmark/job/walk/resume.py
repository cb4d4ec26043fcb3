"""What a job that goes on must ask again: the one place that says it.

A job's state and the wall clock flow in, the state it goes on from flows out. Rules that hold here: a job lies from
when work was last done on it, whatever is written while it lies: a pause, a note, a sheet, how runs are witnessed, what
a pause has shut or let off; after every pause, and after a job was left for `LEFT_S`, with a nipple open for
`OPEN_LAY_S` (what was keyed in from a card counts from when it was done; of what no time is written nobody knows, so
the last known time counts and that is said), nipples that stood open are closed before all else, what holds for a time
before arming is asked again, the level is looked at before the next arming, the feed is put under pressure again where
it was let off, and a pass that has still to run has its pressure read again; on another date, or after `LONG_S`, the
steps on supports, modes, supply, container, level and pressure that were done before are done again. With nothing left
to open or to run nothing is asked of feed and fluid, and of supports only what is done while the vehicle stands on
them: who lifted it again would have to put it back again. Before it is driven its pedal and level are looked at again.
What was not asked is asked once a decision has something opened after all (`reopening`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from witnessmark.clock import NS
from witnessmark.job.amiss import mend_safe
from witnessmark.job.amiss.unwritten import unrun
from witnessmark.job.fluid import feed
from witnessmark.job.walk import reopening
from witnessmark.job.walk.state import UNEXPLAINED, UNWRITTEN, JobState
from witnessmark.job.walk.steps import PRESSURE, Point
from witnessmark.journal.entry import Entry
from witnessmark.journal.kinds import WORK
from witnessmark.procedure.own import SAID_NOTE, WITNESSED
from witnessmark.procedure.words import OPEN_LAY_S

LONG_S = 6 * 3600
"""How long a job may lie on one date before all is asked again: a choice of this project, no source."""
LEFT_S = 15 * 60
"""How long a job may be left without a pause before it counts as paused: a choice of this project, no source."""
LAY_OPEN = "a nipple stood open while nothing was done"
UNSURE = "it is not known when the work on it stopped"
PAUSED, DATE, LONG = "the job lay since it was last seen", "it goes on on another date", "it lay for six hours or more"


def worked(state: JobState, entry: Entry) -> JobState:
    """Take note of when work was last done: what was keyed in from a card not when it was typed, but when it was done.

    What a paused job has shut or let off is no work, nor is a note, nor how runs are witnessed: it goes on lying.
    """
    if entry.kind not in WORK or entry.body.get("step") in (SAID_NOTE, WITNESSED):
        return state
    at = entry.occurred
    if at.basis != "typed":
        if state.status == "paused":
            return state
        return state.changed(worked_wall_ns=entry.recorded.wall_ns, card_wall_ns=0, card_unsure=False)
    if entry.kind == "step" and entry.body.get("step") in (UNWRITTEN, UNEXPLAINED):
        return replace(state, card_wall_ns=max(state.card_wall_ns, at.from_ns), card_unsure=True)
    if not at.timed:  # a note, a reason, a mark: it lay for as long as before
        return replace(state, card_wall_ns=min(_since(state), at.to_ns))
    until_ns = at.from_ns if state.status == "paused" else at.to_ns  # what is told of a cue may end as it is told
    return replace(state, card_wall_ns=min(until_ns, entry.recorded.wall_ns), card_unsure=False)


def lain(state: JobState, now_wall_ns: int) -> str:
    """Return in words why all must be asked again, empty when nothing says so; the date is the machine's own.

    A clock that ran back tells no time, so all is asked.
    """
    if state.cursor == 0 or state.status not in ("open", "paused"):
        return ""
    if _date(_since(state)) != _date(now_wall_ns):
        return DATE
    return (UNSURE if state.card_unsure else LONG) if is_long(state, now_wall_ns) else ""


def is_long(state: JobState, now_wall_ns: int) -> bool:
    """Whether a job has lain for `LONG_S`, or the clock ran back since."""
    return _lay(state, now_wall_ns, LONG_S)


def was_left(state: JobState, now_wall_ns: int) -> bool:
    """Whether a job that nobody paused was left for so long that it counts as paused."""
    begun = state.cursor > 0 and state.status == "open"
    left_s = OPEN_LAY_S if state.open_nipples else LEFT_S
    return begun and _lay(state, now_wall_ns, left_s)


def _lay(state: JobState, now_wall_ns: int, for_s: int) -> bool:
    """Whether a job has lain for so long, or the clock ran back since anything was written of it."""
    return now_wall_ns < state.last_wall_ns or not 0 <= now_wall_ns - _since(state) < for_s * NS


def lay_open(state: JobState, now_wall_ns: int) -> JobState:
    """Return the state in which the level is to be looked at, where it lay with a nipple open until this entry."""
    if not state.open_nipples or now_wall_ns - state.last_wall_ns <= OPEN_LAY_S * NS:
        return state
    return replace(state, tank=replace(state.tank, doubt=LAY_OPEN))


def resumed(state: JobState, now_wall_ns: int, again: str) -> JobState:
    """Return the state a job goes on from. `again`: why all is asked again, as the entry says."""
    if state.cursor == 0 and not state.open_nipples:
        return replace(state, status="open", held=(), worked_wall_ns=now_wall_ns)
    everything = bool(again)
    opens = reopening.opens(state)
    asked = () if _nothing_left(state, state.points[state.cursor :]) else tuple(_again(state, everything))
    asked = (*asked, *(one for one in mend_safe.stale(state) if one.step not in {each.step for each in asked}))
    state = reopening.looked_over(state) if everything else state
    read = None if state.decide else feed.read_before(state)  # one that is done again reads it anyway
    if read is not None:  # what was read before the pause holds no more
        asked = (*asked, replace(read, again=True))
        state = replace(state, readings=tuple(one for one in state.readings if one[0] != PRESSURE))
    onward = replace(
        state,
        status="open",
        held=(),
        unasked=not opens if everything else state.unasked,
        points=(*state.points[: state.cursor], *asked, *state.points[state.cursor :]),
        left_open=state.open_nipples,
        lay_unpaused=state.status != "paused",
        left_wall_ns=state.paused_wall_ns or _since(state),
        paused_wall_ns=0,
        worked_wall_ns=now_wall_ns,
        card_wall_ns=0,
        card_unsure=False,
        stays_said=(),
        tank=replace(state.tank, doubt=PAUSED),
    )
    return onward if state.decide else feed.put_on_again(onward)


def spared(state: JobState) -> JobState:
    """Return the state without what is asked again, where a decision leaves nothing that it is asked for."""
    ahead = state.points[state.cursor :]
    rest = [one for one in ahead if one.again or one.pass_id or one.step not in state.procedure.steps_before]
    if _nothing_left(state, rest):
        return replace(state, points=state.points[: state.cursor])
    return reopening.spared(state, rest)


def _nothing_left(state: JobState, ahead: Sequence[Point]) -> bool:
    """Whether nothing is done on the vehicle any more: no point is ahead, nothing may be open, nothing undecided."""
    undecided = state.decide or state.unclear or state.unsaid or state.air or state.why_due
    unknown = state.cued or state.inspect is not None or state.open_intent is not None or state.result_due is not None
    return not (ahead or state.open_nipples or undecided or unknown or unrun(state))


def _again(state: JobState, everything: bool) -> list[Point]:
    """Return the points of the walk that are asked again: each once, in the procedure's order."""
    flows = reopening.opens(state)
    return reopening.before(state, safe=everything and reopening.lifted(state), fluid=flows and everything, fed=flows)


def _since(state: JobState) -> int:
    """Return since when nothing was done on a job."""
    return state.card_wall_ns or state.worked_wall_ns


def card_day_ns(state: JobState) -> int:
    """Return when the day of the card began that was keyed in last: what it does not say was done since then."""
    day = datetime.fromtimestamp((state.left_wall_ns or _since(state)) / NS)
    return round(day.replace(hour=0, minute=0, second=0, microsecond=0).timestamp()) * NS


def _date(wall_ns: int) -> object:
    return datetime.fromtimestamp(wall_ns / NS).date()
