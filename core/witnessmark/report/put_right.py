"""What was looked at, was not right, and was right when it was looked at again: a leak that was mended, say.

A case flows in, a line for each check flows out. Rules that hold here: each no stays on page one although it is right
now, with each mend that was said after it, in order; a check stands under what was put right only where the record
bears out all of that, and where the audit holds the last look itself for met: it came after the work, and took as long
as it takes; else the line says why not.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit.asked import after_all, words_of
from witnessmark.audit.case import Case
from witnessmark.audit.lasting import lasted
from witnessmark.audit.overturned import overturned, spell_looks
from witnessmark.audit.put_back import left_from
from witnessmark.audit.questions import final_checks, refitted
from witnessmark.audit.timeline import Act
from witnessmark.procedure.model import Step
from witnessmark.procedure.words import FINAL_CHECKS
from witnessmark.report.times import Times


def put_right(case: Case, times: Times, *, shown: bool) -> list[str]:
    """Return a line for each check outside the passes of which a no was followed by a yes, in order.

    `shown`: those of which the record bears out what was mended between and the last look, else the others.
    """
    acts: dict[str, list[Act]] = {}
    for act in case.timeline.acts:
        if not act.pass_id and case.step(act.step) is not None:
            acts.setdefault(act.step, []).append(act)
    return [line for step, of_it in acts.items() if (line := _line(case, times, step, of_it, shown))]


def _line(case: Case, times: Times, name: str, acts: list[Act], shown: bool) -> str:
    changed, step = overturned(case, acts), case.step(name)
    if changed is None or step is None:
        return ""
    *seen, again = changed.looks
    lacks = "; ".join(dict.fromkeys(_lacks(case, step, again.act)))
    if (changed.mended and not lacks) != shown:
        return ""
    looks = spell_looks(seen, lambda act: times.text(act.at))
    right = "looked at again and right" if shown else "then said to be right"
    why = f"; that look is no proof: {lacks}" if lacks else ""
    return f"{step.text.rstrip('.?')}: {looks}; {right} ({times.text(again.act.at)}){why}"


def _lacks(case: Case, step: Step, again: Act) -> Iterator[str]:
    """Yield why the last look at a check does not show that it is right as the work ended; nothing where it does."""
    for words, since_when in ((FINAL_CHECKS, final_checks.since_work), (refitted.WORDS, left_from)):
        for word in words_of(step, *words):
            found = after_all(case, step, word, since_when(case))
            if found.answer != "met":
                yield found.text
    took = lasted(case, again)
    if took is not None and took.sure != "yes":
        yield took.text
