"""30: was the record altered? What the check of tree, signature and printed head found."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Answer, Verdict, no_proof
from witnessmark.journal import bodies

ANSWERS: dict[str, Answer] = {
    "intact": "met",
    "consistent, unanchored": "no proof",
    "incomplete": "no proof",
    "end damaged": "not met",
    "altered": "not met",
    "entries missing": "not met",
    "wrong key": "not met",
}
"""Only a record checked against something held elsewhere is shown to be unaltered."""


def answer(case: Case) -> Verdict:
    if case.integrity is None:
        return no_proof("the record was not checked")
    found = ANSWERS.get(case.integrity.verdict, "no proof")
    last = tuple(entry.seq for entry in case.entries[-1:])
    text = f"{case.integrity.verdict}: {case.integrity.text}"
    losses = [(seq, body.lost) for seq, body in case.all_of(bodies.Remark) if body.lost is not None]
    if losses:
        found = "no proof" if found == "met" else found
        text += "".join(f"; {say.loss(lost)}" for _, lost in losses)
    return Verdict(found, text, cites=tuple(sorted({*(seq for seq, _ in losses), *last})))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(30, "altered", "Is the record as it was written?", answer)]
