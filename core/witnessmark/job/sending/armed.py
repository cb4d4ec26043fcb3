"""What the armed screen shows, and until when it holds."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from witnessmark.clock import NS
from witnessmark.job import first_use
from witnessmark.job.amount import seconds
from witnessmark.job.moment import in_seconds, since_ns
from witnessmark.job.rules import Request
from witnessmark.journal import bodies
from witnessmark.mapping.first_use import SCREEN
from witnessmark.procedure.model import Procedure

BY_HAND = "by hand"
"""Under what name the entry says which physical fallback was shown; a screen shows it apart."""
ARMED_S, LEAST_S, MOST_S = Decimal(60), Decimal(30), Decimal(90)
"""How long arming holds where the procedure says nothing, and the bounds of what it may say."""


def holds_for_ns(procedure: Procedure) -> int:
    """Return how long arming holds."""
    given = seconds(procedure.armed_for, place="armed_for") if procedure.armed_for else ARMED_S
    return round(min(max(given, LEAST_S), MOST_S) * NS)


def armed_of(
    request: Request, found: Mapping[str, str], answers: Mapping[str, bool], until_ns: int, lead: str
) -> bodies.Armed:
    """Return the body that says what was shown and answered, until when it holds, and a first use's lead."""
    return bodies.Armed(
        pass_id=request.one.id,
        wire_command=request.command.id,
        shown=shown(request, found) | (first_use.shown(lead) if lead else {}),
        answers=dict(answers),
        until_mono=str(until_ns),
        lead=lead,
    )


def shown(request: Request, found: Mapping[str, str]) -> dict[str, str]:
    """Return what is shown when armed, in order: what will happen, with what, and what the unit does when it ends."""
    state, one, command = request.state, request.one, request.command
    names = {nipple.id: nipple.name for nipple in state.procedure.nipples}
    lines = {
        "vehicle": state.procedure.vehicle,
        "pass": one.id or "none: a first use",
        "nipples": ", ".join(names.get(nipple, nipple) for nipple in one.nipples) or "all shut",
        "wire command": command.words,
        **({"learned": SCREEN} if command.origin == "learned" else {}),
        "time": one.seconds,
    }
    pressure = state.reading("feed-pressure")
    if pressure is not None:
        age_ns = since_ns(pressure.recorded, request.now, request.boot_id)
        age = f"{in_seconds(age_ns, 0)} s ago" if age_ns is not None else "age not known"
        lines["feed pressure"] = f"{pressure.amount.value} {pressure.amount.unit}, {age}"
    lines |= found
    said = dict(state.held)
    for asked in state.procedure.questions:
        if asked.id in said and asked.holds:
            age_ns = since_ns(said[asked.id], request.now, request.boot_id)
            lines[asked.text] = f"yes, said {in_seconds(age_ns, 0)} s ago" if age_ns is not None else "asked again"
    lines |= {
        "on stop": command.on_stop,
        "on lost session": command.on_lost_session,
        "on lost supply": command.on_lost_supply,
        BY_HAND: state.procedure.physical_fallback or "not given",
    }
    return lines
