"""What a condition's answer means: raw bytes flow in, a value or its name flows out, as the map says."""

from __future__ import annotations

from fractions import Fraction

from witnessmark.errors import InputError
from witnessmark.mapping.model import ConditionRead


def raw_of(condition: ConditionRead, record: bytes) -> int:
    """Return the raw number in a record (what follows the identifier). Raises InputError when it is too short."""
    part = record[condition.offset : condition.offset + condition.length]
    if len(part) != condition.length:
        raise InputError(
            f"the answer has {len(record)} bytes, too few", place=condition.name, hint="the map says where it stands"
        )
    return int.from_bytes(part, "big")


def number_of(condition: ConditionRead, record: bytes) -> Fraction:
    """Return the value in the condition's unit."""
    return Fraction(raw_of(condition, record) * condition.numerator, condition.denominator)


def name_in(condition: ConditionRead, record: bytes) -> str:
    """Return the name that the map gives the raw value; empty when it gives none."""
    return condition.names.get(str(raw_of(condition, record)), "")
