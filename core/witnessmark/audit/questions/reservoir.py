"""15: could the reservoir run dry? What ran out since the last filling, against what it holds until it draws air.

That it ran empty while the work was done, as somebody said, decides: not met, and named is what was begun before and
not done again after it, opened and, where a wire command belongs to it, run (common practice, no source: air goes into
every line). Of a visit whose bottle nobody read nothing is known: what was read then is the least that ran out, and
what was left may have been nothing. A bottle that was at once read again may have been read twice or have filled twice:
the least counts it once, the most each time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from witnessmark import quantity
from witnessmark.audit import unwatched
from witnessmark.audit.bottles import end_of, left_unread, read_with, was_read
from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.moments import Moments
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Act, Gauge, Opening, by
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof, worst
from witnessmark.audit.volumes import counting, impossible, in_ml
from witnessmark.procedure import own

LAST = 1 << 62
"""After every entry."""
SAID_FILLED = own.SAID_FILLED
"""The step by which it is said beside the walk that it was filled: up, where no volume is written."""
TINY_ML = 1e-9
"""What two sums of volumes may differ by through arithmetic alone."""

Ran = tuple[Gauge, int, int]
"""A volume that was read, with the entries from and to which it ran out."""


@dataclass(frozen=True, slots=True)
class Range:
    """A volume in mL that is not known better than between two bounds."""

    low: float
    high: float


def answer(case: Case) -> Verdict:
    said = [_ran_empty(case, act) for act, _ in unwatched.of(case).empty]
    if said:
        return from_details(said, "")
    if not case.procedure.reservoir:
        return does_not_apply("the procedure does not say what the reservoir holds")
    holds = quantity.convert(quantity.parse(case.procedure.reservoir, place="reservoir"), "mL")
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
    bounds = [*filled, case.entries[-1].seq + 1]
    ran = Moments(_ran(case), lambda one: (min(one[1:]), max(one[1:])))
    begun = [one for one in case.timeline.openings if one.opened is not None]
    opened = Moments(begun, lambda one: (one.opened or 0, one.opened or 0))
    unread = _lasting(one for one in begun if not was_read(case, one))
    details: list[Detail] = []
    stock = Range(_at_first(case, filled[0], holds), holds)
    for start, end in pairwise(bounds):
        if details:
            more = _filled_in(case, start, holds)
            least, most = (min(holds, max(0.0, one) + more) for one in (stock.low, stock.high))
            stock = Range(least if _lacks(case, start) or _open_at(case, start) else most, most)
        near = ran.within(start, end)
        out = _out(case, near, start, end)
        visits = {one.pass_id: one for one in opened.within(start, end) if start < (one.opened or 0) < end}
        silent = _silent(case, visits, _between(near, start, end))
        silent = {one.pass_id: one.opened or 0 for one in unread.within(start + 1, end - 1)} | silent
        details.append(_since(case, start, silent, stock, out, _between(near, start, end)))
        stock = Range(0.0 if silent else stock.low - out.high, stock.high - out.low)
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


def _out(case: Case, ran: Sequence[Ran], start: int, end: int) -> Range:
    """Return in mL what ran out from one filling to the next: what must have, and all that may have."""
    sure = [one for one, first, last in ran if start < first and last < end]
    return Range(in_ml(counting(case, sure)), in_ml(_between(ran, start, end)))


def _at_first(case: Case, seq: int, full: float) -> float:
    """Return the least it held after the first filling: all where it was filled up, else what went in."""
    return full if _filled_up(case, seq) else max(0.0, min(full, _filled_in(case, seq, full)))


def _filled_up(case: Case, seq: int) -> bool:
    """Whether an entry says that it was filled up; one said beside the walk that gives its volume does not."""
    read = case.timeline.gauge(seq)
    said = case.timeline.ours.intersection((SAID_FILLED,))
    beside = read is not None and read.what == "volume-in" and read.step in said
    return not beside and any(act.seq == seq for act in case.timeline.acts_affecting("refill"))


def _filled_in(case: Case, seq: int, full: float) -> float:
    """Return how much was filled in by an entry; one that gives no volume says that it was filled up."""
    read = case.timeline.gauge(seq)
    return in_ml([read]) if read is not None and read.what == "volume-in" else full


def _since(
    case: Case, start: int, silent: Mapping[str, int], stock: Range, out: Range, readings: Sequence[Gauge]
) -> Detail:
    """Judge one filling, after which it held `stock` in mL, by what ran `out` after it and before the next.

    `readings` are of that, in part or all of it; at the `silent` visits nobody read how much it was.
    """
    subject = f"filling, entry {start}"
    if (wrong := impossible(readings)) is not None:
        return Detail(subject, "no proof", *wrong)
    cites = (start, *(one.seq for one in readings))
    ran_out, held = quantity.plain(out.high), quantity.plain(stock.high)
    if silent:
        most, ran_out = "at least ", quantity.plain(out.low)
    else:
        most = "" if out.low == out.high else "at most "
    text = f"{most}{ran_out} mL ran out after the filling of entry {start}, the reservoir held at most {held} mL"
    if out.low > stock.high + TINY_ML:
        return Detail(subject, "not met", text, cites)
    if silent:
        missing = f"no entry of how much ran out at {listing(silent)}"
        said = f"{missing}; {text}" if out.low > 0 else missing
        return Detail(subject, "no proof", said, (*cites, *silent.values(), *_left_unread(case, silent)))
    if out.high > stock.low + TINY_ML:
        lacks = _lacks(case, start)
        why = "it was filled while a nipple was open, and how much had run out by then is not recorded"
        again = in_ml(readings) - in_ml(counting(case, readings))
        if again and out.high - again <= stock.low + TINY_ML:
            why = f"{quantity.plain(out.high - again)} mL if what was at once read again does not count"
        elif lacks and (out.low > stock.low + TINY_ML or not _open_at(case, start)):
            why = f"it may have held no more than {quantity.plain(stock.low)} mL, for {lacks}"
        return Detail(subject, "no proof", f"{text}; {why}", cites)
    return Detail(subject, "met", text, cites)


def _lacks(case: Case, seq: int) -> str:
    """Say why a filling does not show that it was full then; empty where it does."""
    if not _filled_up(case, seq):
        return "nobody said that it was filled up"
    return "" if _filled_in(case, seq, 1.0) > 0 else "nothing went in"


def _silent(case: Case, visits: Mapping[str, Opening], readings: Sequence[Gauge]) -> dict[str, int]:
    """Return the visits whose bottle none of the readings after their last opening is of, with that opening."""
    last = {one.pass_id: one.seq for one in readings}
    opened = {name: one.opened or 0 for name, one in visits.items()}
    return {name: seq for name, seq in opened.items() if last.get(read_with(case, name), -1) < seq}


def _lasting(openings: Iterable[Opening]) -> Moments[Opening]:
    """Return openings by the entries from which to which they lasted."""
    return Moments(openings, lambda one: (one.opened or 0, LAST if one.closed is None else one.closed))


def _open_at(case: Case, seq: int) -> bool:
    """Whether a nipple stood open as this entry was made."""
    lasting = case.once("openings-by-entry", lambda: _lasting(case.timeline.openings))
    return bool(lasting.within(seq, seq))


def _left_unread(case: Case, silent: Mapping[str, int]) -> list[int]:
    """Return the entries that say that the bottles of these visits were not read."""
    places = {read_with(case, name) for name in silent}
    return [act.seq for act in left_unread(case) if act.pass_id in places]


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(15, "reservoir", "Was the reservoir kept from running dry?", answer)]
