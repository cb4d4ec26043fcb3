"""15: could the reservoir run dry? What ran out since the last filling, against what was in it then.

What was in it is what the record shows (`stock`): the level as it was read, what was taken out and filled in, as sure
as the procedure's tolerance of such sums; where nothing of that was read, what it holds until it draws air. What it
then took to fill it up to the mark tells as well how low it stood.

That it ran empty while the work was done, as somebody said, decides: not met, and named is what was begun before and
not done again after it, opened and, where a wire command belongs to it, run (common practice, no source: air goes into
every line). Of a visit whose bottle nobody read nothing is known: what was read then is the least that ran out, and
what was left may have been nothing. What stood in it when it was next seen or filled up settles that, where it fits
what was read, was surely after it, and nobody set its level meanwhile without reading by how much. What a line lost
that was opened for a mend nobody read: until it is seen again nothing is known of it. A bottle that was at once read
again may have been read twice or have filled twice: the least counts it once, the most each time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from itertools import pairwise

from witnessmark import quantity
from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.fluid.bottles import end_of, left_unread, read_with, was_read
from witnessmark.audit.fluid.ran_out import Ran, Rest, between, ran_between, ran_out, rest_after
from witnessmark.audit.fluid.stock import (
    TAKEN,
    Reservoir,
    Stock,
    Volume,
    filled_in,
    lacks,
    lasting_by_entry,
    levelled,
    looked,
    open_at,
    readings_between,
    reservoir,
)
from witnessmark.audit.fluid.told_late import out_of_place
from witnessmark.audit.fluid.volumes import counting, impossible, in_ml
from witnessmark.audit.grounds import unwatched
from witnessmark.audit.grounds.mends import every_mend
from witnessmark.audit.moments import Moments
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Act, Gauge, Opening, by
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof, worst

TINY_ML = 1e-9
"""What two sums of volumes may differ by through arithmetic alone."""

DRY = "it may have run dry"
FILLING, MEND, LOOK, SET = "the filling", "the mend", "the look", "the setting of the level"


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

    @property
    def name(self) -> str:
        return f"{self.what} of entry {self.start}"


@dataclass(frozen=True, slots=True)
class _Again:
    """The next filling up to the mark, where it took so much, in mL, that nothing may have been `left` before it."""

    seq: int
    ml: float
    left: Volume


@dataclass(frozen=True, slots=True)
class _Seen:
    """What the next entry that shows it shows of what stood in it before: in `words`, and how much was `left`."""

    seq: int
    words: str
    left: Volume | None


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
    if early := [one.mark.seq for one in every_mend(case) if one.opened and one.mark.seq < filled[0]]:
        return no_proof("a line was opened for a mend before the reservoir was recorded as filled", *early, filled[0])
    details = list(_since_each(case, filled))
    details += [Detail(one.id, "no proof", f"no entry of what was done at {one.id}") for one in case.untouched]
    details += list(_unopened(case))
    answer = worst(one.answer for one in details)
    decides = next(one for one in details if one.answer == answer)
    return Verdict(answer, decides.text, tuple(details))


def _since_each(case: Case, filled: Sequence[int]) -> Iterator[Detail]:
    """Judge what ran out after each filling, level, setting of it, mend and look up to the next of them."""
    mended = {one.mark.seq for one in every_mend(case) if one.opened}
    read = {one.seq: one for one in readings_between(case, filled[0], mended=bool(mended))}
    looks = {seq for seq in looked(case) if mended and seq > min(mended)}
    set_ = {seq for seq in levelled(case).difference(filled) if seq > filled[0]}
    bounds = [*sorted({*filled, *read, *mended, *looks, *set_}), case.entries[-1].seq + 1]
    unsure = out_of_place(case, bounds[1:-1]) - mended
    shows = _next_seen(bounds, mended | (unsure - {*filled, *set_}))
    ran = ran_out(case)
    begun = [one for one in case.timeline.openings if one.opened is not None]
    opened = Moments(begun, lambda one: (one.opened or 0, one.opened or 0))
    unread = lasting_by_entry(one for one in begun if not was_read(case, one))
    stock, tank = reservoir(case).at_first(filled[0])
    rest: Rest | None = None
    for start, end in pairwise(bounds):
        before = stock
        if start in read:
            stock = tank.after(stock, read[start])
        elif start in mended:
            stock = replace(stock, low=0.0, ml=None)
        elif start in filled[1:]:
            stock, tank = tank.filled(stock, start, sure=not open_at(case, start) and start not in unsure)
        elif start in set_:
            stock = tank.levelled(stock)
        stock = stock.either(before) if start in unsure else stock
        near = ran.within(start, end)
        readings, visits = tuple(between(near, start, end)), _within(opened, start, end)
        silent = _silent(case, visits, readings)
        silent = {one.pass_id: one.opened or 0 for one in unread.within(start + 1, end - 1)} | silent
        what = MEND if start in mended else LOOK if start in looks else _name(read.get(start), start in set_)
        since = _Since(start, what, stock, ran_between(case, near, start, end, rest), readings, silent)
        shown = None if shows[end] in set_ | unsure else tank.seen(shows[end])
        seen = None if shown is None else _Seen(shows[end], *shown)
        if not (start in read or start in looks or start in set_) or near or silent:
            again = _again(case, tank, start, end) if visits and end in filled and end not in unsure else None
            yield _judge(case, tank, since, again, seen)
        stock = stock.less(since.out)
        stock = replace(stock, low=0.0, ml=None) if silent else stock
        rest = _rest(case, tank, since, near, end, seen)


def _next_seen(bounds: Sequence[int], nothing: AbstractSet[int]) -> dict[int, int]:
    """Return for each entry the next that is none of those that show nothing of what is in it, itself too."""
    found, last = {}, bounds[-1]
    for seq in reversed(bounds):
        found[seq] = last = last if seq in nothing else seq
    return found


def _within(opened: Moments[Opening], start: int, end: int) -> list[Opening]:
    """Return what was opened between two entries."""
    return [one for one in opened.within(start, end) if start < (one.opened or 0) < end]


def _rest(case: Case, tank: Reservoir, since: _Since, near: Sequence[Ran], end: int, seen: _Seen | None) -> Rest | None:
    """Return how much of what was read only after `end` ran out after it, where what it shows tells.

    It tells nothing where some of it may have gone another way.
    """
    if seen is None or seen.seq != end or since.silent or since.what == MEND:
        return None
    if not _fits(case, tank, since, seen) or _taken(case, since.start, end):
        return None
    return rest_after(case, near, since.start, end, _gone(case, tank, since, seen))


def _gone(case: Case, tank: Reservoir, since: _Since, seen: _Seen) -> Volume:
    """Return how much ran out up to where it was seen how much was left: from mark to mark as much as it took."""
    stock, left = since.stock, seen.left or Volume(0.0, tank.holds)
    if not lacks(case, since.start) and not lacks(case, seen.seq):
        sure, more = tank.sure_ml or 0.0, filled_in(case, seen.seq, 0.0)
        return Volume(max(0.0, more - sure), more + sure)
    return Volume(max(0.0, stock.low - left.high), max(0.0, stock.most - left.low))


def _fits(case: Case, tank: Reservoir, since: _Since, seen: _Seen) -> bool:
    """Whether what ran out, as read, is no more than can have where so much was left: nothing was filled in unsaid."""
    return since.out.low <= _gone(case, tank, since, seen).high + TINY_ML and (
        seen.left is None or seen.left.low <= since.stock.most + TINY_ML
    )


def _stood(case: Case, tank: Reservoir, since: _Since, seen: _Seen | None) -> str:
    """Say what shows that it did not run dry before it was seen next; empty where nothing does.

    Between fillings it only falls: what is seen then stood in it all the time.
    """
    if seen is None or not _fits(case, tank, since, seen) or (seen.left is not None and seen.left.low <= TINY_ML):
        return ""
    return seen.words


def _not_known(case: Case, tank: Reservoir, since: _Since, seen: _Seen | None) -> tuple[str, tuple[int, ...]]:
    """Say why nobody knows what stood in it after a line was opened for a mend, with the entries."""
    if seen is None:
        return f"no entry says what stood in the reservoir after a line was opened for {since.name}", (since.start,)
    why = DRY if _fits(case, tank, since, seen) else "that is more than was left, and no entry says that it was filled"
    return f"a line was opened for {since.name}; {seen.words}; {why}", (since.start, seen.seq)


def _taken(case: Case, start: int, end: int) -> bool:
    """Whether something was taken out of the reservoir itself since an entry, and before another."""
    drawn = case.timeline.gauge(start)
    emptied = any(start < act.seq < end for act in case.timeline.acts_affecting("empty"))
    return emptied or (drawn is not None and drawn.what in TAKEN)


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


def _judge(case: Case, tank: Reservoir, since: _Since, again: _Again | None, seen: _Seen | None) -> Detail:
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
    text = f"{most}{ran_out} mL ran out after {since.name}, "
    text += stock.spell(case.procedure.balance_tolerance)
    took = "" if again is None else f"to fill it up to the mark again took {quantity.plain(again.ml)} mL"
    took += "" if again is None else f" (entry {again.seq})"
    short = out.high > stock.low + TINY_ML
    more = again is not None and again.left.high < -TINY_ML and (short or silent)
    if out.low > stock.most + TINY_ML or more:
        return Detail(since.subject, "not met", f"{text}{took and '; '}{took}", cites)
    unsure = bool(silent) or short or since.what == MEND
    if unsure and seen is not None and (stood := _stood(case, tank, since, seen)):
        said = f"no entry of how much ran out at {listing(silent)}" if silent else text
        return Detail(since.subject, "met", f"{said}; it did not run dry, for {stood}", (*cites, seen.seq))
    if since.what == MEND:
        return Detail(since.subject, "no proof", *_not_known(case, tank, since, seen))
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


def _silent(case: Case, visits: Sequence[Opening], readings: Sequence[Gauge]) -> dict[str, int]:
    """Return the visits whose bottle none of the readings is of, with their last opening."""
    read = {one.seq for one in readings}
    ends = ((one, end_of(case, one)) for one in visits)
    return {one.pass_id: one.opened or 0 for one, end in ends if end is None or end.left or end.seq not in read}


def _name(read: Gauge | None, set_: bool) -> str:
    """Name what says how much was in it."""
    if read is None:
        return SET if set_ else FILLING
    return "the level" if read.what == "level" else "the drawing off"


def _again(case: Case, tank: Reservoir, start: int, end: int) -> _Again | None:
    """Return the filling at `end` where what it took shows that what was in it since `start` may have run out.

    It shows nothing of that where some was taken out besides, or still ran out of a nipple meanwhile.
    """
    took = tank.took(end)
    if took is None or open_at(case, end) or _taken(case, start, end):
        return None
    return _Again(end, *took) if took[1].low <= TINY_ML else None


def _left_unread(case: Case, silent: Mapping[str, int]) -> list[int]:
    """Return the entries that say that the bottles of these visits were not read."""
    places = {read_with(case, name) for name in silent}
    return [act.seq for act in left_unread(case) if act.pass_id in places]


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(15, "reservoir", "Was the reservoir kept from running dry?", answer)]
