"""28: were entries made as the work was done? How late each came, and how many came at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from witnessmark.audit import say
from witnessmark.audit.case import NO_REASON, NS, SILENT, UNEXPLAINED, UNWRITTEN, Case
from witnessmark.audit.cited import spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.reconcile import AFTERWARDS
from witnessmark.audit.timeline import by
from witnessmark.audit.verdict import Detail, Verdict, from_details, from_sure, no_proof
from witnessmark.journal.entry import Entry
from witnessmark.range import Range, exact

BY_HAND = ("step", "reading", "intent", "outcome", "inspection")
"""Kinds of what a person did, or told: a run that was told is an intent and an outcome by that person."""
KEYED_IN = ("scan", "condition")
EMPTY = {UNWRITTEN: SILENT, UNEXPLAINED: NO_REASON}
"""The steps by which an entry says what a card leaves empty, each with what it says."""


def answer(case: Case) -> Verdict:
    entries = [one for one in case.entries if _by_hand(one) and one.done_by.startswith("person:")]
    if not entries:
        return no_proof("no entry by hand")
    details = [detail for one in entries if (detail := _late(case, one)) is not None]
    details += _bursts(case, entries)
    if details:
        return _together(from_details(details, ""))
    shop = case.policy
    count = say.counted(len(entries), "entry", "entries")
    lag = f"none later than {shop.lag_s} s after it happened, no {shop.burst} within {shop.burst_s} s"
    text = f"{count} by hand, {lag} (set by the shop, else our choice)"
    return Verdict("met", text, (), tuple(one.seq for one in entries))


def _by_hand(one: Entry) -> bool:
    """Whether an entry says what a person did, or was keyed in as what they read off another tester."""
    return one.kind in BY_HAND or (one.kind in KEYED_IN and one.occurred.basis in AFTERWARDS)


def _together(verdict: Verdict) -> Verdict:
    """Return the verdict with the entries of which it says the same named together."""
    said: dict[str, list[int]] = {}
    for one in verdict.details:
        if one.answer == verdict.answer and one.subject.startswith("entry "):
            said.setdefault(one.text, []).extend(one.cites)
    others = [one for one in verdict.details if one.answer == verdict.answer and one.text not in said]
    each = [
        *(f"{spell(seqs)}: {text}" for text, seqs in said.items()),
        *(f"{one.subject}: {one.text}" for one in others),
    ]
    return replace(verdict, text="; ".join(each))


def _late(case: Case, entry: Entry) -> Detail | None:
    """Return what is wrong with when an entry was made, None for nothing."""
    step = entry.body.get("step")
    if step in EMPTY and step in case.timeline.ours:
        return Detail(f"entry {entry.seq}", "not met", EMPTY[step], (entry.seq,))
    if entry.occurred.basis in AFTERWARDS:
        return Detail(f"entry {entry.seq}", "not met", "entered afterwards", (entry.seq,))
    recorded, occurred = case.clock.recorded(entry), case.clock.occurred(entry)
    most = case.policy.lag_s * NS
    if 0 <= recorded - occurred.low <= most:
        return None
    lag = exact(recorded).minus(occurred)
    if lag.high < 0:
        early = say.length(Range(-lag.high, -lag.low))
        return Detail(f"entry {entry.seq}", "not met", f"made {early} before it happened", (entry.seq,))
    late = say.length(Range(max(0, lag.low), lag.high))
    return Detail(f"entry {entry.seq}", from_sure(lag.at_most(most)), f"made {late} after it happened", (entry.seq,))


def _bursts(case: Case, entries: Sequence[Entry]) -> list[Detail]:
    """Touches at one screen that came faster than anyone works; what each person did of them is named."""
    found: list[Detail] = []
    size, within = case.policy.burst, case.policy.burst_s * NS
    for person, mine in by(entries, lambda one: one.entered_by).items():
        touches = _touches(mine)
        written = [case.clock.recorded(one[0]) for one in touches]
        last = -1
        for index, (first, final) in enumerate(zip(written, written[size - 1 :], strict=False)):
            if final - first <= within and touches[index][0].seq > last:
                group = [one for touch in touches[index : index + size] for one in touch]
                last = group[-1].seq
                text = f"{size} entries within {say.seconds(final - first)}{_each(person, group)}"
                found.append(Detail(_name(person), "no proof", text, tuple(one.seq for one in group)))
    return found


def _touches(entries: Sequence[Entry]) -> list[list[Entry]]:
    """Return the entries of each touch: a touch that says several things gives them all its own time."""
    found: list[list[Entry]] = []
    for one in entries:
        before = found[-1][-1] if found else None
        if before is not None and before.occurred == one.occurred and _at(before) == _at(one):
            found[-1].append(one)
        else:
            found.append([one])
    return found


def _at(entry: Entry) -> tuple[object, ...]:
    """Return what entries of one touch have in common besides their time, which a card has only to the minute."""
    pass_id = "" if entry.occurred.basis == "touch" else entry.body.get("pass_id")
    return entry.kind, entry.body.get("act"), pass_id, entry.done_by


def _each(person: str, group: Sequence[Entry]) -> str:
    """Name whose entries they are, where they are not only those of who was at the screen."""
    each = by(group, lambda one: one.done_by)
    if list(each) == [person]:
        return ""
    said = (f"{spell(one.seq for one in own)} of {_name(who)}" for who, own in each.items())
    return f", entered at the screen of {_name(person)}: {say.listing(said)}"


def _name(person: str) -> str:
    return person.partition(":")[2]


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(28, "entered-live", "Were entries made as the work was done?", answer)]
