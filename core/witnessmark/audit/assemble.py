"""Entries joined into a timeline.

The entries of one job flow in, in the order of the journal, each with its body as it was read. Rules that hold here:
entries are joined by the numbers they name, a nipple's closing with the latest opening of its visit that is still open
and not surely later; what has no end gets an open one, never a guessed one, and a run that was interrupted one that a
later entry bounds (`ends`); a run that we sent is as long as the control unit's own answers in the record say; a kind
of entry that is not known here is left alone, a known one that cannot be read is an error that names it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import msgspec

from witnessmark.audit import ends
from witnessmark.audit.latest import Latest
from witnessmark.audit.reconcile import Reconciled
from witnessmark.audit.session import s3_ns, says_seconds
from witnessmark.audit.timeline import Act, Actuation, Exchange, Gauge, Half, Opening, Timeline
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.procedure.own import OWN
from witnessmark.quantity import Quantity
from witnessmark.range import FOREVER, Range, Span, exact

HEARD_ELSEWHERE = "heard elsewhere"
"""The event of a run of another tester of which only one request is in the record."""
ONLY_END = "its end was heard and its start was not"
"""What it says, after the wire command's name, where that request was the stop."""
NS = 1_000_000_000
Read = tuple[Entry, bodies.Body | None]
"""An entry and its typed body, read once for all who look at it."""


def body_of(entry: Entry) -> bodies.Body | None:
    """Return the typed body, None for a kind without one. Raises InputError naming the entry when it cannot be read."""
    if entry.kind not in bodies.BODIES:
        return None
    try:
        return bodies.from_body(entry.kind, entry.body)
    except msgspec.ValidationError as error:
        raise InputError(
            f"a {entry.kind} cannot be read: {error}", place=f"entry {entry.seq}", hint="use the version that wrote it"
        ) from error


def assemble(read: Sequence[Read], clock: Reconciled, ours: frozenset[str] = OWN) -> Timeline:
    """Return the timeline of one job's entries; `ours` are the steps that the job itself writes."""
    opened = next((body for _, body in read if isinstance(body, bodies.JobOpened)), None)
    work = _Work(clock, (opened.map if opened else None) or {})
    for entry, body in read:
        take = _TAKE.get(type(body))
        if take is not None:
            take(work, entry, body)
    return Timeline(
        start=min(clock.entered.values(), default=0),
        end=max(clock.entered.values(), default=0),
        actuations=tuple(_actuations(work)),
        halves=tuple(work.halves.values()),
        openings=tuple(work.openings),
        acts=tuple(work.acts),
        gauges=tuple(work.gauges),
        exchanges=tuple(work.exchanges),
        pressurised=tuple(_pressurised(work.acts)),
        entered=clock.entered,
        live=frozenset(clock.live),
        ours=ours,
    )


@dataclass(slots=True)
class _Run:
    """What is known of one actuation while the entries are read."""

    entry: Entry
    intent: bodies.Intent
    exchanges: list[Exchange] = field(default_factory=list)
    entries: dict[int, Entry] = field(default_factory=dict)
    keepalive: tuple[Entry, bodies.KeepAlive] | None = None
    outcome: tuple[Entry, bodies.Outcome] | None = None
    again: list[tuple[Entry, bodies.Outcome]] = field(default_factory=list)
    """Outcomes besides the first: it ended no later than the last of them."""


