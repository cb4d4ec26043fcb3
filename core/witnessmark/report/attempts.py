"""Every attempt at a visit in words, so that no run hides behind the one the visit is judged by.

A visit flows in, text flows out. Rules that hold here: a run whose end nobody saw is marked as such wherever it shows;
a few attempts are told one by one, more are summed up for page one, and all of them stand on the lead's pages.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.ends import unseen
from witnessmark.audit.grounds.visits import Visit
from witnessmark.audit.timeline import Actuation, Opening
from witnessmark.range import FOREVER, Range
from witnessmark.report.times import Times

UNKNOWN = "end not known"
SAID_NOT = "said not to have started"
"""Of a run that a person told of: nothing was sent that could have been refused or held back."""
MOST_TOLD = 3
"""So many attempts page one tells one by one."""


def ran(visit: Visit) -> str:
    """Return how long the run that the visit is judged by lasted."""
    if not visit.wire_command:
        return "by hand"
    if visit.run is None:
        return "no entry"
    return _lasted(visit.run)


def others(case: Case, visit: Visit, times: Times) -> list[str]:
    """Return a line for the attempts before the run that counts, one for those after it, one for openings besides.

    An opening of another attempt is told with that one, and is none besides.
    """
    before = [one for one in visit.others if visit.run is None or one.seq < visit.run.seq]
    after = [one for one in visit.others if one not in before]
    lines, besides = [], list(visit.apart)
    for group, when in ((before, "before"), (after, "after")):
        if group:
            theirs = [one for one in besides if any(_open_for(one, run) for run in group)]
            besides = [one for one in besides if one not in theirs]
            lines.append(_line(group, when))
            lines += [_openings(case, visit, theirs, "for that", times)] if theirs else []
    return lines + ([_openings(case, visit, besides, "besides that", times)] if besides else [])


def _open_for(one: Opening, run: Actuation) -> bool:
    return run.ran is not None and one.open.meets(run.ran) != "no"


def _openings(case: Case, visit: Visit, found: Sequence[Opening], which: str, times: Times) -> str:
    """Return each opening that the row above does not show; of many how long they lasted together."""
    if len(found) <= MOST_TOLD:
        return f"{which} " + ", ".join(_opening(case, visit, one, times) for one in found)
    lengths = _together(one.open.length() for one in found)
    return f"opened {which} {len(found)} times: {say.length(lengths)} in all"


def _opening(case: Case, visit: Visit, one: Opening, times: Times) -> str:
    """Return one opening in words, with its nipple where the visit has several."""
    name = f"{case.nipple(one.nipple).name} " if len(visit.nipples) > 1 else ""
    if one.opened is None:
        return f"{name}closed {times.text(one.open.end)}, no entry says when it was opened"
    text = f"{name}opened {times.text(one.open.start)}"
    return f"{text}, no entry closes it" if one.closed is None else f"{text} for {say.length(one.open.length())}"


def _together(lengths: Iterable[Range]) -> Range:
    """Return the sum of lengths; without a known end where one of them has none."""
    found = list(lengths)
    return Range(sum(one.low for one in found), min(FOREVER, sum(one.high for one in found)))


def facts(visit: Visit) -> list[dict[str, Any]]:
    """Return every attempt at the visit, in order."""
    runs = sorted((*visit.others, *([visit.run] if visit.run else [])), key=lambda one: one.seq)
    return [
        {
            "seq": one.seq,
            "text": attempt(one),
            "counts": one is visit.run,
            "end_known": _end_known(one),
            "grade": one.grade,
        }
        for one in runs
    ]


def by_hand(case: Case, visit: Visit, times: Times) -> list[dict[str, Any]]:
    """Return every opening of a visit at which nothing ran, in order, as `facts` does its runs."""
    openings = sorted((*visit.openings, *visit.apart), key=lambda one: min(one.cites))
    return [
        {
            "seq": min(one.cites),
            "text": _opening(case, visit, one, times),
            "counts": one in visit.openings,
            "end_known": one.closed is not None,
            "grade": "by hand",
        }
        for one in openings
    ]


def end_unknown(visit: Visit) -> bool:
    """Say whether nobody knows how one of its runs ended, or whether it ran."""
    return any(not one["end_known"] for one in facts(visit))


def _line(runs: list[Actuation], when: str) -> str:
    count = "1 attempt" if len(runs) == 1 else f"{len(runs)} attempts"
    return f"{count} {when}: " + (", ".join(map(attempt, runs)) if len(runs) <= MOST_TOLD else _summed(runs))


def _summed(runs: Sequence[Actuation]) -> str:
    """Return how long the attempts ran together, and how many of them did not run their time."""
    ran = [one.ran.length() for one in runs if one.began != "no" and one.ran is not None]
    ended = [one for one in runs if one.began == "yes" and _end_known(one) and one.outcome is not None]
    never = [one.grade for one in runs if one.began == "no"]
    counts = {
        "stopped early": sum(one.outcome is not None and one.outcome.result == "stopped" for one in ended),
        "ended by themselves": sum(one.outcome is not None and one.outcome.result == "failed" for one in ended),
        "refused or never sent": sum(grade != "told" for grade in never),
        SAID_NOT: never.count("told"),
        "not known whether they ran": sum(one.ran is None and one.began != "no" for one in runs),
        UNKNOWN: sum(one.ran is not None and not _end_known(one) for one in runs),
    }
    said = [f"{say.length(_together(ran))} in all"] if ran else []
    return ", ".join([*said, *(f"{count} {words}" for words, count in counts.items() if count)])


def attempt(run: Actuation) -> str:
    """Return in words how one run of a visit went."""
    result = run.outcome.result if run.outcome else "unknown"
    if run.began == "no" and run.grade == "told":
        return f"{SAID_NOT} after all"
    if run.began == "no":
        refused = "not sent" if run.unsent else "refused"
        return refused if result == "refused" else "stopped before anything was sent"
    if run.ran is None or not _end_known(run) or endless(run):
        return _lasted(run)
    how = {"completed": "ran its time of", "stopped": "stopped after", "failed": "ended by itself after"}[result]
    if run.grade == "told":
        how = {"completed": "said to have ended after", "stopped": "said to have ended before its time, after"}[result]
    return f"{how} {say.length(run.ran.length())}"


def _lasted(run: Actuation) -> str:
    if run.began == "no" and run.grade == "told":
        return SAID_NOT
    if run.began == "no":
        return "refused" if run.outcome and run.outcome.result == "refused" and not run.unsent else "did not run"
    if run.ran is None:
        return "not known whether it ran"
    if endless(run):
        return "started; its end is not written"
    lasted = say.length(run.ran.length())
    return lasted if _end_known(run) else f"{lasted} ({UNKNOWN})"


def endless(run: Actuation) -> bool:
    """Whether a card has the start of a run and not its end: it was over some time on that day."""
    ended = run.outcome is not None and (run.outcome.result, run.outcome.stop) == ("completed", "unknown")
    return ended and run.grade == "told"


def _end_known(run: Actuation) -> bool:
    if run.began != "yes":
        return run.began == "no"
    return not unseen(run) and run.outcome is not None and run.outcome.result != "unknown"
