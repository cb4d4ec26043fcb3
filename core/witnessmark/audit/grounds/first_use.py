"""The first use of a learned wire command: was it guarded, and its result entered before a pass used it?

A case flows in, details flow out. Rules that hold here: a first use is guarded when a lead was present, each of its
questions was answered yes and no nipple was open; a pass that used a learned wire command rests on a first use that
worked and stands before it in the record. One that stands in another job's record is no proof here.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit.case import Case
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail
from witnessmark.journal import bodies

ASKED = ("first-nipples-shut", "first-wheels-clear", "first-second-person")


def details(case: Case) -> Iterator[Detail]:
    """Return a detail for each first use, and for each run of a pass with a learned wire command that we sent."""
    for run in case.timeline.actuations:
        if run.first_use and run.began != "no":
            yield _guarded(case, run)
        elif run.learned and run.grade == "sent" and run.began != "no":
            yield _rests_on(case, run)


def _guarded(case: Case, run: Actuation) -> Detail:
    armed = [(seq, body) for seq, body in case.all_of(bodies.Armed) if seq < run.seq and not body.pass_id]
    if not armed:
        return Detail(run.subject, "no proof", "no entry says what was asked before it", run.cites)
    seq, body = armed[-1]
    cites = (*run.cites, seq)
    missing = [name for name in ASKED if body.answers.get(name) is not True]
    if not body.lead or missing:
        what = "no lead was present" if not body.lead else f"not answered yes: {', '.join(missing)}"
        return Detail(run.subject, "not met", what, cites)
    if run.ran is None:
        return Detail(run.subject, "no proof", f"nothing says whether {run.wire_command} ran", cites)
    opened = case.timeline.open_in(run)
    if opened:
        sure = any(one.open.meets(run.ran) == "yes" for one in opened)
        cites = (*cites, *(seq for one in opened for seq in one.cites))
        return Detail(run.subject, "not met" if sure else "no proof", "a nipple was, or may have been, open", cites)
    entered = [(number, one) for number, one in case.all_of(bodies.FirstUse) if one.actuation == run.seq]
    if not entered:
        return Detail(run.subject, "no proof", "nobody entered what was seen of it", cites)
    number, result = entered[-1]
    text = f"everything shut, {body.lead} present; {_WORDS[result.result]}: {result.said}"
    return Detail(run.subject, "met", text, (*cites, number))


def _rests_on(case: Case, run: Actuation) -> Detail:
    subject = f"{run.subject}, learned {run.wire_command}"
    mine = [(seq, one) for seq, one in case.all_of(bodies.FirstUse) if one.wire_command == run.wire_command]
    before = [(seq, one) for seq, one in mine if seq < run.seq]
    if before and before[-1][1].result == "worked":
        return Detail(subject, "met", "its first use worked, as entered before", (*run.cites, before[-1][0]))
    if mine:
        return Detail(
            subject, "not met", "it ran before a first use that worked was entered", (*run.cites, mine[-1][0])
        )
    text = "learned here, not published by the maker; no first use of it stands in this job's record"
    return Detail(subject, "no proof", text, run.cites)


_WORDS = {"worked": "worked as expected", "failed": "did not work as expected", "unsure": "nobody was sure"}
