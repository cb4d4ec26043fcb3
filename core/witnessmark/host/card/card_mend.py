"""What a card says of a mend at a check that was not right: what was mended, where, and whether it was safe first.

A job's state and a line flow in, the bodies of its entries flow out: `mended 09:05 tightened rear-right`,
`mended 09:05 replaced rear-right` (or a circuit, or `not known`), `mended 09:05 bled`, `mended 09:05 nothing`, or words
of one's own and `at` and the place; behind it `made safe` or `not made safe`. Rules that hold here: it says what the
same keys at the bay's screen say; where a card does not say where, nobody knows where; whether it was made safe is not
said for a card that leaves it empty.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from witnessmark.errors import InputError
from witnessmark.host.card import card_words
from witnessmark.host.card.card_line import EMPTY, Line, first_word
from witnessmark.job.amiss import bleeding, mend_safe, not_right
from witnessmark.job.walk.places import YES
from witnessmark.job.walk.standing import named
from witnessmark.job.walk.state import JobState
from witnessmark.journal import bodies
from witnessmark.procedure import mending, own
from witnessmark.procedure.mending import BLED, NONE, NOT_KNOWN, NOTHING, REPLACED, TIGHTENED
from witnessmark.procedure.model import Procedure

MENDED_WORD = "mended"
KINDS = {"tightened": TIGHTENED, "replaced": REPLACED, "bled": BLED, "nothing": NOTHING}
"""The words of a line and of the card, each with those that stand in the entry."""
MADE_SAFE, NOT_MADE_SAFE = "made safe", "not made safe"
EXAMPLE = f"{MENDED_WORD} 10:42 and {', '.join(KINDS)} or your own words, and where"
_SAFE = re.compile(rf"(?:^|[\s,;]+)(not\s+)?{MADE_SAFE}[\s.]*$", re.IGNORECASE)
_AT = re.compile(r"(?:^|[\s,;]+)at\s+", re.IGNORECASE)
_NO_PLACE = {NONE, "no nipple", "no circuit", "another joint"}
_UNKNOWN = {NOT_KNOWN, EMPTY}


class Mend(NamedTuple):
    """One line: `what` is from the list, else `words` are one's own; `placed` whether it says where, `safe` is yes, no
    or empty."""

    what: str
    words: str
    nipple: str = ""
    answer: str = NOT_KNOWN
    placed: bool = False
    safe: str = ""


def may_mend(state: JobState) -> bool:
    """Whether the point is a check that was not right, of which it is still to be said what was mended."""
    step = state.point.step if state.point is not None else None
    return step is not None and not_right.must_say(state, step.id)


def bodies_of(state: JobState, rest: str) -> list[bodies.StepDone]:
    """Return the bodies of a line's entries, as the bay's screen writes them. Raises InputError for what is no mend."""
    one, at = read(state, rest), state.point
    pass_id = at.pass_id if at is not None else ""
    made = [bodies.StepDone(step=own.MENDED, act="confirmed", pass_id=pass_id, answer=one.what, mended=one.words)]
    if mending.has_place(one.what):
        made.append(bodies.StepDone(step=own.MENDED_AT, act="confirmed", nipple=one.nipple, answer=one.answer))
    if one.safe:
        made.append(bodies.StepDone(step=own.WAS_SAFE, act="confirmed", answer=one.safe))
    return made


def read(state: JobState, rest: str) -> Mend:
    """Take apart what stands behind the time of a line. Raises InputError for what does not fit."""
    if not may_mend(state):
        if state.mended:
            hint = "write what is asked now, or back to take the last line back"
            raise InputError("it is said already what was mended", place=MENDED_WORD, hint=hint)
        hint = "write it behind the no of a final check, right where a reading was outside its limits"
        raise InputError("nothing was looked at here and not right", place=MENDED_WORD, hint=hint)
    safe = _SAFE.search(rest)
    said = rest[: safe.start()].strip(" ,;") if safe else rest.strip()
    if said in ("", EMPTY):
        hint = f"write {EXAMPLE}; leave the line out where nothing is written"
        raise InputError("it does not say what was mended", place=MENDED_WORD, hint=hint)
    what, place = _kind(said)
    if not what and card_words.of_another_line(said):
        raise InputError(f"{said!r} is nothing that was mended", place=MENDED_WORD, hint=f"write {EXAMPLE}")
    safely = "" if safe is None else mend_safe.NO if safe[1] else mend_safe.YES
    if what in (BLED, NOTHING):
        if place or safely:
            word = next(one for one, words in KINDS.items() if words == what)
            more = ", then again and the pass that was bled" if what == BLED else ""
            hint = f"write {MENDED_WORD} 10:42 {word} alone{more}; for more say it in words of your own"
            raise InputError(f"{place or MADE_SAFE!r} has no place on this line", place=MENDED_WORD, hint=hint)
        return Mend(what, "")
    return _placed(state.procedure, Mend(what, "" if what else said, safe=safely), place)


def _kind(said: str) -> tuple[str, str]:
    """Return what was mended as the list has it, empty for words of one's own, and what stands behind it."""
    for words in mending.OFFERED:
        if said.lower().startswith(words):
            return words, said[len(words) :].strip(" ,;")
    first, place = first_word(said)
    what = KINDS.get(first.strip(",;:.").lower(), "")
    return what, "" if what == BLED and place == "again" else place


