"""Readings that show whether it is safe to open anything: a pressure that is left, and what makes safe or lets off.

Steps flow in; which of them are such readings flows out, and what is wrong with one. Rules that hold here: a pressure
outside the feed that is read before a nipple opens, and of which only the most is given, is one that must be let off;
no reason makes such a reading safe outside its limits, so none is kept as it is; where it is asked for, it says how
much may be left, and is never left out.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.document.mistake import Mistake, Path
from witnessmark.procedure.bounds import MOST_LEFT
from witnessmark.procedure.figures import above, read
from witnessmark.procedure.model import Limit, Procedure, Step
from witnessmark.procedure.steps import STEPS, each_step, words_of
from witnessmark.procedure.words import DIMENSIONS

SAFE_WORDS = ("made-safe", "depressurise")
"""Words of steps whose reading says that it is safe."""
FEED_PRESSURE, STORED = "feed-pressure", "stored-pressure"
BEFORE_OPENING = STEPS[:2]
FIRST_OF_ALL = {"made-safe", "wake", "service-mode-on"}
"""Words of steps that come before any hand is put to a nipple, a joint or a wheel."""
ONCE_SAFE = "Once it is made safe: "
"""How an item of a comeback begins that needs such a hand: it is looked at behind those steps."""


def safe_first(procedure: Procedure) -> tuple[Step, ...]:
    """Return the steps before a nipple opens whose reading must be within its limits for anything to be opened."""
    steps = (*procedure.steps_before, *procedure.steps_before_each_pass)
    return tuple(step for step in steps if _says_safe(step) or _is_left(step))


def makes_safe(procedure: Procedure) -> int:
    """Return how many of the steps before the passes are done until a hand may be put to anything; 0 for none."""
    own, reads = procedure.steps_before, safe_first(procedure)
    last = [at for at, one in enumerate(own, 1) if one in reads or not FIRST_OF_ALL.isdisjoint(words_of(one))]
    return max(last, default=0)


def never_kept(procedure: Procedure, step: Step) -> bool:
    """Say whether a reading of a step cannot be kept as it is outside its limits, whatever the reason."""
    return _says_safe(step) or step in safe_first(procedure)


def readings_of_safety(procedure: Procedure) -> Iterator[Mistake]:
    """Return what is wrong with the readings that show whether anything may be opened."""
    for path, step in each_step(procedure):
        early = path[0] in BEFORE_OPENING
        if step.limit is None and early and _other_pressure(step):
            hint = 'give the most that may be left, like limit = { high = "3 bar" }'
            yield Mistake((*path, "limit"), "nothing says at what pressure a nipple may be opened", hint)
        elif step.limit is None and step.act == "read" and set(SAFE_WORDS) & set(words_of(step)):
            yield Mistake((*path, "limit"), "nothing says at what reading it is safe", "give the limit, or do not read")
        elif early and step.what == STORED:
            yield from _let_off(step, path)
        if not (early and _is_left(step)):
            continue
        if step.may_skip:
            what = "a pressure that must be let off is always read"
            yield Mistake((*path, "may_skip"), what, "take may_skip out")
        if not step.caution:
            hint = "say what that pressure can do"
            yield Mistake((*path, "caution"), "a pressure that must be let off, and no caution", hint)


def _let_off(step: Step, path: Path) -> Iterator[Mistake]:
    """A stored pressure is gone before anything is opened: its limit is the most that may be left, a little."""
    limit = step.limit or Limit()
    low = read(limit.low)
    if low is not None and low.number > 0:
        hint = 'give the most that may be left alone, like limit = { high = "3 bar" }'
        yield Mistake((*path, "limit", "low"), f"{low} of it would have to be left for a nipple to be opened", hint)
    elif above(limit.high, MOST_LEFT):
        what = f"{limit.high} is no pressure that was let off ({MOST_LEFT} at most)"
        yield Mistake((*path, "limit", "high"), what, "write the most that may be left, as the maker publishes it")


def _says_safe(step: Step) -> bool:
    return step.act == "read" and step.limit is not None and bool(set(SAFE_WORDS) & set(words_of(step)))


def _is_left(step: Step) -> bool:
    """Whether a step reads a pressure that must be gone: it may be so much at most, and need not be anything."""
    if step.limit is None or not step.limit.high or not _other_pressure(step):
        return False
    low = read(step.limit.low)
    return low is None or low.number <= 0


def _other_pressure(step: Step) -> bool:
    """Whether a step reads a pressure that is not the feed's."""
    if step.act != "read" or step.what == FEED_PRESSURE:
        return False
    ends = (read(end) for end in (step.limit.high, step.limit.low)) if step.limit is not None else ()
    units = {step.unit, *(end.unit for end in ends if end is not None)}
    return not units.isdisjoint(DIMENSIONS["pressure"])
