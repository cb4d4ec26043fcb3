"""A precondition against what was read: raw bytes of an answer flow in, text and whether it holds flow out."""

from __future__ import annotations

from decimal import Decimal

from witnessmark.errors import InputError
from witnessmark.job.amount import number, within
from witnessmark.mapping.model import ConditionRead
from witnessmark.procedure.model import Limit, Precondition
from witnessmark.quantity import Quantity

STANDING = "speed"
"""The condition that says whether the vehicle moves: read where the map has it, else asked. It must be 0."""


def request(condition: ConditionRead) -> bytes:
    """Return the request that reads it (22)."""
    return b"\x22" + bytes.fromhex(condition.identifier)


def value(condition: ConditionRead, payload: bytes) -> str:
    """Return what a positive answer says: the name of the raw value, or number and unit.

    Raises InputError when the answer is too short or the raw value has no name.
    """
    start = 3 + condition.offset
    raw = payload[start : start + condition.length]
    if len(raw) < condition.length:
        raise InputError(
            f"the answer {payload.hex().upper()} is too short", place=condition.name, hint="check the map's offset"
        )
    count = int.from_bytes(raw, "big")
    if condition.names:
        name = condition.names.get(str(count))
        if name is None:
            raise InputError(f"raw value {count} has no name", place=condition.name, hint="add it to the map")
        return name
    text = f"{(Decimal(count) * condition.numerator / condition.denominator).normalize():f}"
    return f"{text} {condition.unit}".strip()


def wanted(precondition: Precondition) -> str:
    """Say in a few words what must hold."""
    if precondition.equals:
        return precondition.equals
    limit = precondition.limit
    if limit is None:
        return precondition.text
    if limit.low and limit.high:
        return f"{limit.low} to {limit.high}"
    return f"at least {limit.low}" if limit.low else f"at most {limit.high}"


def asked(precondition: Precondition) -> str:
    """Return it as a person is asked for it: in its words, with the limit that what is read must keep."""
    limit = precondition.limit is not None and not precondition.equals
    return f"{precondition.text} ({wanted(precondition)})" if limit else precondition.text


def holds(precondition: Precondition, found: str) -> bool:
    """Whether what was found is what is wanted. Raises InputError when the two cannot be compared."""
    if precondition.equals:
        return found == precondition.equals
    if precondition.limit is None:
        raise InputError(
            "it says neither what it equals nor a limit", place=precondition.name, hint="add one to the procedure"
        )
    text, _, unit = found.partition(" ")
    number(text, place=precondition.name)
    return within(Quantity(text, unit), precondition.limit) is True


def moves(found: str) -> bool:
    """Whether a speed that was read is anything but 0. Raises InputError when it is no number."""
    return number(found.partition(" ")[0], place=STANDING) != 0


def all_of(preconditions: tuple[Precondition, ...], conditions: dict[str, ConditionRead]) -> tuple[Precondition, ...]:
    """Return the procedure's preconditions and, where the map can read it, that the vehicle stands still."""
    speed = conditions.get(STANDING)
    if speed is None or STANDING in {one.name for one in preconditions}:
        return preconditions
    return (*preconditions, Precondition(STANDING, "The vehicle stands still", limit=Limit(high=f"0 {speed.unit}")))
