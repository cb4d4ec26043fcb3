"""15: could the reservoir run dry? What ran out since the last filling, against what was in it then.

What was in it is what the record shows (`stock`): the level as it was read, what was taken out and filled in, as sure
as the procedure's tolerance of such sums; where nothing of that was read, what it holds until it draws air. What it
then took to fill it up to the mark tells as well how low it stood.

That it ran empty while the work was done, as somebody said, decides: not met, and named is what was begun before and
not done again after it, opened and, where a wire command belongs to it, run (common practice, no source: air goes into
every line). Of a visit whose bottle nobody read nothing is known: what was read then is the least that ran out, and
what was left may have been nothing. A bottle that was at once read again may have been read twice or have filled twice:
the least counts it once, the most each time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from witnessmark import quantity
from witnessmark.audit import unwatched
from witnessmark.audit.bottles import end_of, left_unread, read_with, was_read
from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.moments import Moments
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.stock import (
    TAKEN,
    Reservoir,
    Stock,
    Volume,
    lacks,
    lasting_by_entry,
    open_at,
    readings_between,
    reservoir,
)
from witnessmark.audit.timeline import Act, Gauge, Opening, by
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof, worst
from witnessmark.audit.volumes import counting, impossible, in_ml

TINY_ML = 1e-9
"""What two sums of volumes may differ by through arithmetic alone."""

DRY = "it may have run dry"
FILLING = "the filling"
Ran = tuple[Gauge, int, int]
"""A volume that was read, with the entries from and to which it ran out."""


@dataclass(frozen=True, slots=True)
class _Since:
    """What ran `out` after an entry that says how much was in it, its `readings`, and the visits nobody read."""

    start: int
    what: str
    stock: Stock
    out: Volume
    readings: tuple[Gauge, ...]
    silent: Mapping[str, int]

    @property
    def subject(self) -> str:
        return f"{self.what.removeprefix('the ')}, entry {self.start}"


@dataclass(frozen=True, slots=True)
class _Again:
    """The next filling up to the mark, where it took so much, in mL, that nothing may have been `left` before it."""

    seq: int
    ml: float
    left: Volume


def answer(case: Case) -> Verdict:
    said = [_ran_empty(case, act) for act, _ in unwatched.of(case).empty]
    if said:
        return from_details(said, "")
    if not case.procedure.reservoir:
        return does_not_apply("the procedure does not say what the reservoir holds")
    filled = sorted(
        {act.seq for act in case.timeline.acts_affecting("refill")}
        | {one.seq for one in case.timeline.readings("volume-in")}
    )
    if not filled:
        empty = case.unread("refill")
        text = f"that the reservoir was filled is {SILENT}" if empty else "no entry says that the reservoir was filled"
        return no_proof(text, *empty)
    if case.timeline.openings and (case.timeline.openings[0].opened or 0) < filled[0]:
        return no_proof("a nipple was opened before the reservoir was recorded as filled", filled[0])
    read = {one.seq: one for one in readings_between(case, filled[0])}
    bounds = [*sorted({*filled, *read}), case.entries[-1].seq + 1]
    ran = Moments(_ran(case), lambda one: (min(one[1:]), max(one[1:])))
    begun = [one for one in case.timeline.openings if one.opened is not None]
    opened = Moments(begun, lambda one: (one.opened or 0, one.opened or 0))
    unread = lasting_by_entry(one for one in begun if not was_read(case, one))
    details: list[Detail] = []
    stock, tank = reservoir(case).at_first(filled[0])
    for start, end in pairwise(bounds):
        if start in read:
            stock = tank.after(stock, read[start])
        elif start != filled[0]:
            stock, tank = tank.filled(stock, start, sure=not open_at(case, start))
        near = ran.within(start, end)
        out = _out(case, near, start, end)
        visits = {one.pass_id: one for one in opened.within(start, end) if start < (one.opened or 0) < end}
        silent = _silent(case, visits, _between(near, start, end))
        silent = {one.pass_id: one.opened or 0 for one in unread.within(start + 1, end - 1)} | silent
        if start not in read or near or silent:
            since = _Since(start, _name(read.get(start)), stock, out, tuple(_between(near, start, end)), silent)
            details.append(_judge(case, since, _again(case, tank, start, end) if visits and end in filled else None))
        stock = stock.less(out)
        stock = replace(stock, low=0.0, ml=None) if silent else stock
    details += [Detail(one.id, "no proof", f"no entry of what was done at {one.id}") for one in case.untouched]
    details += list(_unopened(case))
    answer = worst(one.answer for one in details)
    decides = next(one for one in details if one.answer == answer)
    return Verdict(answer, decides.text, tuple(details))


def _ran_empty(case: Case, act: Act) -> Detail:
    """Judge that the reservoir was said to have run empty: was each visit that was begun before done again?"""
    visits = by(case.timeline.openings, lambda one: (one.pass_id, one.nipple))
    begun = {name: all_of for name, all_of in visits.items() if any((one.opened or 0) < act.seq for one in all_of)}
    runs = by((run for run in case.timeline.actuations if run.seq > act.seq), lambda run: run.pass_id)
    left: dict[str, None] = {}
    again: list[int] = []
    for (pass_id, nipple), all_of in begun.items():
        opened = [one.opened for one in all_of if (one.opened or 0) > act.seq and one.opened is not None]
        again += [*opened, *(seq for run in runs.get(pass_id, ()) for seq in run.cites)]
        asked = case.passes[pass_id].wire_command if pass_id in case.passes else ""
        if asked and not any(run.began == "yes" for run in runs.get(pass_id, ())):
            left[pass_id] = None
        elif not opened:
            left[_called(case, pass_id, nipple)] = None
    then = f"no entry shows that {listing(left)} {'was' if len(left) == 1 else 'were'} done again after it"
    then = then if left else "each pass begun before was done again after it"
    return Detail(f"ran empty, entry {act.seq}", "not met", then, (act.seq, *again))


def _unopened(case: Case) -> Iterator[Detail]:
    """Name each visit of which a nipple was closed, nothing says when it was opened, and nobody read what ran out."""
    for one in case.timeline.openings:
        if one.opened is None and not was_read(case, one):
            where = one.pass_id or case.nipple(one.nipple).name
            text = f"no entry of how much ran out at {where}, nor of when its nipple was opened"
            yield Detail(where, "no proof", text, one.cites)


def _called(case: Case, pass_id: str, nipple: str) -> str:
    """Name what was not done again: a pass, and of one with several nipples which."""
    name = case.nipple(nipple).name
    return pass_id if len(case.nipples_of(pass_id)) == 1 else f"{name} of {pass_id}" if pass_id else name


def _ran(case: Case) -> list[Ran]:
    """Return each volume read, and the entries between which it ran out.

    It ran out in what was open since the bottle was read before; nothing was, then it was read once more.
    """
    kept = (one for one in case.timeline.openings if not (end := end_of(case, one)) or not end.left)
    visits = by(kept, lambda one: read_with(case, one.pass_id))
    before: dict[tuple[str, str], tuple[int, tuple[int, int]]] = {}
    found: list[Ran] = []
    for one in case.timeline.readings("volume"):
        since, span = before.get((one.pass_id, one.nipple), (0, None))
        of_it = [
            each
            for each in visits.get(one.pass_id, ())
            if since < (each.closed or one.seq) and (each.opened or 0) < one.seq
        ]
        if span is None or of_it:
            span = _span(of_it or visits.get(one.pass_id, ()), one.seq)
            span = (_with_unread(case, found[-1][0].seq if found else 0, one, span[0]), span[1])
        before[one.pass_id, one.nipple] = one.seq, span
        found.append((one, *span))
    return found


def _with_unread(case: Case, since: int, one: Gauge, first: int) -> int:
    """Return from which entry on what was read may have run out: a bottle left unread before may have gone into it."""
    places = {act.pass_id for act in left_unread(case) if since < act.seq < one.seq}
    if not places:
        return first
    opened = (each.opened for each in case.timeline.openings if read_with(case, each.pass_id) in places)
    return min((first, *(seq for seq in opened if seq is not None)))


def _span(openings: Sequence[Opening], read: int) -> tuple[int, int]:
    """Return the entries from the first opening to the last closing of what was `read` then."""
    opened = [one.opened for one in openings if one.opened is not None]
    closed = [one.closed for one in openings if one.closed is not None]
    last = max(closed, default=read)
    return min(opened, default=read), max(last, read) if len(closed) < len(openings) else last


def _between(ran: Sequence[Ran], start: int, end: int) -> list[Gauge]:
    """Return what was read of what ran out from one filling to the next, in part or all of it."""
    return [one for one, first, last in ran if first < end and last > start]


def _out(case: Case, ran: Sequence[Ran], start: int, end: int) -> Volume:
    """Return in mL what ran out from one filling to the next: what must have, and all that may have."""
    sure = [one for one, first, last in ran if start < first and last < end]
    return Volume(in_ml(counting(case, sure)), in_ml(_between(ran, start, end)))


def _judge(case: Case, since: _Since, again: _Again | None) -> Detail:
    """Judge what ran out after one filling, or after its level was read, and before the next."""
    start, stock, out, silent = since.start, since.stock, since.out, since.silent
    if (wrong := impossible(since.readings)) is not None:
        return Detail(since.subject, "no proof", *wrong)
    cites = (start, *stock.cites, *(one.seq for one in since.readings), *(() if again is None else (again.seq,)))
    cites = tuple(dict.fromkeys(cites))
    if silent:
        most, ran_out = "at least ", quantity.plain(out.low)
    else:
        most, ran_out = "" if out.low == out.high else "at most ", quantity.plain(out.high)
    text = f"{most}{ran_out} mL ran out after {since.what} of entry {start}, "
    text += stock.spell(case.procedure.balance_tolerance)
    took = "" if again is None else f"to fill it up to the mark again took {quantity.plain(again.ml)} mL"
    took += "" if again is None else f" (entry {again.seq})"
    short = out.high > stock.low + TINY_ML
    more = again is not None and again.left.high < -TINY_ML and (short or silent)
    if out.low > stock.most + TINY_ML or more:
        return Detail(since.subject, "not met", f"{text}{took and '; '}{took}", cites)
    if silent:
        missing = f"no entry of how much ran out at {listing(silent)}"
        said = f"{missing}; {text}" if out.low > 0 else missing
        unread = (*cites, *silent.values(), *_left_unread(case, silent))
        return Detail(since.subject, "no proof", f"{said}{took and '; '}{took}", unread)
    if short:
        why = _unsure(case, since)
        return Detail(since.subject, "no proof", f"{text}; {why}{took and ': '}{took}", cites)
    if took:
        return Detail(since.subject, "no proof", f"{text}; {DRY}: {took}", cites)
    return Detail(since.subject, "met", text, cites)


def _unsure(case: Case, since: _Since) -> str:
    """Say why what ran out may be more than there was."""
    start, stock, out = since.start, since.stock, since.out
    again = in_ml(since.readings) - in_ml(counting(case, since.readings))
    if again and out.high - again <= stock.low + TINY_ML:
        return f"{quantity.plain(out.high - again)} mL if what was at once read again does not count"
    if stock.ml is None and out.low > stock.high + TINY_ML:
        return f"such sums are sure to {case.procedure.balance_tolerance} either way; {DRY}"
    if since.what != FILLING:
        return DRY
    why = lacks(case, start)
    if why and (out.low > stock.low + TINY_ML or not open_at(case, start)):
        return f"it may have held no more than {quantity.plain(stock.low)} mL, for {why}"
    if open_at(case, start):
        return "it was filled while a nipple was open, and how much had run out by then is not recorded"
    return DRY


def _silent(case: Case, visits: Mapping[str, Opening], readings: Sequence[Gauge]) -> dict[str, int]:
    """Return the visits whose bottle none of the readings after their last opening is of, with that opening."""
    last = {one.pass_id: one.seq for one in readings}
    opened = {name: one.opened or 0 for name, one in visits.items()}
    return {name: seq for name, seq in opened.items() if last.get(read_with(case, name), -1) < seq}


def _name(read: Gauge | None) -> str:
    """Name what says how much was in it."""
    return FILLING if read is None else "the level" if read.what == "level" else "the drawing off"


def _again(case: Case, tank: Reservoir, start: int, end: int) -> _Again | None:
    """Return the filling at `end` where what it took shows that what was in it since `start` may have run out.

    It shows nothing of that where some was taken out besides, or still ran out of a nipple meanwhile.
    """
    drawn, took = case.timeline.gauge(start), tank.took(end)
    emptied = any(start < act.seq < end for act in case.timeline.acts_affecting("empty"))
    if took is None or emptied or open_at(case, end) or (drawn is not None and drawn.what in TAKEN):
        return None
    return _Again(end, *took) if took[1].low <= TINY_ML else None


def _left_unread(case: Case, silent: Mapping[str, int]) -> list[int]:
    """Return the entries that say that the bottles of these visits were not read."""
    places = {read_with(case, name) for name in silent}
    return [act.seq for act in left_unread(case) if act.pass_id in places]


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(15, "reservoir", "Was the reservoir kept from running dry?", answer)]
