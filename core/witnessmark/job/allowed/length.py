"""How long a run may be: what map, procedure and what was observed allow, held against the seconds of a pass.

A procedure, a pass and a wire command flow in, words flow out, empty where the run may be sent. Rules that hold here:
the least of all that is said counts; it is known from the documents alone, so it is said when they come together, on
the screen before a nipple opens, and again before every send.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from witnessmark.errors import InputError
from witnessmark.job.amount import seconds
from witnessmark.mapping.load import HOLE
from witnessmark.mapping.model import ProtocolMap, WireCommand
from witnessmark.procedure.model import Pass, Procedure
from witnessmark.procedure.pump import works_pump

WAY_ON = "write other seconds into the procedure, or give a map that allows as many"


def start_payload(command: WireCommand, run_s: Decimal) -> bytes:
    """Return the start request with its hole filled. Raises InputError when the seconds do not fit the hole."""
    if HOLE not in command.start:
        return bytes.fromhex(command.start)
    if run_s != run_s.to_integral_value() or not 1 <= run_s <= 255:
        raise InputError(
            f"{run_s} s do not fit into one byte", place=f"wire command {command.id}", hint="use 1 to 255 whole seconds"
        )
    return bytes.fromhex(command.start.replace(HOLE, f"{int(run_s):02X}"))


def longest_s(procedure: Procedure, command: WireCommand) -> Decimal:
    """Return how many s one run of a wire command may take in this procedure.

    What was never observed bounds nothing here: it is never sent at all (`mapping.never_sent`).
    """
    allowed = [Decimal(command.longest_s), *_by_procedure(procedure, command.id)]
    observed = command.observed if command.origin == "learned" else None
    if observed is not None and observed.longest_ms is not None:
        allowed.append(Decimal(observed.longest_ms // 1000))
    if observed is not None and observed.seconds and HOLE in command.start:
        allowed.append(Decimal(max(observed.seconds)))
    return min(allowed)


def longest_elsewhere_s(procedure: Procedure, name: str, command: WireCommand | None) -> Decimal | None:
    """Return how many s one run of a wire command by another tester may take; None where nobody says.

    What was only observed of a learned one is nobody's limit, as in the audit.
    """
    given = [Decimal(command.longest_s)] if command is not None and command.origin != "learned" else []
    return min([*given, *_by_procedure(procedure, name)], default=None)


def _by_procedure(procedure: Procedure, name: str) -> list[Decimal]:
    """Return how many s the procedure lets one run of a wire command take, by each limit that it gives."""
    pump = procedure.pump if works_pump(procedure, name) else None
    allowed = []
    if pump is not None and pump.longest_run:
        allowed.append(seconds(pump.longest_run, place="pump, longest_run"))
    if pump is not None and pump.on_time and pump.window:
        allowed.append(seconds(pump.on_time, place="pump, on_time"))
    return allowed


def unfit(procedure: Procedure, one: Pass, command: WireCommand) -> str:
    """Return why the run of a pass is never sent with its seconds; empty when they are allowed."""
    try:
        run_s = seconds(one.seconds, place=f"pass {one.id}, seconds")
        start_payload(command, run_s)
    except InputError as error:
        return str(error)
    longest = longest_s(procedure, command)
    if run_s <= 0 or run_s > longest:
        return f"{run_s} s are asked for, at most {longest} s are allowed"
    observed = command.observed if command.origin == "learned" and HOLE in command.start else None
    least = min(observed.seconds, default=0) if observed is not None else 0
    return f"{run_s} s are asked for, at least {least} s were ever seen" if run_s < least else ""


def unfit_passes(procedure: Procedure, passes: Iterable[Pass], known: ProtocolMap | None) -> dict[str, str]:
    """Return for each pass whose run would never be sent, by its id, why; those without a wire command never are."""
    commands = {one.id: one for one in known.wire_commands} if known is not None else {}
    found = {
        one.id: unfit(procedure, one, commands[one.wire_command]) for one in passes if one.wire_command in commands
    }
    return {name: why for name, why in found.items() if why}


def require_fit(procedure: Procedure, passes: Iterable[Pass], known: ProtocolMap | None, *, besides: str = "") -> None:
    """Raise InputError, naming each pass, what it asks and what is allowed, when one would never be sent.

    `besides` is one more way on than to write other documents.
    """
    chosen = tuple(passes)
    runs = {one.id: one.wire_command for one in chosen}
    wrong = unfit_passes(procedure, chosen, known)
    if wrong:
        said = "; ".join(f"pass {name} ({runs[name]}): {why}" for name, why in wrong.items())
        raise InputError(f"{said}: it would be refused when it is to be sent", place="procedure", hint=WAY_ON + besides)
