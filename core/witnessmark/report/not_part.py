"""What was not part of a job: outside its scope, never reached, of no entry, not asked, left out with a reason.

Beside it, what a card leaves empty: that may have been done, and nobody says so; and what was looked at and is not
right, which was part of the job: it is told where no finding tells it. A case flows in, lines flow out. Rules that hold
here: nothing counts as done because no entry says otherwise; what was left out and done after all was part of the job,
and of several words on the same thing the last counts; each bottle that nobody read is one of its own, but for
one of a pass that was done again and its bottle read then, which the line of that visit names; what a card leaves empty
of an attempt stays so where the pass was done again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from msgspec.structs import replace

from witnessmark.audit.case import NO_REASON, SILENT, UNEXPLAINED, UNWRITTEN, Case
from witnessmark.audit.fluid.bottles import left_unread
from witnessmark.audit.grounds.asked import is_how_it_ran
from witnessmark.audit.grounds.visits import REDONE
from witnessmark.audit.grounds.void import void, words
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import NOT_RIGHT, Act, Actuation, by
from witnessmark.audit.verdict import Finding
from witnessmark.procedure.model import Pass
from witnessmark.report.attempts import endless
from witnessmark.report.lines import HOW_IT_RAN, step_name
from witnessmark.report.unsaid import in_short, unsaid

MOST = 8
"""How many things that a card leaves empty are named on page one: a choice of this project."""
LEFT_OUT = " left out, "
NIPPLE = {"": "opening", "open": "opening", "close": "closing"}
"""What is done to a nipple, by the step that says so."""
LAST = 1 << 62
"""After every entry."""


def not_part(case: Case) -> list[str]:
    """Return a line for each thing that a reader could take for done and that was not part of the job."""
    planned = {one.id for one in case.plan}
    left = [one for one in case.procedure.passes if one.id not in planned]
    said = [f"pass {one.id} ({_nipples(case, one)}): outside the scope of this job" for one in left]
    if case.untouched:
        asked = listing(f"{one.id} ({_nipples(case, one)})" for one in case.untouched)
        said.append(f"planned, and no entry says that it was done: {asked}")
    said += [words(*one) for one in void(case).items()] + in_short(unsaid(case))
    return said + [_left_out(case, act) for act in _skipped(case) if not act.looked]


def not_asked(case: Case, findings: Sequence[Finding]) -> list[str]:
    """Return a line for each question that the procedure leaves out, in words, with its reason."""
    titles = {str(one.number): (one.answer, one.title) for one in findings}
    said = []
    for one in case.procedure.leaves_out:
        answer, title = titles.get(one.question, ("does not apply", ""))
        some = "" if answer == "does not apply" else "where no step asks it"
        name = ", ".join(part for part in (f"question {one.question}", some, title) if part)
        said.append(f"{name}{LEFT_OUT}{one.why}")
    return said


def not_right(case: Case, told: Sequence[Finding]) -> list[str]:
    """Return a line for each thing that was looked at last and not right, where none of the findings `told` says it."""
    seen = [act for act in _skipped(case) if act.looked and not any(_says(one, act) for one in told)]
    return [f"{_left_out(case, act)} (entry {act.seq})" for act in seen]


def _says(found: Finding, act: Act) -> bool:
    return act.seq in found.cites and act.said in found.text


def _skipped(case: Case) -> list[Act]:
    """Return what was left out, or looked at and not right, for good: of several words on the same thing the last."""
    skipped = [act for act in case.timeline.acts if act.act == "skipped" and _of_procedure(case, act)]
    left = [act for act in skipped if not (_after_all(case, act) or _read_since(case, act))]
    bottles = {act.seq for act in left_unread(case)}
    last = {(act.step, act.pass_id, act.nipple, act.seq in bottles and act.seq): act.seq for act in left}
    return [act for act in left if act.seq in last.values()]


def not_written(case: Case) -> list[str]:
    """Return a line of what a card leaves empty, and one of the readings of which it leaves empty why they stay so."""
    return [*_unwritten(case), *_unexplained(case)]


def _unexplained(case: Case) -> list[str]:
    """Return one line that names each reading outside its limits of which a card leaves empty why it stays so."""
    each = []
    for act in case.timeline.acts:
        if act.step == UNEXPLAINED and act.answer and not _after_all(case, replace(act, step=act.answer)):
            same = (one for one in case.timeline.gauges if one.seq < act.seq and one.step == act.answer)
            read = [one for one in same if (one.pass_id, one.nipple) == (act.pass_id, act.nipple)]
            where = ", ".join(one for one in (act.pass_id, case.nipple(act.nipple).name if act.nipple else "") if one)
            what = (
                f"{read[-1].what.replace('-', ' ')} {read[-1].amount}"
                if read
                else _what(case, replace(act, step=act.answer))
            )
            each.append(f"{what} ({where})" if where else what)
    return [f"read, and {NO_REASON}: {'; '.join(each)}"] if each else []


def _unwritten(case: Case) -> list[str]:
    """Return one line that names what a card leaves empty and nobody did since, each thing with its passes."""
    found: dict[str, dict[str, None]] = {}
    said = [act for act in case.timeline.acts if act.step == UNWRITTEN]
    ticked = by((act for act in said if not act.answer), lambda act: act.seq)
    for act in said:
        if not act.answer:
            continue  # it is what the card has ticked beside
        silent, again = replace(act, step=act.answer), _begun_again(case, act)
        if not _after_all(case, silent, again):
            but = listing(one.affects or one.act for one in ticked.get(act.seq, ()))
            what = f"{_what(case, silent)} but for {but}" if but else _what(case, silent)
            found.setdefault(what, {})[_where(act, again)] = None
    for run in case.timeline.actuations:
        if endless(run):
            found.setdefault("the end of the run", {})[_where(run, _begun_again(case, run))] = None
    each = [f"{what} ({listing(at)})" if any(at) else what for what, at in found.items()]
    more = len(each) - MOST
    each = [*each[:MOST], f"{more} more things, named with the entries"] if more > 0 else each
    return [f"{SILENT}, so there is no proof of it: {'; '.join(each)}"] if each else []


def _where(one: Act | Actuation, again: int) -> str:
    return one.pass_id if again == LAST else f"{one.pass_id} before it was done again"


def together(said: Sequence[str]) -> list[str]:
    """Return the lines, as they are read, with all that was left out for one reason in one of them."""
    found: dict[str, list[str]] = {}
    for one in said:
        _, left, why = one.partition(LEFT_OUT)
        found.setdefault(why if left else one, []).append(one)
    return [_in_one(many) for many in found.values()]


def _in_one(many: Sequence[str]) -> str:
    """Return lines of which one reason is the same as one line; what it names several times is counted."""
    last, left, why = many[-1].partition(LEFT_OUT)
    names = Counter(one.partition(LEFT_OUT)[0].rstrip(":") for one in many)
    each = "; ".join(f"{name}, {count} times" if count > 1 else name for name, count in names.items())
    return f"{each}{':' if last.endswith(':') else ''}{left}{why}"


def _begun_again(case: Case, act: Act | Actuation) -> int:
    """Return the entry by which the pass of an act was to be done again after it, one behind all where it was not."""
    again = (one for one in case.timeline.acts if one.step == REDONE and one.pass_id == act.pass_id != "")
    return min((one.seq for one in again if one.seq > act.seq), default=LAST)


def _after_all(case: Case, left: Act, until: int = LAST) -> bool:
    """Whether what was left out was done later: the step itself, the opening, the closing or the run of its pass.

    What was done in the entries from `until` on was done for another attempt.
    """
    line = case.timeline
    if any(act.seq == left.seq for act in left_unread(case)):
        return False  # what was read since is another bottle
    if left.step == "run":
        return any(left.seq < run.seq < until and run.began == "yes" for run in line.actuations_of(left.pass_id))
    if left.step in NIPPLE:
        openings = [one for one in line.openings_at(left.pass_id) if left.nipple in ("", one.nipple)]
        seqs = [one.closed if left.step == "close" else one.opened for one in openings]
        return any(seq is not None and left.seq < seq < until for seq in seqs)
    acts = (*case.acts_at(left.pass_id), *(case.acts_at("") if left.pass_id else ()))
    later = [act for act in acts if act.step == left.step and act.done and left.seq < act.seq < until]
    return any(act.nipple == left.nipple or "" in (act.nipple, left.nipple) for act in later)


def _read_since(case: Case, left: Act) -> bool:
    """Whether it is a bottle left unread at a pass that was done again since, and its bottle read then."""
    step = case.step(left.step)
    read = case.timeline.readings("volume", left.pass_id) if step is not None and step.what == "volume" else ()
    return bool(left.pass_id) and any(
        one.seq > left.seq and (one.nipple == left.nipple or "" in (one.nipple, left.nipple)) for one in read
    )


def _nipples(case: Case, one: Pass) -> str:
    return ", ".join(case.nipple(name).name for name in one.nipples)


def _of_procedure(case: Case, act: Act) -> bool:
    """Whether a thing left out is one that the procedure asks for, and not one that was done another way."""
    return act.step in case.step_ids or act.step in ("", "open", "close", "run")


def _what(case: Case, act: Act) -> str:
    return case.step_text(act.step) or {**NIPPLE, "run": "the run"}.get(act.step) or step_name(act.step)


def _left_out(case: Case, act: Act) -> str:
    where = [act.pass_id, case.nipple(act.nipple).name if act.nipple else ""]
    step = case.step(act.step)
    what = HOW_IT_RAN if step is not None and is_how_it_ran(step, act) else _what(case, act)
    what_of = NOT_RIGHT if act.looked else "left out"
    stop = "" if what.endswith("?") else ":"
    return f"{', '.join([one for one in where if one] + [what])}{stop} {what_of}, {act.said or 'no reason given'}"