def _placed(procedure: Procedure, one: Mend, place: str) -> Mend:
    """Return a mend with where it was. Raises InputError where that is a place of which it cannot be."""
    if not one.what:
        for match in reversed([*_AT.finditer(one.words)]):
            found = _place(procedure, one, one.words[match.end() :])
            if found is not None and match.start():
                return one._replace(words=one.words[: match.start()], nipple=found[0], answer=found[1], placed=True)
        return one
    place = re.sub(r"^at\s+", "", place)
    if not place:
        return one
    found = _place(procedure, one, place)
    if found is None:
        hint = f"write one of: {', '.join(known(procedure, one.what))}; else say it in words of your own"
        raise InputError(f"{place!r} is no place where that is done", place=MENDED_WORD, hint=hint)
    return one._replace(nipple=found[0], answer=found[1], placed=True)


def _place(procedure: Procedure, one: Mend, said: str) -> tuple[str, str] | None:
    """Return the nipple, else the answer, that a place stands for; None for none that this mend may have."""
    text = _plain(said)
    for nipple in procedure.nipples:
        if text in (_plain(nipple.id), _plain(nipple.name)):
            return nipple.id, ""
    if text in _UNKNOWN:
        return "", NOT_KNOWN
    if text in _NO_PLACE:
        return None if one.what == REPLACED else ("", NONE)
    names = (mending.circuits(procedure)) if one.what != TIGHTENED else ()
    spelt = {
        way: name for name in names for way in (_plain(name), f"circuit {_plain(name)}", f"{_plain(name)} circuit")
    }
    return ("", spelt[text]) if text in spelt else None


def known(procedure: Procedure, what: str) -> list[str]:
    """Return the places that may be written for what was mended."""
    nipples = [one.name.replace(" ", "-") for one in procedure.nipples]
    circuits = [f"circuit {one}" for one in mending.circuits(procedure)] if what != TIGHTENED else []
    none = [] if what == REPLACED else [NONE]
    return [*nipples, *circuits, *none, NOT_KNOWN]


def _plain(text: str) -> str:
    return " ".join(text.lower().replace("-", " ").strip(" .,;:").split())


def doubt(state: JobState, rest: str) -> str:
    """Return what a line leaves open that would be no proof; empty where it says all."""
    one = read(state, rest)
    if not mending.has_place(one.what):
        return ""
    asks = []
    if not one.placed:
        lead = "" if one.what else "at and "
        asks.append(f"where: behind it write {lead}one of {', '.join(known(state.procedure, one.what))}")
    if not one.safe and mend_safe.due(state):
        asks.append(f"whether it was made safe first: behind it write , {MADE_SAFE} or , {NOT_MADE_SAFE}")
    return f"it does not say {'; nor '.join(asks)}. Of what is not said there is no proof" if asks else ""


def look_doubt(state: JobState, line: Line) -> str:
    """Return why a yes at a check that was not right is no proof as it stands; empty where it may be."""
    step = state.point.step if state.point is not None else None
    if step is None or YES not in line.boxes or not not_right.seen(state, step.id):
        return ""
    passes = [one for one in bleeding.offered(state) if "," not in one]
    again = (
        f"write again and the pass first, one of: {', '.join(passes)}" if passes else "no pass of this job bleeds it"
    )
    if may_mend(state) and not state.rebled:
        return f"it was not right, and no line says what was mended since: write {EXAMPLE} first"
    if state.mend == BLED:
        return f"it is said to have been bled again, and no pass was since: {again}"
    tried = {name for pass_id, name in state.was_open if pass_id in state.rebled} & {*state.to_bleed}
    if left := [named(state, one) for one in state.to_bleed if one not in tried]:
        return f"{', '.join(left)} not bled after what was mended: {again}"
    if tried:
        names = ", ".join(named(state, one) for one in state.to_bleed)
        return (
            f"by its times {names} may not have been open for as much of the run as the pass asks: where the card has "
            "seconds, take its lines back and write them, like 10:42:30; else there is no proof that it was bled"
        )
    return ""


def ways(state: JobState) -> list[str]:
    """Return what may be written at a check that was not right, beside the check itself."""
    passes = [one for one in bleeding.offered(state) if "," not in one]
    return [*([EXAMPLE] if may_mend(state) else []), *([f"again and {' or '.join(passes)}"] if passes else [])]


def left(state: JobState, text: str) -> bodies.StepDone:
    """Return that nothing is bled at the place where it is made safe for that. Raises InputError for any other line."""
    assert state.point is not None and state.point.step is not None
    if text.strip() != EMPTY:
        hint = f"write {', or '.join((*ways(state), EMPTY))}; the check itself comes after that"
        raise InputError("it is made safe here to mend it, and nothing else is said", place=MENDED_WORD, hint=hint)
    return bodies.StepDone(step=own.NOT_AGAIN, act="confirmed", answer=state.point.step.id)
