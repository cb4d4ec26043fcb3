"""32: who, with what? Every entry by hand names a person, every gauge its instrument, and the documents their digests.

How long an instrument is calibrated is read from `calibrated_until` (a date, YYYY-MM-DD) of the reading where given.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import lru_cache
from hashlib import sha256

from witnessmark.audit.case import CUE_GIVEN, NS, UNEXPLAINED, UNWRITTEN, Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.reconcile import AFTERWARDS
from witnessmark.audit.say import counted, listing
from witnessmark.audit.timeline import by
from witnessmark.audit.verdict import Detail, Verdict, from_details, no_proof
from witnessmark.journal.canonical import encode_plain
from witnessmark.journal.entry import Entry
from witnessmark.procedure import own
from witnessmark.procedure.load import digest
from witnessmark.range import Sure

READY = own.READY
"""The step by which a second person says that they are ready at the wheel."""
HANDS = own.HANDS
"""The step by which a person is said to have the work in hand from then on: nothing is done by it yet."""
BY_HAND = ("step", "reading")
NOBODY = (CUE_GIVEN, UNWRITTEN, UNEXPLAINED, HANDS, own.WITNESSED)
"""Steps that say of nobody that they did anything."""
MEASURED = ("feed-pressure", "torque", "wheel-torque", "voltage", "boiling-point", "water")
"""Readings off an instrument; volumes, levels and ages are read off a bottle, a mark or a label."""

HOUR_NS, DAY_NS = 3600 * NS, 86400 * NS
WEST_NS, EAST_NS = 12 * HOUR_NS, 14 * HOUR_NS
"""How far the clocks of the world lie behind and before UTC (from memory)."""
EPOCH = date(1970, 1, 1).toordinal()


def answer(case: Case) -> Verdict:
    nobody = case.timeline.ours.intersection(NOBODY)
    entries = [one for one in case.entries if one.kind in BY_HAND and one.body.get("step") not in nobody]
    if not entries:
        return no_proof("no entry by hand")
    details = [_documents(case), _people(entries), *_second(case), *_second_steps(case, entries)]
    measured = [one for one in entries if one.kind == "reading" and one.body.get("what") in MEASURED]
    details += [_instrument(*each) for each in by(measured, lambda one: str(one.body["what"])).items()]
    return from_details(details, "people, instruments and documents are named, and every instrument is in date")


def _documents(case: Case) -> Detail:
    cites = (case.opened_seq,)
    if case.opened.procedure_digest != digest(case.procedure):
        return Detail("procedure", "not met", "its digest is not that of the copy in the record", cites)
    runs = case.timeline.actuations
    sent = any(run.grade == "sent" for run in runs) if runs else case.opened.grade == "sent"
    if case.actuating and sent and not case.opened.map_digest:
        return Detail("protocol map", "no proof", "wire commands were sent and no digest of a map is given", cites)
    if case.opened.map is not None and case.opened.map_digest != sha256(encode_plain(case.opened.map)).hexdigest():
        return Detail("protocol map", "not met", "its digest is not that of the copy in the record", cites)
    return Detail("documents", "met", "digests of procedure and map are in the record", cites)


def _people(entries: Sequence[Entry]) -> Detail:
    who = dict.fromkeys(one.done_by for one in entries)
    if not all(one.startswith("person:") for one in who):
        nameless = [one.seq for one in entries if not one.done_by.startswith("person:")]
        return Detail(
            "people",
            "no proof",
            f"{counted(len(nameless), 'entry', 'entries')} by hand without a person's name",
            tuple(nameless),
        )
    return Detail("people", "met", ", ".join(one.partition(":")[2] for one in who), tuple(one.seq for one in entries))


def _second(case: Case) -> Iterator[Detail]:
    """For each run of a pass for two people: somebody else said before it that they were ready at the wheel."""
    two = {one.id for one in case.plan if one.two_people}
    starters = {entry.seq: entry.entered_by for entry in case.of_kind("intent")}
    doers = {entry.seq: entry.done_by for entry in case.entries} if two else {}
    for run in case.timeline.actuations:
        if run.pass_id not in two or run.began == "no":
            continue
        said = case.timeline.said(READY, run.pass_id)
        ready = [act.seq for act in said if act.act != "read" and act.seq < run.seq]
        others = [seq for seq in ready if doers[seq] != starters.get(run.seq)]
        if others:
            yield Detail(run.pass_id, "met", "a second person was ready at the wheel", (others[-1], run.seq))
        else:
            yield Detail(run.pass_id, "no proof", "no entry of a second person ready at the wheel", (*ready, run.seq))


def _second_steps(case: Case, entries: Sequence[Entry]) -> Iterator[Detail]:
    """For each step of a second person: somebody else did the step by hand that stands beside it in the record."""
    one = case.procedure
    groups = (one.steps_before, one.steps_before_each_pass, one.steps_after_each_pass, one.steps_after)
    seconds = {step.id for group in groups for step in group if step.person == "second"}
    if not seconds:
        return
    last: Entry | None = None
    waiting: list[Entry] = []
    for entry in entries:
        if entry.body.get("step") not in seconds:
            for earlier in waiting:
                yield _apart(case, earlier, entry)
            last, waiting = entry, []
        elif entry.body.get("act") != "skipped":
            if last is None:
                waiting.append(entry)
            else:
                yield _apart(case, entry, last)
    for alone in waiting:
        subject = case.step_text(str(alone.body["step"])) or str(alone.body["step"])
        text = "asked of a second person, and no entry beside it says who else was there"
        yield Detail(subject, "no proof", text, (alone.seq,))


def _apart(case: Case, entry: Entry, beside: Entry) -> Detail:
    name, who = str(entry.body["step"]), entry.done_by.partition(":")[2]
    subject, cites = case.step_text(name) or name, (entry.seq, beside.seq)
    if entry.done_by == beside.done_by:
        return Detail(subject, "no proof", f"asked of a second person, and by {who} like the step beside it", cites)
    return Detail(subject, "met", f"by {who}, a second person", cites)


def _instrument(name: str, readings: Sequence[Entry]) -> Detail:
    subject = name.replace("-", " ")
    nameless = [one.seq for one in readings if not one.body.get("instrument")]
    if nameless:
        return Detail(
            subject, "no proof", f"no instrument named in {len(nameless)} of {len(readings)}", tuple(nameless)
        )
    ends = {one.seq: _over_ns(str(one.body.get("calibrated_until", ""))) for one in readings}
    late = {one.seq: _after(one, over_ns) for one in readings if (over_ns := ends[one.seq]) is not None}
    overdue = [seq for seq, sure in late.items() if sure == "yes"]
    if overdue:
        names = listing(dict.fromkeys(str(one.body["instrument"]) for one in readings if one.seq in overdue))
        return Detail(subject, "not met", f"{names} was out of calibration", tuple(overdue))
    unsure = [seq for seq, sure in late.items() if sure == "maybe"]
    if unsure:
        text = "it was read about when its calibration ended: whether before is within the uncertainty"
        return Detail(subject, "no proof", text, tuple(unsure))
    unknown = [one.seq for one in readings if ends[one.seq] is None]
    if unknown:
        text = "nobody recorded until when its instrument is calibrated"
        return Detail(subject, "no proof", text, tuple(unknown))
    names = listing(dict.fromkeys(str(one.body["instrument"]) for one in readings))
    return Detail(subject, "met", f"{names}, in date", tuple(one.seq for one in readings))


@lru_cache(64)
def _over_ns(until: str) -> int | None:
    """Return when that day is over in UTC, in ns since 1970; None where it is no date, or none that can be read."""
    try:
        return (date.fromisoformat(until).toordinal() + 1 - EPOCH) * DAY_NS
    except ValueError:
        return None


def _after(entry: Entry, over_ns: int) -> Sure:
    """Say whether it was read after a day that is over in UTC then, wherever the shop is: 12 h behind, or 14 h before.

    A time that was typed counts as it was typed, every other as it was written.
    """
    typed = entry.occurred.basis in AFTERWARDS
    first, last = (entry.occurred.from_ns, entry.occurred.to_ns) if typed else (entry.recorded.wall_ns,) * 2
    return "yes" if first - WEST_NS >= over_ns else "no" if last + EAST_NS < over_ns else "maybe"


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(32, "who", "Who did it, and with what?", answer)]
