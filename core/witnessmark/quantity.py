"""A value and its unit exactly as they were entered; compared through pint.

Rules that hold here: the text of the value is never rewritten, so a sheet prints what was read off the gauge, and no
number is ever printed with an exponent; only where it is shown does a unit get its sign; a comparison converts, and
refuses units of another dimension. Pint is imported on first use: it is slow to import.
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from functools import cache, lru_cache
from math import isfinite
from typing import Any

import msgspec

from witnessmark.errors import InputError

UNITS: dict[str, str] = {
    "bar": "bar", "kPa": "kilopascal", "MPa": "megapascal", "psi": "psi", "inHg": "inch_Hg",
    "mL": "milliliter", "L": "liter", "s": "second", "min": "minute", "h": "hour", "d": "day",
    "V": "volt", "N.m": "newton * meter", "lbf.ft": "pound_force * foot", "lbf.in": "pound_force * inch",
    "mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch", "ft": "foot", "degC": "degC", "degF": "degF",
    "km/h": "kilometer / hour", "turn": "turn", "%": "percent", "1": "",
}  # fmt: skip
"""Units that may be entered, as the trade writes them, and pint's name of each."""
SIGNS = {"degC": "\u00b0C", "degF": "\u00b0F", "N.m": "N\u00b7m", "lbf.ft": "lbf\u00b7ft", "lbf.in": "lbf\u00b7in"}
"""What a person reads where a unit is entered with plain letters; the signs are as NIST SP 811 prints them."""
KEYS = {sign: unit for unit, sign in SIGNS.items()}
LIKELY = {
    "nm": "N.m", "ftlb": "lbf.ft", "lbft": "lbf.ft", "ftlbf": "lbf.ft", "inlb": "lbf.in", "lbin": "lbf.in",
    "inlbf": "lbf.in", "cc": "mL", "ccm": "mL", **{unit.lower(): unit for unit in UNITS},
}  # fmt: skip
"""What is typed for a unit, by its letters alone, and the unit that is meant."""
MOST_DIGITS = 20
"""Letters of a number at most, more than any gauge shows: a choice of this project."""
_ENTERED = re.compile(rf"(?<![\w.])(?:{'|'.join(map(re.escape, SIGNS))})(?!\.?\w)")


class Quantity(msgspec.Struct, frozen=True, gc=False):
    """`value` is the decimal text as entered, `unit` a key of `UNITS`."""

    value: str
    unit: str

    def __str__(self) -> str:
        value = f"{self.number:f}" if "e" in self.value.lower() else self.value
        return value if self.unit == "1" else f"{value} {self.unit}"

    @property
    def number(self) -> Decimal:
        return Decimal(self.value)


def printed(text: str) -> str:
    """Return `text` as it is shown to a person, `98 \u00b0C` for `98 degC`; what is recorded stays as entered."""
    if not any(unit in text for unit in SIGNS):
        return text
    return _ENTERED.sub(lambda found: SIGNS[found[0]], text)


def plain(value: float, digits: int = 6) -> str:
    """Return a computed number to so many significant digits, never in exponent form and no whole digit lost."""
    if abs(value) >= 10**digits:
        return f"{value:.0f}"
    return f"{Decimal(f'{value + 0.0:.{digits}g}'):f}"


def parse(text: str, *, place: str, unit: str | None = None) -> Quantity:
    """Read `2.1 bar`, or `2.1` where `unit` says what is meant when none is written.

    A decimal comma is taken as a point. Raises InputError naming `place` when the number or the unit is not understood.
    """
    return _parsed(text, place, unit)


@lru_cache(4096)
def _parsed(text: str, place: str, unit: str | None) -> Quantity:
    """Read what was written; a job asks for the same few again and again."""
    number, _, written = text.strip().partition(" ")
    written = written.strip() or (unit or "")
    written = KEYS.get(written, written)
    number = number.replace(",", ".")
    if not _is_decimal(number):
        raise InputError(f"{text!r} is not a number", place=place, hint="write a number and a unit, like 2.1 bar")
    if len(number) > MOST_DIGITS:
        hint = f"write it with at most {MOST_DIGITS} digits, like 2.1 bar"
        raise InputError(f"a number of {len(number)} digits is not one that was read", place=place, hint=hint)
    if written not in UNITS:
        hint = f"{meant(written)}use one of: {', '.join(sorted(UNITS))}"
        raise InputError(f"unit {written!r} is not known", place=place, hint=hint)
    return Quantity(number, written)


def meant(written: str) -> str:
    """Return the beginning of a hint that names the unit that somebody means who writes so; empty where none is."""
    unit = LIKELY.get(re.sub("[^a-z%]", "", written.lower()))
    return f"did you mean {unit}? Else " if unit else ""


def _is_decimal(number: str) -> bool:
    """Say whether it is a finite number written out."""
    try:
        value = Decimal(number)
    except InvalidOperation:
        return False
    return isfinite(float(value)) and "e" not in number.lower()


def convert(quantity: Quantity, unit: str) -> float:
    """Return the magnitude of `quantity` in `unit` (a key of `UNITS`). Raises InputError when dimensions differ."""
    return _magnitude(quantity.value, quantity.unit, unit)


@lru_cache(4096)
def _magnitude(value: str, written: str, unit: str) -> float:
    """Convert what was entered; a job asks the same few again and again."""
    quantity = Quantity(value, written)
    if written == unit:
        return float(quantity.number)
    registry = _registry()
    try:
        source = registry.Quantity(float(quantity.number), UNITS[quantity.unit])
        return float(source.to(UNITS[unit]).magnitude)
    except Exception as error:
        if type(error).__module__.split(".")[0] != "pint" and not isinstance(error, KeyError):
            raise
        raise InputError(
            f"{quantity} cannot be read in {unit}", place="quantity", hint="enter a unit of the same kind"
        ) from error


def compare(left: Quantity, right: Quantity) -> int:
    """Return -1, 0 or 1 as `left` is less than, equal to or more than `right`, after conversion to `right`'s unit."""
    return _compared(left.value, left.unit, right.value, right.unit)


@lru_cache(4096)
def _compared(value: str, written: str, other: str, unit: str) -> int:
    a, b = _magnitude(value, written, unit), _magnitude(other, unit, unit)
    if abs(a - b) <= 1e-9 * max(abs(a), abs(b)):
        return 0
    return -1 if a < b else 1


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()
