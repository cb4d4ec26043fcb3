"""What was looked at, was not right, and was right when it was looked at again: a leak that was mended, say.

A case flows in, a line for each check flows out. Rules that hold here: each no stays on page one although it is right
now, with each mend that was said after it, in order; a check stands under what was put right only where the record
bears out all of that, where each nipple that was tightened for it has its torque and its cap since, and where the audit
holds the last look itself for met: it came after the work, and took as long as it takes; else the line says why not.
Where entries were corrected it has to be so as first written and as corrected.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import after_all, words_of
from witnessmark.audit.grounds.lasting import lasted
from witnessmark.audit.grounds.mends import every_mend
from witnessmark.audit.grounds.overturned import Overturned, overturned, spell_looks
from witnessmark.audit.grounds.put_back import left_from
from witnessmark.audit.questions import final_checks, refitted, torque_cap
from witnessmark.audit.timeline import Act
from witnessmark.procedure.model import Step
from witnessmark.procedure.words import FINAL_CHECKS
from witnessmark.report.read_now import as_corrected, counted, on_both
from witnessmark.report.times import Times

MOST_LOOSE = 4
"""How much of what is not shown of the nipples of a mend is named at a check: the question has all of it."""


def put_right(case: Case, times: Times, *, shown: bool) -> list[str]:
    """Return a line for each check outside the passes of which a no was followed by a yes, in order.

    `shown`: those of which the record bears out what was mended between and the last look, else the others.
    """
    right = shown_right(case)

    def lines(one: Case) -> list[str]:
        each = ((name, line) for name, acts in _acts(one).items() if (line := _line(one, times, name, acts, shown)))
        return [line for name, line in each if right.get(name) == shown]

    return on_both(case, lines)


def shown_right(case: Case) -> Mapping[str, bool]:
    """Return each check outside the passes that was once not right, by its id: whether it is shown to be right since.

    It is where it is as first written and as corrected, as far as either has it not right.
    """
    return case.once("shown-right", lambda: _shown_right(case))


def _shown_right(case: Case) -> dict[str, bool]:
    found: dict[str, bool] = {}
    for one in (counted(case), as_corrected(case)):
        for name, acts in _acts(one).items():
            if any(act.looked for act in acts):
                found[name] = found.get(name, True) and _is_right(one, name, acts)
    return found


def _acts(case: Case) -> dict[str, list[Act]]:
    """Return what was entered of each step of the procedure outside the passes, by its id."""
    acts: dict[str, list[Act]] = {}
    for act in case.timeline.acts:
        if not act.pass_id and case.step(act.step) is not None:
            acts.setdefault(act.step, []).append(act)
    return acts


def _is_right(case: Case, name: str, acts: list[Act]) -> bool:
    changed, step = overturned(case, acts), case.step(name)
    if changed is None or step is None or not changed.mended:
        return False
    return not any(_lacks(case, step, changed.looks[-1].act)) and not any(_loose(case, changed))


def _line(case: Case, times: Times, name: str, acts: list[Act], shown: bool) -> str:
    changed, step = overturned(case, acts), case.step(name)
    if changed is None or step is None:
        return ""
    *seen, again = changed.looks
    looks = spell_looks(seen, lambda act: times.text(act.at))
    right = "looked at again and right" if shown else "then said to be right"
    lacks = "; ".join(dict.fromkeys(_lacks(case, step, again.act)))
    why = f"; that look is no proof: {lacks}" if lacks else ""
    loose = [*dict.fromkeys(_loose(case, changed))]
    why += "".join(f"; {one}" for one in loose[:MOST_LOOSE])
    why += f"; and {len(loose) - MOST_LOOSE} more, under question 23" if len(loose) > MOST_LOOSE else ""
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


def _loose(case: Case, changed: Overturned) -> Iterator[str]:
    """Yield what is not shown of the nipples that were tightened or mended between the first no and the last look."""
    first, last = changed.looks[0].act, changed.looks[-1].act
    for mend in every_mend(case):
        if first.seq < mend.act.seq < last.seq:
            yield from torque_cap.lacking(case, mend)
