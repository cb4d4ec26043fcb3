"""Whether the record shows a nipple open while it ran, by the times of the entries, and why not where it does not.

A job's state flows in; shares, seconds and words flow out. Rules that hold here: it is judged as the audit does, by the
least share of the run that the times leave; a nipple that still stands open is taken as shut late enough; what no two
touches can show, however far they are apart, is not asked for again.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark import quantity
from witnessmark.clock import NS
from witnessmark.job.amount import seconds
from witnessmark.job.record import touch_s
from witnessmark.job.walk.state import JobState
from witnessmark.journal.entry import Entry
from witnessmark.procedure.model import Pass, Procedure
from witnessmark.range import FOREVER, Range, Span, covered, exact

AFTERWARDS = "when it ran or was open was said only afterwards"
LATE = "it was opened only as it ran, or shut before it ended"


def noted(was: JobState, state: JobState, entry: Entry) -> JobState:
    """Return the state with when each run began and ended, and each nipple was opened and closed last, by an entry."""
    body, at = entry.body, Range(entry.occurred.from_ns, entry.occurred.to_ns)
    began, ended = f"began {body.get('pass_id')}", f"ended {body.get('pass_id')}"
    said = {"intent": {began: at}, "outcome": {ended: at}}.get(entry.kind, {})
    if body.get("from_mono") and body.get("to_mono"):  # witnessed by the machine
        shift = entry.recorded.wall_ns - entry.recorded.mono_ns
        moments = ((began, "from_mono"), (ended, "to_mono"))
        said = {name: exact(int(body[mono]) + shift) for name, mono in moments}
    opened = {f"opened {body.get('nipple')}": at} if body.get("act") == "opened" else {}
    closed = {f"closed {name}": at for name in set(was.open_nipples) - set(state.open_nipples)}
    new = said | opened | closed
    return replace(state, flow_times=tuple((dict(was.flow_times) | new).items())) if new else state


def is_shown(state: JobState, one: Pass, nipple: str) -> bool:
    """Whether a nipple was open for the share of its last run that the pass asks, as far as the entries' times tell."""
    return _is_enough(one, *_spans(state, one, nipple))


def why_not(state: JobState, one: Pass, nipple: str) -> str:
    """Say why the record does not show that; empty where it does."""
    if is_shown(state, one, nipple):
        return ""
    run, opening = _spans(state, one, nipple)
    touch = touch_s(state.procedure)
    told = (run.start, run.end, opening.start, *([opening.end] if run.end.before(opening.end) == "maybe" else []))
    if any(moment.high - moment.low > 2 * round(touch * NS) for moment in told):
        return AFTERWARDS
    if not can_show(state.procedure, one):
        return f"its run is too short for touches that are known to {touch:g} s each"
    if "no" in (opening.start.before(run.start), run.end.before(opening.end)):
        return LATE
    return f"its touches, known to {touch:g} s each, stand too near together"


def apart_s(procedure: Procedure) -> int:
    """Return how many whole s two touches are to be apart for it to be sure which of the two came first."""
    return int(2 * touch_s(procedure)) + 1


def can_show(procedure: Procedure, one: Pass) -> bool:
    """Whether touches that are as far apart as the pass lets them be show its nipple open for as much as it asks."""
    touch_ns = round(touch_s(procedure) * NS)
    run_ns, early_ns = (round(seconds(text) * NS) if text else 0 for text in (one.seconds, one.order_tolerance))
    began, ended, opened = (_around(at, touch_ns) for at in (0, run_ns, -early_ns if one.order == "before" else 0))
    return _is_enough(one, Span(began, ended), Span(opened, exact(FOREVER)))


def longest_ns(state: JobState, pass_id: str) -> int:
    """Return how long the last run of a pass can have lasted at most, by the times of its entries."""
    times = dict(state.flow_times)
    began, ended = (times.get(f"{when} {pass_id}", exact(0)) for when in ("began", "ended"))
    return Span(began, ended).length().high


def in_hand(state: JobState) -> tuple[Pass, str] | None:
    """Return the pass whose run completed last and a nipple of it that the record does not show open; else None.

    Only until something behind the pass is done, of a nipple that is to be bled for a mend, or of a run that was told
    by touches as it went.
    """
    run = state.runs[-1] if state.runs else None
    one = state.pass_of(run.pass_id) if run is not None else None
    if run is None or one is None or run.result != "completed" or state.decide or state.air or not _is_here(state, one):
        return None
    visited = [name for name in one.nipples if (one.id, name) in state.was_open - state.missed]
    whys = {name: why_not(state, one, name) for name in visited}
    counts = {name for name in visited if run.grade == "told" and whys[name] != AFTERWARDS} | {*state.to_bleed}
    return next(((one, name) for name, why in whys.items() if why and name in counts), None)


def of_mend(state: JobState) -> str:
    """Say of what is still to be bled why the visits at which it ran do not show that it was; empty where none did."""
    said = []
    for flow in state.flows:
        one = state.pass_of(flow.pass_id)
        over = one is not None and flow.nipple not in state.open_nipples and not _runs_again(state, one)
        if one is not None and one.wire_command and over and (why := why_not(state, one, flow.nipple)):
            name = next((each.name for each in state.procedure.nipples if each.id == flow.nipple), flow.nipple)
            said.append(f" {one.id} was run for {name}, which is not shown open for {one.overlap} of it: {why}.")
    return "".join(said)


def _is_here(state: JobState, one: Pass) -> bool:
    """Whether the walk stands behind the run of a pass, and nothing of another was done since."""
    near = state.points[max(0, state.cursor - 1) : state.cursor + 1]
    return not _runs_again(state, one) and any(point.pass_id == one.id and not point.late for point in near)


def _runs_again(state: JobState, one: Pass) -> bool:
    return any((point.kind, point.pass_id) == ("run", one.id) for point in state.points[state.cursor :])


def _spans(state: JobState, one: Pass, nipple: str) -> tuple[Span, Span]:
    """Return the last run of a pass and the last opening of a nipple."""
    times = dict(state.flow_times)
    marks = (f"began {one.id}", f"ended {one.id}", f"opened {nipple}", f"closed {nipple}")
    began, ended, opened, closed = (times.get(name, exact(0)) for name in marks)
    return Span(began, ended), Span(opened, exact(FOREVER) if nipple in state.open_nipples else closed)


def _is_enough(one: Pass, run: Span, opening: Span) -> bool:
    asked = float(quantity.parse(one.overlap, place="overlap").number) / 100 if one.overlap else 1.0
    return covered(run, [opening])[0] >= asked - 1e-9


def _around(at_ns: int, touch_ns: int) -> Range:
    return Range(at_ns - touch_ns, at_ns + touch_ns)
