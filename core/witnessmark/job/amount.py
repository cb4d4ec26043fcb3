"""Amounts as the runner needs them: seconds of a time, and a value against a band, each end in its own unit.

Rules that hold here: units are compared by their exact ratios, so that the process that owns the wire needs no unit
library; what was entered is never rewritten.
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from fractions import Fraction

from witnessmark.errors import InputError
from witnessmark.procedure.model import Limit, Step
from witnessmark.quantity import Quantity, parse

SECONDS = {"s": 1, "min": 60, "h": 3600, "d": 86_400}
_POUND_FORCE = Fraction("4.4482216152605")
_EXACT: dict[str, dict[str, Fraction | int]] = {
    "pressure": {
        "bar": 100_000, "kPa": 1000, "MPa": 1_000_000,
        "psi": _POUND_FORCE / Fraction("0.0254") ** 2,
        "inHg": Fraction("0.0254") * Fraction("13595.1") * Fraction("9.80665"),
    },
    "volume": {"mL": 1, "L": 1000},
    "time": dict(SECONDS),
    "torque": {"N.m": 1, "lbf.ft": _POUND_FORCE * Fraction("0.3048"), "lbf.in": _POUND_FORCE * Fraction("0.0254")},
    "length": {"mm": 1, "cm": 10, "m": 1000, "in": Fraction("25.4"), "ft": Fraction("304.8")},
    "temperature": {"degC": 1, "degF": Fraction(5, 9)},
}  # fmt: skip
"""How many of one unit of its kind each unit is, exactly: NIST SP 811, appendix B (a pound-force is 4.4482216152605 N,
an inch 25.4 mm, an inch of mercury that of 13 595.1 kg/m3 under 9.806 65 m/s2)."""
_NOUGHT = {"degF": 32}
"""What a thermometer shows of it at the nought of the other."""


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


def asked_in(step: Step, limit: Limit | None) -> str:
    """Return the unit that a reading is asked for in: the step's own where it is given, else that of its band."""
    return step.unit or unit_of(limit)


def within(value: Quantity, limit: Limit | None) -> bool | None:
    """Say whether `value` lies in the band, ends included; None when there is no band.

    Raises InputError when value and band are of different kinds.
    """
    if limit is None or not (limit.low or limit.high):
        return None
    for end, sign in ((limit.low, 1), (limit.high, -1)):
        if not end:
            continue
        bound = parse(end, place="limit")
        if not of_a_kind(value.unit, bound.unit):
            raise InputError(
                f"{value} cannot be compared with {end} here", place="reading", hint=f"enter it in {bound.unit}"
            )
        if (_exact(value) - _exact(bound)) * sign < 0:
            return False
    return True


def of_a_kind(unit: str, other: str) -> bool:
    """Whether two units measure one kind of thing."""
    return unit == other or any({unit, other} <= units.keys() for units in _EXACT.values())


def _exact(value: Quantity) -> Fraction:
    ratio = next((units[value.unit] for units in _EXACT.values() if value.unit in units), 1)
    return (Fraction(value.number) - _NOUGHT.get(value.unit, 0)) * ratio
