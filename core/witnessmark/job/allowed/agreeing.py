"""Whether what a procedure asks before a wire command can ever be as it asks, by what the map reads there.

A procedure and a map flow in, mistakes of the procedure flow out. Rules that hold here: a precondition that no answer
of the control unit can meet would refuse at every arming, when nipples may stand open, so it is told from the documents
alone; one that the map does not read is asked of a person, unless it is the name of one that it does, misspelt; another
number, a word that the map has elsewhere or that its own question has, or one that a first syllable turns round
(`locked`, `unlocked`) is no misspelling.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Sequence
from decimal import Decimal

from witnessmark.errors import InputError
from witnessmark.job.amount import number, of_a_kind, within
from witnessmark.mapping.model import ConditionRead, ProtocolMap
from witnessmark.procedure.load import Mistake
from witnessmark.procedure.model import Limit, Precondition, Procedure
from witnessmark.quantity import Quantity, parse

MEANT = 0.8
"""How like a word of the map one is that is taken for it misspelt: a choice of this project, no source."""
Path = tuple[str | int, ...]


def disagreements(procedure: Procedure, map_: ProtocolMap) -> list[Mistake]:
    """Return each precondition that can never be met, or whose name the map has otherwise."""
    reads = {one.name: one for one in map_.conditions}
    unasked = sorted(reads.keys() - {one.name for one in procedure.preconditions})
    known = [text for read in map_.conditions for text in (read.name, *read.names.values())]
    found: list[Mistake] = []
    for index, one in enumerate(procedure.preconditions):
        path: Path = ("preconditions", index)
        if one.name in reads:
            found += _never(one, reads[one.name], path)
        elif meant := next((name for name in unasked if _misspelt(one, name, known)), ""):
            hint = f"did you mean {meant}? What the map does not read is asked of a person: give that another name"
            found.append(Mistake((*path, "name"), f"the map reads no {one.name!r}", hint))
    return found


def _words(text: str) -> list[str]:
    return re.split(r"[^a-z0-9]+", text.lower())


def _misspelt(one: Precondition, meant: str, known: Sequence[str]) -> bool:
    """Whether its name has the words of the one that is meant, but for a letter or two within a single one of them."""
    words, others = _words(one.name), _words(meant)
    apart = [pair for pair in zip(words, others, strict=False) if pair[0] != pair[1]]
    if len(words) != len(others) or len(apart) > 1:
        return False
    if not apart:
        return True
    said, word = apart[0]
    turned = said.endswith(word) or word.endswith(said) or not (said + word).isalpha()
    stands = said in _words(" ".join((*known, one.text)))
    return not stands and not turned and difflib.SequenceMatcher(None, said, word).ratio() >= MEANT


def _never(one: Precondition, how: ConditionRead, path: Path) -> Iterator[Mistake]:
    words = list(how.names.values())
    spelt = ", ".join(words)
    if one.equals and how.names and one.equals not in words:
        near = difflib.get_close_matches(one.equals.lower(), [word.lower() for word in words], n=1)
        meant = next((word for word in words if [word.lower()] == near), "")
        hint = f"did you mean {meant}? It is one of: {spelt}" if meant else f"the map says one of: {spelt}"
        yield Mistake((*path, "equals"), f"the map never reads {one.name} as {one.equals!r}", hint)
    elif one.equals and not how.names and not _is_of(one.equals, how.unit):
        what = f"the map reads {one.name} as a number{f' in {how.unit}' if how.unit else ''}, never as {one.equals!r}"
        yield Mistake((*path, "equals"), what, "give a limit")
    elif one.limit is not None and how.names:
        what = f"the map reads {one.name} as a word, which lies in no band"
        yield Mistake((*path, "limit"), what, f"give equals, one of: {spelt}")
    elif one.limit is not None:
        yield from _outside(one.limit, one, how, (*path, "limit"))


def _outside(limit: Limit, one: Precondition, how: ConditionRead, path: Path) -> Iterator[Mistake]:
    """A band in units of another kind, or all of it beyond what the answer can say."""
    for key, end in (("low", limit.low), ("high", limit.high)):
        if end and not of_a_kind(parse(end, place=key).unit, how.unit or "1"):
            what = f"the map reads {one.name} in {how.unit or 'a bare number'}, and this is in another kind of unit"
            yield Mistake((*path, key), what, f"give it in {how.unit}" if how.unit else "give the map a unit")
            return
    least, most = sorted(Decimal(raw) * how.numerator / how.denominator for raw in (0, 256**how.length - 1))
    for key, bound, ever in (("low", Limit(low=limit.low), most), ("high", Limit(high=limit.high), least)):
        if within(Quantity(f"{ever:f}", how.unit or "1"), bound) is False:
            what = f"the map reads {one.name} from {least:f} to {most:f} {how.unit}".strip()
            yield Mistake((*path, key), f"{what}, never so", "correct it, or the map")


def _is_of(said: str, unit: str) -> bool:
    """Whether words are a number in that unit, as the map would say it."""
    text, _, written = said.partition(" ")
    try:
        number(text, place="equals")
    except InputError:
        return False
    return written == unit
