"""Amounts as the runner needs them: seconds of a time, and a value against a band in the same unit.

Rule that holds here: no unit is converted but units of time, so that the process that owns the wire needs no unit
library; a reading in another unit comes with its converted value from the face, and keeps what was entered.
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from witnessmark.errors import InputError
from witnessmark.procedure.model import Limit
from witnessmark.quantity import Quantity, parse

SECONDS = {"s": 1, "min": 60, "h": 3600, "d": 86_400}


def seconds(text: str, *, place: str = "time") -> Decimal:
    """Return the seconds of a time such as `20 s` or `2 min`. Raises InputError naming `place` for anything else."""
    quantity = parse(text, place=place)
    if quantity.unit not in SECONDS:
        raise InputError(f"{text!r} is not a time", place=place, hint="write it like 20 s or 2 min")
    return quantity.number * SECONDS[quantity.unit]


def written_s(text: str) -> str:
    """Return a time as a number of seconds, as an entry has it: `1.5 min` is 90; empty for none."""
    return f"{seconds(text).normalize():f}" if text else ""


def number(text: str, *, place: str) -> Decimal:
    """Return a decimal number; a comma counts as a point. Raises InputError naming `place`."""
    try:
        value = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        value = Decimal("NaN")
    if not value.is_finite():
        raise InputError(f"{text!r} is not a number", place=place, hint="write a number like 2.1")
    return value


def unit_of(limit: Limit | None, otherwise: str = "") -> str:
    """Return the unit a band is written in, or `otherwise` where it has none."""
    for end in (limit.low, limit.high) if limit else ():
        if end:
            return parse(end, place="limit").unit
    return otherwise


def within(value: Quantity, limit: Limit | None) -> bool | None:
    """Say whether `value` lies in the band, ends included; None when there is no band.

    Raises InputError when value and band have different units.
    """
    if limit is None or not (limit.low or limit.high):
        return None
    for end, sign in ((limit.low, 1), (limit.high, -1)):
        if not end:
            continue
        bound = parse(end, place="limit")
        if bound.unit != value.unit:
            raise InputError(
                f"{value} cannot be compared with {end} here", place="reading", hint=f"enter it in {bound.unit}"
            )
        if (value.number - bound.number) * sign < 0:
            return False
    return True
