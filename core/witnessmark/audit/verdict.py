"""The answer to a question: one of four, in words, with the entries it rests on.

Rules that hold here: absence is never a pass; the whole is as good as its worst part; what does not apply counts only
when nothing does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import msgspec

from witnessmark.audit.say import listing
from witnessmark.range import Sure

Answer = Literal["met", "not met", "no proof", "does not apply"]

ORDER: tuple[Answer, ...] = ("not met", "no proof", "met", "does not apply")
"""From the one that decides to the one that only stands alone."""


class Detail(msgspec.Struct, frozen=True, gc=False):
    """The answer for one part: a pass, a nipple, an entry. `cites` are the `seq` of entries."""

    subject: str
    answer: Answer
    text: str
    cites: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """The answer to one question. `text` is for the customer, `details` for the lead.

    `grades` are those of the runs it rests on: `sent` by us, `heard` on the bus, `told` by a person.
    """

    number: int
    id: str
    title: str
    answer: Answer
    text: str
    cites: tuple[int, ...] = ()
    details: tuple[Detail, ...] = ()
    grades: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a question module returns: the answer and its parts; the question adds its number and title."""

    answer: Answer
    text: str
    details: tuple[Detail, ...] = ()
    cites: tuple[int, ...] = ()


def from_sure(sure: Sure) -> Answer:
    """Turn what is sure into an answer: what may be is no proof."""
    return {"yes": "met", "no": "not met", "maybe": "no proof"}[sure]  # type: ignore[return-value]


def worst(answers: Iterable[Answer]) -> Answer:
    """Return the answer that decides; `no proof` when there is none at all."""
    found = set(answers)
    return next((answer for answer in ORDER if answer in found), "no proof")


def from_details(details: Sequence[Detail], met: str) -> Verdict:
    """Return the whole of `details`. `met` is the sentence when all is met; else the parts that decide are named."""
    answer = worst(detail.answer for detail in details)
    if answer == "met":
        return Verdict(answer, met, tuple(details))
    deciding = grouped([detail for detail in details if detail.answer == answer])
    text = "; ".join(f"{_together(subjects)}: {text}" for _, subjects, text in deciding)
    return Verdict(answer, text or "nothing in the record speaks to this", tuple(details))


def grouped(details: Sequence[Detail]) -> list[tuple[Answer, list[str], str]]:
    """Return answer, subjects and text of details; those that say the same are one."""
    groups: dict[tuple[Answer, str], list[str]] = {}
    for one in details:
        groups.setdefault((one.answer, one.text), []).append(one.subject)
    return [(answer, subjects, text) for (answer, text), subjects in groups.items()]


def _together(subjects: Sequence[str]) -> str:
    once = list(dict.fromkeys(subjects))
    return "; ".join(once) if any("," in one or " and " in one for one in once) else listing(once)


def does_not_apply(why: str) -> Verdict:
    """Return that the question has nothing to judge, because the procedure or the job's scope says so."""
    return Verdict("does not apply", why)


def no_proof(why: str, *cites: int) -> Verdict:
    return Verdict("no proof", why, cites=cites)
