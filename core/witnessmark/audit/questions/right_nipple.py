"""7: the right nipple for the wire command? Runs and openings joined through the pass, as they overlapped.

A pass is judged by the run that counts for it, as whether its nipple was open is; of its other runs only what may have
been wrong is told. Which nipples a run is for was shown before it where we sent it; of a run of another tester it is
only what its pass has, and one that it made besides the passes is for the nipples of those that ask for its wire
command. A learned wire command is known to be the right one by its first use, with everything shut.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from witnessmark.audit.case import Case, not_opened
from witnessmark.audit.grounds import first_use, unheard
from witnessmark.audit.grounds.missing import half_recorded, no_run
from witnessmark.audit.grounds.unopened import in_words, missed, over
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Actuation, Opening
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details


def answer(case: Case) -> Verdict:
    if not case.actuating and not case.timeline.actuations:
        return does_not_apply("no pass of this job runs a wire command")
    began = [run for run in case.timeline.actuations if run.began != "no" and not run.first_use]
    judged = ((_besides if run.besides else _run)(case, run) for run in began)
    details = [*(detail for detail in judged if detail is not None), *half_recorded(case)]
    for one in case.actuating:
        runs = case.timeline.actuations_of(one.id)
        if not runs:
            details.append(no_run(case, one))
        elif all(run.began == "no" for run in runs):
            text = f"{one.wire_command} {runs[-1].never}{'' if runs[-1].grade == 'told' else ' and never ran'}"
            details.append(Detail(one.id, "no proof", text, runs[-1].cites))
    details += [*unheard.while_open(case), *first_use.details(case)]
    met = "each wire command ran for its own pass, with no other nipple open"
    return from_details(details, f"{met}{unheard.only_told(case)}")


def _run(case: Case, run: Actuation) -> Detail | None:
    """Return what a run shows; None for one that does not count and had no nipple open that is not its own."""
    one = case.passes.get(run.pass_id)
    if one is None or one.wire_command != run.wire_command:
        asked = f"that pass asks for {one.wire_command or 'none'}" if one else "the procedure has no such pass"
        return Detail(run.pass_id, "not met", f"{run.wire_command} ran, and {asked}", run.cites)
    if run.grade == "sent" and not set(run.nipples) <= set(one.nipples):
        names = listing(case.nipple(name).name for name in run.nipples)
        return Detail(run.pass_id, "not met", f"{run.wire_command} was started for {names}", run.cites)
    if run.ran is None:
        return Detail(run.pass_id, "no proof", f"nothing says whether {run.wire_command} ran", run.cites)
    if (sent := _other_bytes(case, run)) is not None:
        said = f"what was sent as {run.wire_command} is not what the map says of it"
        return Detail(run.pass_id, "not met", said, (*run.cites, sent))
    own: list[Opening] = []
    foreign: list[Opening] = []
    for opening in case.timeline.open_in(run):
        if opening.nipple not in one.nipples:
            foreign.append(opening)
        elif not over(case, opening, run):
            own.append(opening)
    wrong = [
        opening for opening in foreign if not any({opening.nipple, *one.nipples} <= group for group in case.together)
    ]
    if not wrong and run is not case.timeline.run_that_counts(run.pass_id):
        return None
    return _judge(case, run, own, wrong)


def _besides(case: Case, run: Actuation) -> Detail | None:
    """Return what a run of no pass shows; None where no nipple is known to have been open."""
    if run.ran is None:
        return Detail(run.subject, "no proof", f"nothing says whether {run.wire_command} ran", run.cites)
    own = {name for one in case.passes.values() if one.wire_command == run.wire_command for name in one.nipples}
    met = [opening for opening in case.timeline.openings if opening.open.meets(run.ran) != "no"]
    wrong = [opening for opening in met if opening.nipple not in own]
    cites = (*run.cites, *(seq for opening in met for seq in opening.cites))
    sure = [one for one in wrong if one.opened is not None and one.open.meets(run.ran) == "yes"]
    if sure:
        text = f"{_names(case, sure)} was open while another tester ran {run.wire_command}, which is not for it"
        return Detail(run.subject, "not met", text, cites)
    if wrong:
        text = f"{_names(case, wrong)} may have been open while another tester ran {run.wire_command}"
        return Detail(run.subject, "no proof", text, cites)
    if met:
        text = f"{run.wire_command} ran outside its pass, with {_names(case, met)} open, which it is for"
        return Detail(run.subject, "met", text, cites)
    return None


def _judge(case: Case, run: Actuation, own: list[Opening], wrong: list[Opening]) -> Detail:
    assert run.ran is not None
    cites = (*run.cites, *(seq for opening in (*own, *wrong) for seq in opening.cites))
    sure = [one for one in wrong if one.opened is not None and one.open.meets(run.ran) == "yes"]
    if sure:
        names = _names(case, sure)
        return Detail(run.pass_id, "not met", f"{names} was open while {run.wire_command} ran for another", cites)
    if wrong:
        names = _names(case, wrong)
        return Detail(run.pass_id, "no proof", f"{names} may have been open as well", cites)
    if not own:
        return _none_open(case, run, cites)
    shown = {opening.nipple for opening in own if opening.open.meets(run.ran) == "yes"}
    unsure = [name for name in case.nipples_of(run.pass_id) if name not in shown]
    if unsure:
        names = listing(case.nipple(name).name for name in unsure)
        return Detail(run.pass_id, "no proof", f"{names} may have been open or shut at the time", cites)
    for name in case.nipples_of(run.pass_id):
        if against := missed(case, run, name):
            text = f"{case.nipple(name).name} is said to have been open, and {not_opened(against)}"
            return Detail(run.pass_id, "no proof", text, (*cites, *against))
    return Detail(run.pass_id, "met", f"{run.wire_command} ran with its own nipple open", cites)


def _none_open(case: Case, run: Actuation, cites: tuple[int, ...]) -> Detail:
    """Say of a run while which no entry has a nipple of its pass open what is known of each."""
    text = "no entry says that any nipple was open while it ran"
    for name in case.nipples_of(run.pass_id):
        said, seqs = in_words(case, run, name)
        if seqs:
            text, cites = f"{text}; {case.nipple(name).name}: {said}", (*cites, *seqs)
    return Detail(run.pass_id, "no proof", text, cites)


def _names(case: Case, openings: Sequence[Opening]) -> str:
    """Name each nipple once, however often it was opened."""
    return listing(dict.fromkeys(case.nipple(one.nipple).name for one in openings))


def _other_bytes(case: Case, run: Actuation) -> int | None:
    """Return the entry of a start whose bytes are not those of the map's wire command of that name; None for none."""
    known = case.wire_command(run.wire_command).get("start", "")
    if not known:
        return None
    asked = re.compile(re.sub(r"\{\w+\}", "[0-9A-F]{2}", known), re.IGNORECASE)
    starts = (one for one in run.exchanges if one.body.purpose == "start")
    return next((one.seq for one in starts if not asked.fullmatch(one.body.request)), None)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(7, "right-nipple", "The right nipple for the wire command?", answer)]
