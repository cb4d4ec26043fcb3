"""1: the right vehicle? The number typed, the one scanned and the one each control unit gave must be the same.

A check digit that does not fit is said and decides nothing: outside North America it is not mandatory (from memory).
The number is read out of the raw answers to identifier F190 (ISO 14229-1, annex C); one that a person read off another
tester is told, and the answer says so: the last that was said counts, and those before it are named.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.clearing import told_by
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, no_proof
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.procedure.words import VEHICLE_NUMBER
from witnessmark.wire import vin

TYPED, SCANNED = ("vin", "VIN"), ("vin-scanned", "vin_scanned")
REQUEST, ANSWER = "22F190", "62F190"
_BETWEEN = re.compile(r"[\s\x00\ufffd-]")


def answer(case: Case) -> Verdict:
    entered = [
        (name, _plain(case.opened.vehicle[key]), (case.opened_seq,))
        for name, keys in (("typed", TYPED), ("scanned", SCANNED))
        for key in keys
        if case.opened.vehicle.get(key)
    ]
    read, told = _read(case), _told(case)
    if not entered:
        given = "".join(
            f"; {name} gives {number}, and nobody's number to compare it with" for name, number, _ in read[:1]
        )
        return no_proof(f"no number of the vehicle was typed or scanned{given}", *_all_of(read))
    wanted = entered[0][1]
    details = [_compare(name, number, wanted, seqs) for name, number, seqs in (*entered, *read, *told)]
    wrong = [one for one in details if one.answer == "not met"]
    if wrong:
        return Verdict("not met", "; ".join(f"{one.subject}: {one.text}" for one in wrong), tuple(details))
    if told and not any(number for _, number, _ in read):
        return Verdict("met", f"{wanted} was entered and is told: {told[0][0]}{_digit(wanted)}", tuple(details))
    if not any(number for _, number, _ in read):
        why = f"{wanted} was entered, and no control unit gave its number"
        return Verdict("no proof", why, tuple(details), _all_of(read))
    return Verdict("met", f"{wanted} was entered and the control unit gives the same{_digit(wanted)}", tuple(details))


def _read(case: Case) -> list[tuple[str, str, tuple[int, ...]]]:
    """Return each number a control unit gave, with its source and all the exchanges in which it gave it."""
    found: dict[tuple[str, str], list[int]] = {}
    for one in case.timeline.exchanges:
        if one.body.request.upper() != REQUEST:
            continue
        for reply in one.body.answers:
            if reply.verdict == "positive" and reply.payload.upper().startswith(ANSWER):
                number = bytes.fromhex(reply.payload)[3:].decode("ascii", "replace")
                how = ", heard as another tester read it" if one.body.heard else ""
                found.setdefault((f"control unit {reply.source}{how}", _plain(number)), []).append(one.seq)
    return [(name, number, tuple(seqs)) for (name, number), seqs in found.items()]


def _told(case: Case) -> list[tuple[str, str, tuple[int, ...]]]:
    """Return the number that a person read last off another tester, with all that were told before; often none."""
    said = [
        (seq, body)
        for seq, body in case.all_of(bodies.Condition)
        if body.name == VEHICLE_NUMBER and body.source == "told" and not body.pass_id
    ]
    if not said:
        return []
    seq, last = said[-1]
    others = dict.fromkeys(body.found for _, body in said if _plain(body.found) != _plain(last.found))
    first = f", first as {' and '.join(others)}" if others else ""
    return [
        (f"{told_by(case, seq)} read it off another tester{first}", _plain(last.found), tuple(at for at, _ in said))
    ]


def _plain(number: str) -> str:
    """Return a number as it is compared: without the spaces and hyphens that people write, nor what fills it up."""
    return _BETWEEN.sub("", number).upper()


def _all_of(read: Sequence[tuple[str, str, tuple[int, ...]]]) -> tuple[int, ...]:
    return tuple(sorted(seq for _, _, seqs in read for seq in seqs))


def _compare(name: str, number: str, wanted: str, seqs: tuple[int, ...]) -> Detail:
    if number == wanted:
        return Detail(name, "met", number + _digit(number), seqs)
    if not number:
        return Detail(name, "no proof", "it gave no number", seqs)
    return Detail(name, "not met", f"{number} is not {wanted}", seqs)


def _digit(number: str) -> str:
    try:
        return "" if vin.check(number).digit_fits else "; its check digit does not fit"
    except InputError as error:
        return f"; {error.what}"


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(1, "vehicle", "The right vehicle?", answer)]
