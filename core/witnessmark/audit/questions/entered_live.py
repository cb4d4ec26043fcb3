"""28: were entries made as the work was done? How late each came, and how many came at once."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import say
from witnessmark.audit.case import NS, SILENT, UNWRITTEN, Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.range import Range, exact
from witnessmark.audit.reconcile import AFTERWARDS
from witnessmark.audit.verdict import Detail, Verdict, from_details, from_sure, no_proof
from witnessmark.journal.entry import Entry

BY_HAND = ("step", "reading", "intent", "outcome", "inspection")
"""Kinds of what a person did, or told: a run that was told is an intent and an outcome by that person."""


def answer(case: Case) -> Verdict:
    entries = [one for one in case.entries if one.kind in BY_HAND and one.done_by.startswith("person:")]
    if not entries:
        return no_proof("no entry by hand")
    details = [detail for one in entries if (detail := _late(case, one)) is not None]
    details += _bursts(case, entries)
    if details:
        return from_details(details, "")
    shop = case.policy
    count = say.counted(len(entries), "entry", "entries")
    lag = f"none later than {shop.lag_s} s after it happened, no {shop.burst} within {shop.burst_s} s"
    text = f"{count} by hand, {lag} (set by the shop, else our choice)"
    return Verdict("met", text, (), tuple(one.seq for one in entries))


def _late(case: Case, entry: Entry) -> Detail | None:
    subject = f"entry {entry.seq}"
    if entry.body.get("step") == UNWRITTEN:
        return Detail(subject, "not met", SILENT, (entry.seq,))
    if entry.occurred.basis in AFTERWARDS:
        return Detail(subject, "not met", "entered afterwards", (entry.seq,))
    lag = exact(case.clock.recorded(entry)).minus(case.clock.occurred(entry))
    if lag.high < 0:
        early = say.length(Range(-lag.high, -lag.low))
        return Detail(subject, "not met", f"made {early} before it happened", (entry.seq,))
    answer = from_sure(lag.at_most(case.policy.lag_s * NS))
    if answer == "met":
        return None
    late = say.length(Range(max(0, lag.low), lag.high))
    return Detail(subject, answer, f"made {late} after it happened", (entry.seq,))


def _bursts(case: Case, entries: Sequence[Entry]) -> list[Detail]:
    """Entries by one person that came faster than anyone works."""
    found: list[Detail] = []
    size, within = case.policy.burst, case.policy.burst_s * NS
    for person in dict.fromkeys(one.entered_by for one in entries):
        mine = [one for one in entries if one.entered_by == person]
        last = -1
        for index in range(len(mine) - size + 1):
            group = mine[index : index + size]
            apart = case.clock.recorded(group[-1]) - case.clock.recorded(group[0])
            if apart <= within and group[0].seq > last:
                last = group[-1].seq
                text = f"{size} entries within {say.seconds(apart)}"
                found.append(Detail(person.partition(":")[2], "no proof", text, tuple(one.seq for one in group)))
    return found


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(28, "entered-live", "Were entries made as the work was done?", answer)]
