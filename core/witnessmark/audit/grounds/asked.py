"""Steps that the procedure asks for: were they done, and before or after what?

Rules that hold here: a step is looked for by its name, one that the procedure does not have by the word it affects; a
touch that says several things counts for those that it said; one left out is not met, with its
reason, also where it was done before that, but for what was done after it was left out when it was asked again; one
done too late is not met; one done too early is no proof, for nobody recorded it again; what was done first is told as
in `sequence`; of several looks at the same thing the last counts.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.cited import spell
from witnessmark.audit.grounds import sequence
from witnessmark.audit.grounds.sequence import Mark
from witnessmark.audit.grounds.void import left
from witnessmark.audit.timeline import Act, by
from witnessmark.audit.verdict import Detail
from witnessmark.procedure import own
from witnessmark.procedure.model import Procedure, Step
from witnessmark.procedure.steps import each_step
from witnessmark.range import Range, Span, Sure, any_of, every

LAST = 1 << 62
"""After every entry, and every moment."""
NOT_SO = "it was not so when it was looked at last"
"""What is said of a check that was right, and was not any more when somebody looked again."""


def asked(case: Case, *words: str, each_pass: bool = False) -> tuple[Step, ...]:
    """Return the steps whose `affects` is one of `words`: those of each pass, or those done once."""
    one = case.procedure
    steps = (
        (*one.steps_before_each_pass, *one.steps_after_each_pass)
        if each_pass
        else (*one.steps_before, *one.steps_after)
    )
    return tuple(step for step in steps if set(words) & {step.affects, *step.also})


def done(case: Case, step: Step, word: str = "", *, pass_id: str = "", nipple: str = "") -> list[Act]:
    """Return every act of the step, also those left out; of one pass and nipple where given.

    `word` is what the step is asked for: where it says that only besides, an act without the word does not count.
    """
    word = word or step.affects
    by_step = case.once(("acts", pass_id), lambda: by(case.acts_at(pass_id), lambda act: act.step))
    near = case.acts_at(pass_id) if case.is_said_besides(pass_id, word) else by_step.get(step.id, ())
    found = [act for act in near if _is_of(case, act, step, word)]
    only = len(case.nipples_of(pass_id)) == 1 or step.whole_pass
    nipples = ("", nipple) if only else (nipple,)
    return [act for act in found if not nipple or act.nipple in nipples]


def _is_of(case: Case, act: Act, step: Step, word: str) -> bool:
    if act.step == step.id:
        if word != "clear" and is_how_it_ran(step, act):
            return False
        return word == step.affects or act.affects == word or not act.done
    return act.step not in case.step_ids and bool(word) and act.affects == word


def is_how_it_ran(step: Step, act: Act) -> bool:
    """Whether a no at a step that asks besides whether the fluid ran clear says that it did not: that, and no more."""
    return act.looked and asks_how_it_ran(step)


def asks_how_it_ran(step: Step) -> bool:
    """Whether a step asks besides whether the fluid ran clear: there nothing else is looked at."""
    return step.act != "check" and "clear" in (step.affects, *step.also)


def looks_how_it_ran(procedure: Procedure) -> frozenset[str]:
    """Return the ids of the steps whose no says how the fluid ran."""
    return frozenset(step.id for _, step in each_step(procedure) if asks_how_it_ran(step))


def judge(
    case: Case,
    step: Step,
    word: str = "",
    *,
    after: Mark | None = None,
    before: Mark | None = None,
    pass_id: str = "",
    nipple: str = "",
    subject: str = "",
) -> Detail:
    """Return whether the step was done, after and before the marks; `word` as in `done`."""
    subject = subject or step.text
    acts = done(case, step, word, pass_id=pass_id, nipple=nipple)
    held = [act for act in acts if act.done]
    if not held:
        for act in acts:
            if act.act == "skipped":
                return Detail(subject, "not met", act.why_not, (act.seq,))
        silent = case.unwritten(step.id, pass_id, nipple)
        return Detail(subject, "no proof", SILENT if silent else "no entry", silent)
    sure = [(act, every(_later(case, act, after), _earlier(case, act, before))) for act in held]
    whole = any_of(*(one for _, one in sure))
    best = next(act for act, one in reversed(sure) if one == whole)
    cites = (best.seq, *(mark.seq for mark in (after, before) if mark is not None))
    left, anew = _left_since(case, acts, best, before)
    if left:
        late = before is not None and _earlier(case, left[-1], before) != "yes"
        again = NOT_SO if step.act == "check" or left[-1].looked else "left out when it was asked again"
        text = f"done, and {again}: {left[-1].said or 'no reason given'}"
        return Detail(subject, "no proof" if late else "not met", text, (*cites, left[-1].seq))
    if later := [seq for seq in case.unwritten(step.id, pass_id, nipple) if seq > best.seq]:
        text = f"done; that it was done when it was asked again is {SILENT}"
        return Detail(subject, "no proof", text, (*cites, *later))
    if whole == "yes":
        said = "".join(
            f"; {one.why_not} (entry {one.seq}), and done after that (entry {then.seq})" for one, then in anew
        )
        return Detail(subject, "met", f"done{said}", (*cites, *(act.seq for pair in anew for act in pair)))
    if whole == "maybe":
        text = f"done; whether {_where(after, before)} is within the uncertainty of the times"
        return Detail(subject, "no proof", text, cites)
    late = _earlier(case, best, before) == "no"
    return Detail(subject, "not met" if late else "no proof", f"done, but not {_where(after, before)}", cites)


def _left_since(case: Case, acts: list[Act], best: Act, before: Mark | None) -> tuple[list[Act], list[tuple[Act, Act]]]:
    """Return what was left out after it was done, and with what followed what was asked again behind the moment.

    What was left out surely after the moment before which it has to be done stands no more once it was done after
    that, with surely nothing open, run or mended between.
    """
    left: list[Act] = []
    anew: list[tuple[Act, Act]] = []
    for act in acts:
        if act.act != "skipped" or act.seq < best.seq:
            continue
        then = next((one for one in acts if one.done and one.seq > act.seq), None)
        if then is not None and before is not None and _behind(case, before, act, then):
            anew.append((act, then))
        else:
            left.append(act)
    return left, anew


def _behind(case: Case, before: Mark, act: Act, then: Act) -> bool:
    """Whether both surely come after the moment, one after the other, with surely no work between."""
    in_order = sequence.not_after(case, before, act) == "yes" == sequence.not_after(case, act, then)
    return in_order and all(
        "yes" in (sequence.not_after(case, end, act), sequence.not_after(case, then, begin))
        for begin, end in case.once("work begun and over", lambda: tuple(_work(case)))
    )


def _work(case: Case) -> Iterator[tuple[Mark, Mark]]:
    """Yield when each opening, run and mend began and when it was over; where no entry says so, only by its times."""
    for one in case.timeline.openings:
        first, last = (-1 if one.opened is None else one.opened), (LAST if one.closed is None else one.closed)
        yield Mark(one.open.start, first), Mark(one.open.end, last)
    for run in case.timeline.actuations:
        if run.began != "no":
            ran = run.ran or Span(run.asked, Range(run.asked.low, LAST))
            yield Mark(ran.start, run.seq), Mark(ran.end, LAST if run.outcome_seq is None else run.outcome_seq)
    for act in case.timeline.said(own.MENDED):
        if act.done:
            yield Mark(act.at, act.seq), Mark(act.at, act.seq)


def after_all(case: Case, step: Step, word: str, since: Mark | str) -> Detail:
    """Return whether a step was done after all the work; where in words it is not known when that was over, no proof.

    What was looked at and not right, or has no entry, is told as that all the same.
    """
    if isinstance(since, Mark):
        return judge(case, step, word, after=since)
    found = judge(case, step, word)
    return Detail(found.subject, "no proof", since, found.cites) if found.answer == "met" else found


def _where(after: Mark | None, before: Mark | None) -> str:
    return " and ".join(
        [f"after {mark.name}" for mark in (after,) if mark] + [f"before {mark.name}" for mark in (before,) if mark]
    )


def _later(case: Case, act: Act, after: Mark | None) -> Sure:
    return "yes" if after is None else sequence.not_after(case, after, act)


def _earlier(case: Case, act: Act, before: Mark | None) -> Sure:
    return "yes" if before is None else sequence.not_after(case, act, before)


def words_of(step: Step, *words: str) -> tuple[str, ...]:
    """Return which of `words` the step says."""
    return tuple(word for word in dict.fromkeys((step.affects, *step.also)) if word in words)


def first_open(case: Case) -> Mark | str:
    """Return the first opening of any nipple; in words why it is not known, when one opening has no entry."""
    return case.once("first open", lambda: _first_open(case))


def _first_open(case: Case) -> Mark | str:
    openings = case.timeline.openings
    unseen = [one for one in openings if one.opened is None]
    if unseen:
        return f"no entry says when {case.nipple(unseen[0].nipple).name} was opened"
    if not openings:
        return "no entry says that any nipple was opened"
    if case.untouched:
        return f"no entry says what was done at {case.untouched[0].id}"
    return sequence.first(case, [sequence.opened(one) for one in openings], "the first nipple was opened")


def last_close(case: Case) -> Mark | str:
    """Return the last closing of any nipple; in words why it is not known, when one was opened and not closed."""
    return case.once("last close", lambda: _last_close(case))


def _last_close(case: Case) -> Mark | str:
    openings = case.timeline.openings
    if not any(one.closed is not None for one in openings):
        return "no entry says that any nipple was closed"
    unended = [one for one in openings if one.closed is None]
    if unended:
        one, name = unended[0], case.nipple(unended[0].nipple).name
        early = case.timeline.closed_early(one.nipple, one.pass_id)
        return f"{spell(early)} closes {name} before it was opened" if early else f"no entry closes {name}"
    if case.untouched:
        return f"no entry says what was done at {case.untouched[0].id}"
    if void := left(case):
        return void
    return sequence.last(case, [sequence.closed(one) for one in openings], "the last nipple was closed")
