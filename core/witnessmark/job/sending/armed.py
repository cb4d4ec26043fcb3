"""What the armed screen shows, and until when it holds."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from witnessmark.clock import NS
from witnessmark.job.allowed import first_use
from witnessmark.job.allowed.rules import Request
from witnessmark.job.amount import seconds
from witnessmark.job.moment import in_seconds, since_ns
from witnessmark.job.sending.preflight import Held
from witnessmark.journal import bodies
from witnessmark.journal.entry import Recorded
from witnessmark.mapping.first_use import SCREEN
from witnessmark.procedure.model import Procedure

APPROVED = "approved"
"""Under what name the entry says by whose leave it is sent."""
BY_HAND = "by hand"
"""Under what name the entry says which physical fallback was shown; a screen shows it apart."""
ARMED_S, LEAST_S, MOST_S = Decimal(60), Decimal(30), Decimal(90)
"""How long arming holds where the procedure says nothing, and the bounds of what it may say."""


def holds_for_ns(procedure: Procedure) -> int:
    """Return how long arming holds."""
    given = seconds(procedure.armed_for, place="armed_for") if procedure.armed_for else ARMED_S
    return round(min(max(given, LEAST_S), MOST_S) * NS)


def armed_of(request: Request, held: Held, answers: Mapping[str, bool], until_ns: int) -> bodies.Armed:
    """Return the body that says what was shown and answered, until when it holds, and a first use's lead."""
    return bodies.Armed(
        pass_id=request.one.id,
        wire_command=request.command.id,
        shown=shown(request, held) | (first_use.shown(held.lead) if held.lead else {}),
        answers=dict(answers),
        until_mono=str(until_ns),
        lead=held.lead,
    )


def shown(request: Request, held: Held) -> dict[str, str]:
    """Return what is shown when armed, in order: what will happen, with what, and what the unit does when it ends."""
    state, one, command = request.state, request.one, request.command
    names = {nipple.id: nipple.name for nipple in state.procedure.nipples}
    lines = {
        "vehicle": state.procedure.vehicle,
        "pass": one.id or "none: a first use",
        "nipples": " and ".join(names.get(nipple, nipple) for nipple in one.nipples) or "all shut",
        "wire command": command.words,
        **({"learned": SCREEN} if command.origin == "learned" else {}),
        "time": one.seconds,
    }
    lines |= {**_pressure(request), **held.found, APPROVED: held.approved.given, **_held(request)}
    lines |= {
        "on stop": command.on_stop,
        "on lost session": command.on_lost_session,
        "on lost supply": command.on_lost_supply,
        BY_HAND: state.procedure.physical_fallback or "not given",
    }
    return lines


def aged(lines: Mapping[str, str], request: Request) -> dict[str, str]:
    """Return what is shown when armed with its ages as they are now; nothing that was not shown comes in."""
    now = _pressure(request) | _held(request)
    return {name: now.get(name, value) for name, value in lines.items()}


def _pressure(request: Request) -> dict[str, str]:
    """Return the feed's pressure with how long ago it was read."""
    last = request.state.reading("feed-pressure")
    if last is None:
        return {}
    return {
        "feed pressure": f"{last.amount.value} {last.amount.unit}, {_ago(request, last.recorded) or 'age not known'}"
    }


def _held(request: Request) -> dict[str, str]:
    """Return each question whose yes holds for a time, with how long ago that was said."""
    said = dict(request.state.held)
    asked = [one for one in request.state.procedure.questions if one.id in said and one.holds]
    ages = {one.text: _ago(request, said[one.id]) for one in asked}
    return {text: f"yes, said {age}" if age else "asked again" for text, age in ages.items()}


def _ago(request: Request, recorded: Recorded) -> str:
    age_ns = since_ns(recorded, request.now, request.boot_id)
    return "" if age_ns is None else f"{in_seconds(age_ns, 0)} s ago"
