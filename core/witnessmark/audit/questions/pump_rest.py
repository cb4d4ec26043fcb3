"""17: was the pump overheated? Each run against the longest allowed, each pause against the rest, and the on-time of
any window.

The limits are the procedure's, for the wire commands that work the pump as it says, and those that the map states of a
wire command; both hold. What was only seen of a
learned one (the longest run, the shortest pause of another tester) is nobody's limit: where nobody gave another, there
is no proof. A run is ordered to last so long, and is known to have ended when the stop is answered: what lies between
the request and its answer, and how sure the wire's times are, is allowed besides.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from witnessmark.audit import say
from witnessmark.audit.case import NS, Case, time_ns
from witnessmark.audit.grounds import unheard
from witnessmark.audit.grounds.missing import half_recorded, unrun
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, from_sure, no_proof
from witnessmark.procedure.model import Pump
from witnessmark.procedure.pump import works_pump
from witnessmark.range import Range, any_of

SURE_NS = NS // 10
"""How surely a length taken from the wire is known: within 0.1 s of the truth, as the practice truck shows."""

LIMITS = ("longest_s", "cool_down_s")
"""What a map limits a wire command by."""


def answer(case: Case) -> Verdict:
    runs = [run for run in case.timeline.actuations if run.began != "no"]
    if not case.actuating and not runs:
        return does_not_apply("no pass of this job runs a wire command")
    names = {one.wire_command for one in case.actuating} | {run.wire_command for run in runs}
    ours = case.procedure.pump is not None and any(works_pump(case.procedure, name) for name in names)
    if not ours and not any(set(LIMITS) & case.wire_command(name).keys() for name in names):
        return does_not_apply("neither procedure nor map limits how long a wire command may run")
    if not runs:
        return no_proof("no entry of a run")
    details = [*unrun(case), *half_recorded(case), *_unknown(runs), *_each(case, runs), *_pauses(case, runs)]
    rests = {run.wire_command: max(_given(case, run, "rest", "cool_down_s"), default=0) for run in runs}
    pumping = [run for run in runs if works_pump(case.procedure, run.wire_command)]
    details += [*_window(case.procedure.pump, pumping), *unheard.between_runs(case, rests)]
    met = "no run was too long and each had its rest before the next"
    return from_details(details, f"{met}{unheard.only_told(case)}")


def _unknown(runs: Sequence[Actuation]) -> Iterator[Detail]:
    for run in runs:
        if run.ran is None:
            yield Detail(run.subject, "no proof", f"nothing says whether {run.wire_command} ran", run.cites)


def _each(case: Case, runs: Sequence[Actuation]) -> Iterator[Detail]:
    for run in runs:
        if run.ran is None:
            continue
        lasted, late = run.ran.length(), _answer_time(run)
        longest = min(_given(case, run, "longest_run", "longest_s"), default=None)
        if longest is not None:
            slack = late + SURE_NS if run.grade != "told" else 0
            ordered = Range(max(0, lasted.low - slack), max(0, lasted.high - slack))
            text = f"ran {say.length(lasted)}; at most {say.seconds(longest)} allowed"
            text += f", and {say.seconds(slack)} for the stop to be answered" if longest < lasted.high and slack else ""
            yield Detail(run.subject, from_sure(ordered.at_most(longest)), text, run.cites)
        elif (seen := _only_seen(case, run, "longest_s")) is not None:
            text = (
                f"ran {say.length(lasted)}; nobody gave a limit, other runs of it were seen up to {say.seconds(seen)}"
            )
            yield Detail(run.subject, "no proof", text, run.cites)


def _pauses(case: Case, runs: Sequence[Actuation]) -> Iterator[Detail]:
    """Judge the rest between each two runs that follow each other, and between any two that may lack it."""
    known = sorted((run for run in runs if run.ran is not None), key=_began)
    for place, earlier in enumerate(known):
        longest = max(_given(case, earlier, "rest", "cool_down_s"), default=0)
        for index, later in enumerate(known[place + 1 :]):
            if earlier.ran is None or later.ran is None:
                continue
            pause, back = later.ran.start.minus(earlier.ran.end), earlier.ran.start.minus(later.ran.end)
            if index and pause.low >= longest:
                break  # and so have all that began after it
            rest = max(_given(case, earlier, "rest", "cool_down_s", before=later), default=None)
            shown = f"{say.length(Range(max(0, pause.low), max(0, pause.high)))} of rest after {earlier.subject}"
            cites = (*earlier.cites, *later.cites)
            if rest is not None:
                sure = any_of(pause.at_least(rest), back.at_least(rest))
                if sure != "yes" or not index:
                    text = f"{shown}; at least {say.seconds(rest)} asked"
                    yield Detail(later.subject, from_sure(sure), text, cites)
            elif not index and (seen := _only_seen(case, earlier, "cool_down_s")) is not None:
                text = f"{shown}; nobody gave a limit, it was seen to start again after {say.seconds(seen)}"
                yield Detail(later.subject, "no proof", text, cites)


def _window(pump: Pump | None, runs: Sequence[Actuation]) -> Iterator[Detail]:
    """The on-time of the fullest window: one that begins as a run begins, or ends as one ends."""
    spans = [run.ran for run in runs if run.ran is not None]
    if pump is None or not pump.window or not spans:
        return
    width, allowed = time_ns(pump.window), time_ns(pump.on_time)
    sure = [span.sure for span in spans if span.sure is not None]
    on = Range(_fullest(sure, width), _fullest([span.possible for span in spans], width))
    text = f"on for {say.length(on)} within {pump.window}; at most {pump.on_time} allowed"
    cites = tuple(seq for run in runs for seq in run.cites)
    yield Detail("all runs", from_sure(on.at_most(allowed)), text, cites)


def _fullest(pieces: Sequence[tuple[int, int]], width: int) -> int:
    begins = [low for low, _ in pieces] + [high - width for _, high in pieces]
    return max((sum(max(0, min(high, at + width) - max(low, at)) for low, high in pieces) for at in begins), default=0)


def _given(case: Case, run: Actuation, ours: str, theirs: str, *, before: Actuation | None = None) -> list[int]:
    """Return the limits (ns) that somebody gave: the procedure, and the map where it states more than was seen.

    The procedure's are those on the pump: on the run, and of a rest on the run that it is `before`.
    """
    names = (run.wire_command, *(() if before is None else (before.wire_command,)))
    return case.once(("limits given", ours, names), lambda: _limits(case, names, ours, theirs))


def _limits(case: Case, names: Sequence[str], ours: str, theirs: str) -> list[int]:
    pumps = all(works_pump(case.procedure, name) for name in names)
    written = getattr(case.procedure.pump, ours, "") if pumps else ""
    command = case.wire_command(names[0])
    stated = [int(command[theirs]) * NS] if theirs in command and not _is_observed(command, theirs) else []
    return [*([time_ns(written)] if written else []), *stated]


def _only_seen(case: Case, run: Actuation, name: str) -> int | None:
    """Return what the map of a learned wire command that works the pump has of it by seeing alone, in ns."""
    command = case.wire_command(run.wire_command)
    pumps = works_pump(case.procedure, run.wire_command)
    return int(command[name]) * NS if pumps and _is_observed(command, name) else None


def _is_observed(command: Mapping[str, Any], name: str) -> bool:
    """Whether a figure of a wire command is what naming takes from the runs that were seen, with nobody's word."""
    observed = command.get("observed") or {}
    if command.get("origin") != "learned" or name not in command:
        return False
    if name == "cool_down_s":
        rest_ms = observed.get("rest_ms")
        return rest_ms is not None and int(command[name]) == -(-int(rest_ms) // 1000)
    longest_s = int(observed.get("longest_ms") or 0) // 1000
    seconds = [int(one) for one in observed.get("seconds", ())]
    return int(command[name]) == min(longest_s, max(seconds, default=longest_s))


def _answer_time(run: Actuation) -> int:
    """How long the stop that ended a run took to be answered, in ns; 0 where that is not recorded."""
    stop = run.exchange("stop")
    positive = stop.positive() if stop is not None else None
    if stop is None or positive is None or not stop.body.sent_mono:
        return 0
    return max(0, int(positive.last_mono) - int(stop.body.sent_mono))


def _began(run: Actuation) -> int:
    return run.ran.start.low if run.ran is not None else 0


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(17, "pump-rest", "Was the pump kept within its running times?", answer)]
