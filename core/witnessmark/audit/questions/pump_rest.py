"""17: was the pump overheated? Each run against the longest allowed, each pause against the rest, and the on-time of
any window. The limits are the procedure's and those of the wire command in the map; both hold."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from witnessmark.audit import say
from witnessmark.audit.case import NS, Case, time_ns
from witnessmark.audit.missing import unrun
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.range import Range
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, from_sure, no_proof
from witnessmark.procedure.model import Pump


def answer(case: Case) -> Verdict:
    if not case.actuating:
        return does_not_apply("no pass of this job runs a wire command")
    runs = [run for run in case.timeline.actuations if run.began != "no"]
    limited = case.procedure.pump is not None or any(case.wire_command(run.wire_command) for run in runs)
    if not limited:
        return does_not_apply("neither procedure nor map limits how long a wire command may run")
    if not runs:
        return no_proof("no entry of a run")
    details = [*unrun(case), *_unknown(runs), *_each(case, runs), *_pauses(case, runs)]
    details += _window(case.procedure.pump, runs)
    return from_details(details, "no run was too long and each had its rest before the next")


def _unknown(runs: Sequence[Actuation]) -> Iterator[Detail]:
    for run in runs:
        if run.ran is None:
            yield Detail(run.subject, "no proof", f"nothing says whether {run.wire_command} ran", run.cites)


def _each(case: Case, runs: Sequence[Actuation]) -> Iterator[Detail]:
    for run in runs:
        longest = _limit(case, run, "longest_run", "longest_s", min)
        if run.ran is not None and longest is not None:
            lasted = run.ran.length()
            text = f"ran {say.length(lasted)}; at most {say.seconds(longest)} allowed"
            yield Detail(run.subject, from_sure(lasted.at_most(longest)), text, run.cites)


def _pauses(case: Case, runs: Sequence[Actuation]) -> Iterator[Detail]:
    known = sorted((run for run in runs if run.ran is not None), key=_began)
    for earlier, later in pairwise(known):
        rest = _limit(case, earlier, "rest", "cool_down_s", max)
        if rest is None or earlier.ran is None or later.ran is None:
            continue
        pause = later.ran.start.minus(earlier.ran.end)
        shown = say.length(Range(max(0, pause.low), max(0, pause.high)))
        text = f"{shown} of rest after {earlier.subject}; at least {say.seconds(rest)} asked"
        yield Detail(later.subject, from_sure(pause.at_least(rest)), text, (*earlier.cites, *later.cites))


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


def _limit(case: Case, run: Actuation, ours: str, theirs: str, strictest: Callable[[list[int]], int]) -> int | None:
    given = getattr(case.procedure.pump, ours, "")
    mapped = case.wire_command(run.wire_command).get(theirs)
    limits = [time_ns(given)] if given else []
    if mapped is not None:
        limits.append(int(mapped) * NS)
    return strictest(limits) if limits else None


def _began(run: Actuation) -> int:
    return run.ran.start.low if run.ran is not None else 0


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(17, "pump-rest", "Was the pump kept within its running times?", answer)]