class _Work:
    def __init__(self, clock: Reconciled, unit: Mapping[str, Any]) -> None:
        self.clock = clock
        self.unit = unit
        """The map of the control unit."""
        self.runs: dict[int, _Run] = {}
        self.openings: list[Opening] = []
        self.acts: list[Act] = []
        self.gauges: list[Gauge] = []
        self.exchanges: list[Exchange] = []
        self.looked: list[tuple[int, Latest]] = []
        self.interrupted: set[int] = set()
        self.halves: dict[int, Half] = {}

    def step(self, entry: Entry, body: bodies.StepDone) -> None:
        at = self.clock.occurred(entry)
        self.acts.append(
            Act(
                entry.seq, body.step, body.act, at, body.pass_id, body.nipple, body.affects, body.said, entry.done_by,
                body.answer, body.looked, body.mended,
            )
        )  # fmt: skip
        if body.act == "opened":
            unended = Span(at, Range(at.low, FOREVER))
            self.openings.append(Opening(body.nipple, body.pass_id, unended, entry.seq, None, body.on_cue))
        elif body.act == "closed":
            self.close(entry.seq, body, at)
        if body.act != "skipped":
            self.besides(entry, body, at)

    def besides(self, entry: Entry, body: bodies.StepDone | bodies.Reading, at: Range) -> None:
        """Take in what one touch said besides: each word is an act of its own."""
        mended = body.mended if isinstance(body, bodies.StepDone) else ""
        for word in body.also:
            act = "closed" if word == "closed" else "done"
            affects = "" if word == "closed" else word
            self.acts.append(
                Act(
                    entry.seq, body.step, act, at, body.pass_id, body.nipple, affects, done_by=entry.done_by,
                    mended=mended,
                )
            )  # fmt: skip
            if word == "closed":
                self.close(entry.seq, body, at)

    def close(self, seq: int, body: bodies.StepDone | bodies.Reading, at: Range) -> None:
        for index in range(len(self.openings) - 1, -1, -1):
            one = self.openings[index]
            fits = one.nipple == body.nipple and body.pass_id in ("", one.pass_id)
            if fits and one.closed is None and at.high >= one.open.start.low:
                start = Range(one.open.start.low, min(one.open.start.high, at.high))  # no later than it was closed
                end = Range(max(at.low, start.low), at.high)
                self.openings[index] = msgspec.structs.replace(one, open=Span(start, end), closed=seq)
                return
        unseen = Span(Range(-FOREVER, at.high), at)
        same = (one.pass_id for one in reversed(self.openings) if one.nipple == body.nipple)
        self.openings.append(Opening(body.nipple, body.pass_id or next(same, ""), unseen, None, seq))

    def reading(self, entry: Entry, body: bodies.Reading) -> None:
        amount = Quantity(body.amount.value, body.amount.unit)
        at = self._read_at(entry)
        self.gauges.append(
            Gauge(
                entry.seq, body.what, amount, at, body.step, body.pass_id, body.instrument, body.low, body.high,
                entry.done_by, body.nipple,
            )
        )  # fmt: skip
        if body.affects:
            self.acts.append(
                Act(
                    entry.seq,
                    body.step,
                    "read",
                    at,
                    body.pass_id,
                    body.nipple,
                    body.affects,
                    str(amount),
                    entry.done_by,
                )
            )
        self.besides(entry, body, at)

    def _read_at(self, entry: Entry) -> Range:
        """A value is entered after it was read, so the uncertainty of the touch ends when the entry was made."""
        at, entered = self.clock.occurred(entry), self.clock.recorded(entry)
        return Range(at.low, min(at.high, entered)) if at.low <= entered else at

    def intent(self, entry: Entry, body: bodies.Intent) -> None:
        self.runs[entry.seq] = _Run(entry, body)

    def exchange(self, entry: Entry, body: bodies.ExchangeBody) -> None:
        sent = int(body.sent_mono) if body.sent_mono else entry.recorded.mono_ns
        one = Exchange(entry.seq, self.clock.mono(entry, sent), body)
        self.exchanges.append(one)
        run = None if body.actuation is None else self.runs.get(body.actuation)
        over = run is not None and run.outcome is not None and run.outcome[1].result != "unknown"
        if run is not None and run.outcome is not None and over and body.purpose == "start" and one.positive():
            ended = run.outcome[0].seq
            self.halves[entry.seq] = Half(body.pass_id, (ended, entry.seq), "started again", ended)
        elif run is not None:
            run.exchanges.append(one)
            run.entries[entry.seq] = entry
        elif body.actuation is not None and body.purpose in ("start", "stop"):
            self.no_start(entry.seq, body.actuation, body.pass_id)

    def keepalive(self, entry: Entry, body: bodies.KeepAlive) -> None:
        """Of several of one run the one with the largest gap tells how it was kept."""
        run = self.runs.get(body.actuation)
        if run is None:
            self.no_start(entry.seq, body.actuation)
        elif run.keepalive is None or int(run.keepalive[1].largest_gap_ns) < int(body.largest_gap_ns):
            run.keepalive = (entry, body)

    def outcome(self, entry: Entry, body: bodies.Outcome) -> None:
        run = self.runs.get(body.actuation)
        if run is None:
            self.no_start(entry.seq, body.actuation, body.pass_id)
        elif run.outcome is None:
            run.outcome = (entry, body)
        else:
            run.again.append((entry, body))
            ended = run.outcome[0].seq
            self.halves[entry.seq] = Half(body.pass_id, (ended, entry.seq), "ended again", ended)

    def no_start(self, seq: int, actuation: int, pass_id: str = "") -> None:
        """Take note of an entry of a run that no entry says was started."""
        before = self.halves.get(actuation, Half(pass_id, ()))
        self.halves[actuation] = Half(before.pass_id or pass_id, (*before.cites, seq))

    def interruption(self, entry: Entry, body: bodies.Interrupted) -> None:
        self.interrupted.add(body.actuation)

    def event(self, entry: Entry, body: bodies.LinkEvent) -> None:
        """A run that was heard to end and not to begin may be the last one of its wire command that was heard to."""
        name, _, how = body.detail.partition(", ")
        if (body.what, how) != (HEARD_ELSEWHERE, ONLY_END):
            return
        runs = [run for run in self.runs.values() if (run.intent.grade, run.intent.wire_command) == ("heard", name)]
        if runs:
            self.looked.append((runs[-1].entry.seq, Latest(entry.seq, "stop", self.clock.occurred(entry).high)))

    def inspection(self, entry: Entry, body: bodies.Inspection) -> None:
        if body.safe:
            by, at = entry.done_by.partition(":")[2], self.clock.occurred(entry).high
            self.looked.append((body.actuation, Latest(entry.seq, "looked", at, by)))


