"""A map as tables that a person reads. A map flows in, plain tables flow out; drawing them is the command's."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import NamedTuple

from witnessmark.clock import NS
from witnessmark.mapping import never_sent, words
from witnessmark.mapping.facts import Evidence, Habits
from witnessmark.mapping.model import ProtocolMap, VehicleMap

EARLIEST = 2000
"""A recording with an earlier year counts from its own beginning, and knows no day."""


class Table(NamedTuple):
    """A title, the heads of the columns, and the rows."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def overview(vehicle: VehicleMap) -> Table:
    """Return a line for each unit."""
    rows = tuple(
        (
            words.address(one.address),
            one.title,
            ", ".join(f"{known.identifier} {words.value(known.value)}" for known in one.identification)
            or words.NOT_KNOWN,
            str(sum(bool(known.values) for known in one.identifiers)),
            str(len(one.wire_commands)),
            str(len(one.candidates)),
        )
        for one in vehicle.units
    )
    return Table(
        vehicle.title, ("address", "unit", "identification", "identifiers", "wire commands", "candidates"), rows
    )


def tables(unit: ProtocolMap) -> list[Table]:
    """Return what is known of one unit; a table without rows is left out."""
    return [one for one in (_facts(unit), _services(unit), _identifiers(unit), _commands(unit), _candidates(unit))
            if one.rows]  # fmt: skip


def _facts(unit: ProtocolMap) -> Table:
    rows = [
        ("address", words.address(unit.address) + (", all at once on " + unit.address.functional
                                                   if unit.address.functional else "")),
        ("source", unit.source + (" (invented)" if unit.invented else "")),
        ("times it states" if words.states_times(unit) else "times of the standard",
         f"P2 {unit.timing.p2_ms} ms, P2* {unit.timing.p2_star_ms} ms, S3 {unit.timing.s3_ms} ms"),
    ]  # fmt: skip
    if unit.address.header:
        rows.append(("headers of its answers", words.HEADERS[unit.address.header]))
    rows += [("identification", f"{one.identifier} {words.value(one.value)}") for one in unit.identification]
    rows += [
        (
            f"session {words.session(one.session, '')}",
            ("" if one.name.startswith("0x") or not one.name else f"{one.name}: ")
            + one.answer
            + (f" {words.refusal(one.code)}" if one.code else "")
            + f" ({evidence(one.evidence, unit.source)})",
        )
        for one in unit.sessions
    ]
    if unit.habits is not None:
        rows.append(("answers after", words.spread(unit.habits.answer)))
        if unit.habits.pending:
            rows.append(("asks for time (0x78)", _pending(unit.habits)))
        if unit.habits.kept_alive_ms is not None:
            rows.append(("the other tester keeps alive", _kept_alive(unit.habits)))
    for one in unit.codes:
        known = f"{', '.join(one.codes) or 'none'} ({evidence(one.evidence, unit.source)})"
        rows.append((f"trouble codes by {one.request}", known))
    return Table(unit.title, ("", ""), tuple(rows))


def _pending(habits: Habits) -> str:
    exchanges = f"{habits.pending} exchange{'' if habits.pending == 1 else 's'}"
    gap = words.spread(habits.pending_gap)
    most = "once" if habits.pending_most == 1 else f"at most {habits.pending_most} times"
    return f"in {exchanges}, {most} in one; the next after {gap}"


def _kept_alive(habits: Habits) -> str:
    request = bytes.fromhex(habits.kept_alive)
    unanswered = f", {words.UNANSWERED}" if request[1:] and request[1] & 0x80 else ""
    return f"with {habits.kept_alive} every {habits.kept_alive_ms} ms{unanswered}"


def _services(unit: ProtocolMap) -> Table:
    rows = tuple(
        (
            one.service,
            one.name,
            words.service(one),
            " ".join(one.sub_functions),
            ", ".join(f"{words.refusal(code)} x{count}" for code, count in words.refusals(one).items()),
            evidence(one.evidence, unit.source),
        )
        for one in unit.services
    )
    return Table(
        "services; any other is not known",
        ("service", "name", "state", "sub-functions", "refusals", "evidence"),
        rows,
    )


def _identifiers(unit: ProtocolMap) -> Table:
    binding = {one.identifier: words.value(one.value) for one in unit.identification}
    rows = tuple(
        (
            f"{one.service} {one.identifier}",
            one.name,
            (binding.get(one.identifier) if one.service == "22" else None) or words.identifier(one),
            str(one.length),
            evidence(one.evidence, unit.source),
        )
        for one in unit.identifiers
        if one.values
    )
    return Table("identifiers", ("identifier", "name", "value", "bytes", "evidence"), rows)


def _commands(unit: ProtocolMap) -> Table:
    rows = tuple(
        (
            one.id,
            one.words,
            f"{one.start} / {one.stop}",
            f"{one.longest_s} s, then {one.cool_down_s} s rest",
            f"stop: {one.on_stop}; session lost: {one.on_lost_session}; supply lost: {one.on_lost_supply}",
            one.origin if one.observed is None else f"learned: {words.observed(one.observed)}",
            "; ".join(reason.why for reason in never_sent.reasons(one, unit.address)) or "once a lead approves it",
        )
        for one in unit.wire_commands
    )
    return Table(
        "wire commands", ("id", "what it does", "start / stop", "longest", "what happens", "origin", "sent"), rows
    )


def _candidates(unit: ProtocolMap) -> Table:
    rows = tuple(
        (
            one.id,
            one.start,
            one.stop or words.NOT_KNOWN,
            f"{words.observed(one.observed)} ({evidence(one.evidence, unit.source)})",
            "; ".join(one.said),
            "; ".join(one.never) or "nothing forbids it: it may be named",
        )
        for one in unit.candidates
    )
    return Table(
        "heard from another tester, not named yet",
        ("id", "start", "stop", "observed", "said meanwhile", "what forbids sending"),
        rows,
    )


def evidence(one: Evidence | None, source: str = "") -> str:
    """`probed 3 times, 2026-05-04`; its source where it is not `source`; no day where only times of day were known."""
    if one is None:
        return ""
    parts = [f"{one.how} {one.count} time{'' if one.count == 1 else 's'}"]
    if one.source and one.source != source:
        parts[0] += f" in {one.source}"
    days = [datetime.fromtimestamp(int(text) // NS, UTC).date() for text in (one.first_ns, one.last_ns) if text]
    known = dict.fromkeys(day.isoformat() for day in days if day.year >= EARLIEST)
    return ", ".join([*parts, *([" to ".join(known)] if known else [])])
