"""How the reservoir stands, as entries say it: emptied, or filled again.

The words of a touch or a reading flow in; True for empty, False for filled, None where they say neither, flow out. Rule
that holds here: a level that was read below its limit fills nothing.
"""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.job.walk.state import EMPTY, REFILL
from witnessmark.journal import bodies


def said_in(words: Iterable[str]) -> bool | None:
    """Return what the last word of an entry that says it says."""
    told = [word == EMPTY for word in words if word in (EMPTY, REFILL)]
    return told[-1] if told else None


def words_of(body: bodies.StepDone | bodies.Reading) -> tuple[str, ...]:
    """Return the words of an entry that count for the reservoir."""
    if isinstance(body, bodies.StepDone):
        return () if body.act == "skipped" else (body.affects, *body.also)
    words = (body.affects, *body.also)
    return words if body.within is not False else tuple(word for word in words if word != REFILL)