_TAKE: dict[type, Any] = {
    bodies.StepDone: _Work.step,
    bodies.Reading: _Work.reading,
    bodies.Intent: _Work.intent,
    bodies.ExchangeBody: _Work.exchange,
    bodies.KeepAlive: _Work.keepalive,
    bodies.Outcome: _Work.outcome,
    bodies.Interrupted: _Work.interruption,
    bodies.Inspection: _Work.inspection,
    bodies.LinkEvent: _Work.event,
}


def _actuations(work: _Work) -> list[Actuation]:
    """Return every run; one whose end is recorded as unknown ends, at the latest, where an entry shows that it had."""
    stops = [
        (name, Latest(seq, "stop", moment))
        for name, run in work.runs.items()
        for seq, moment in _answered(run, work.clock, "stop")
    ]
    runs = [_actuation(run, work.clock) for run in work.runs.values()]
    unknown = work.interrupted | {run.seq for run in runs if run.outcome and run.outcome.result == "unknown"}
    seen = [(name, latest) for name, latest in (*stops, *work.looked) if name in unknown]
    wire = {run.seq: _allowed(work, run) for run in runs if run.seq in unknown and run.ran and run.grade != "told"}
    return ends.bounded(runs, unknown, seen, {name: run.intent.peer for name, run in work.runs.items()}, wire)


def _allowed(work: _Work, one: Actuation) -> int:
    """Return until when a run that nobody saw end may have lasted by the wire alone, as its own entries show."""
    run, clock = work.runs[one.seq], work.clock
    signs = [exchange.at for exchange in one.exchanges]
    signs += [
        clock.mono(run.entries[exchange.seq], int(answer.last_mono))
        for exchange in one.exchanges
        for answer in exchange.body.answers
    ]
    if run.keepalive is not None:
        signs += [
            clock.mono(run.keepalive[0], int(moment)) for moment in run.keepalive[1].at_mono if moment.isdecimal()
        ]
    told = one.seconds.isdecimal() and says_seconds(work.unit, one.wire_command)
    return ends.allowed(one, signs, s3_ns(work.unit), int(one.seconds) * NS if told else 0)


def _actuation(run: _Run, clock: Reconciled) -> Actuation:
    asked = clock.occurred(run.entry)
    outcome = run.outcome[1] if run.outcome else None
    never = outcome is not None and (
        outcome.result == "refused" or (outcome.result == "stopped" and outcome.stop == "not sent")
    )
    if run.intent.grade == "told":
        ran = None if never else _told(run, clock)
    else:
        ran = _witnessed(run, clock)
    if ran is not None and run.again:
        ends_by = max(ran.end.high, *(clock.occurred(entry).high for entry, _ in run.again))
        ran = Span(ran.start, Range(ran.end.low, ends_by))
    return Actuation(
        seq=run.entry.seq,
        pass_id=run.intent.pass_id,
        nipples=run.intent.nipples,
        wire_command=run.intent.wire_command,
        seconds=run.intent.seconds,
        grade=run.intent.grade,
        asked=asked,
        began="yes" if ran else "no" if never else "maybe",
        ran=ran,
        outcome=outcome,
        outcome_seq=run.outcome[0].seq if run.outcome else None,
        exchanges=tuple(run.exchanges),
        keepalive=run.keepalive[1] if run.keepalive else None,
        keepalive_seq=run.keepalive[0].seq if run.keepalive else None,
        learned=run.intent.learned,
        first_use=run.intent.first_use,
    )


def _told(run: _Run, clock: Reconciled) -> Span | None:
    """A person pressed "started" and "ended": both moments are ranges, and it began no later than it ended."""
    start = clock.occurred(run.entry)
    if run.outcome is None:
        return Span(start, Range(start.low, FOREVER))
    if run.outcome[1].result == "refused":
        return None
    end = clock.occurred(run.outcome[0])
    if run.outcome[1].result == "unknown":
        return Span(start, Range(start.low, FOREVER))
    if start.low > end.high:  # the two contradict each other: it ended when it began
        return Span(start, start)
    return Span(Range(start.low, min(start.high, end.high)), Range(max(start.low, end.low), end.high))


def _witnessed(run: _Run, clock: Reconciled) -> Span | None:
    """The run from the bytes: from the positive answer to the start until the one to the stop or the last life sign.

    Where the outcome and the answers give two moments, it is a range between them; what was sent has no start and no
    end without its answer in the record.
    """
    starts, stops = ([moment for _, moment in _answered(run, clock, purpose)] for purpose in ("start", "stop"))
    if run.intent.grade == "sent" and not starts:
        return None
    if run.outcome is None:
        return Span(exact(starts[0]), Range(starts[0], FOREVER)) if starts else None
    entry, outcome = run.outcome
    if not outcome.from_mono or outcome.result == "refused":
        return None
    start = _earlier(_between(clock.mono(entry, int(outcome.from_mono)), *starts[-1:]), outcome.from_late_ns)
    seen = max(start.high, clock.mono(entry, int(outcome.to_mono))) if outcome.to_mono else start.high
    unanswered = run.intent.grade == "sent" and not stops and outcome.result != "failed"
    if not outcome.to_mono or unanswered or outcome.result not in ("completed", "stopped", "failed"):
        return Span(start, Range(seen, FOREVER))
    nearest = [max(start.high, min(stops, key=lambda one: abs(one - seen)))] if stops else []
    end = _earlier(_between(seen, *nearest), outcome.to_late_ns)
    return Span(start, Range(max(start.low, end.low), end.high))


def _answered(run: _Run, clock: Reconciled, purpose: str) -> list[tuple[int, int]]:
    """Return the entry of each request of that purpose that was answered positively, and when."""
    found = ((one.seq, one.positive()) for one in run.exchanges if one.body.purpose == purpose)
    return [(seq, clock.mono(run.entries[seq], int(answer.last_mono))) for seq, answer in found if answer is not None]


def _earlier(at: Range, late_ns: str) -> Range:
    """Return a moment that may have been earlier by as long as it may have waited to be read."""
    return Range(at.low - int(late_ns or 0), at.high)


def _between(*moments: int) -> Range:
    return Range(min(moments), max(moments))


def _pressurised(acts: Sequence[Act]) -> list[tuple[Span, tuple[int, ...]]]:
    """Return when the feed was under pressure by what was done: from each `pressurise` to the next letting off."""
    spans: list[tuple[Span, tuple[int, ...]]] = []
    since: Act | None = None
    for act in acts:
        if not act.done:
            continue
        if act.affects == "pressurise" and since is None:
            since = act
        elif act.affects in ("depressurise", "feed-off") and since is not None:
            end = Range(max(act.at.low, since.at.low), max(act.at.high, since.at.high))
            spans.append((Span(since.at, end), (since.seq, act.seq)))
            since = None
    if since is not None:
        spans.append((Span(since.at, Range(since.at.high, FOREVER)), (since.seq,)))
    return spans
