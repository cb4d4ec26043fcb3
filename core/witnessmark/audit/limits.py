"""A reading against a band: inside or not, and the band in words."""

from __future__ import annotations

from functools import lru_cache

from witnessmark import quantity
from witnessmark.procedure.model import Limit
from witnessmark.quantity import Quantity


def inside(amount: Quantity, limit: Limit) -> bool:
    """Say whether the amount lies in the band, its ends included. Raises InputError for a unit of another kind."""
    return _inside(amount.value, amount.unit, limit.low, limit.high)


@lru_cache(maxsize=4096)
def _inside(value: str, unit: str, low: str, high: str) -> bool:
    """Compare with both ends; the same few readings are asked of the same few bands."""
    amount = Quantity(value, unit)
    if low and quantity.compare(amount, quantity.parse(low, place="limit")) < 0:
        return False
    return not (high and quantity.compare(amount, quantity.parse(high, place="limit")) > 0)


def spell(limit: Limit) -> str:
    """Return the band in words, as `band` does."""
    return band(limit.low, limit.high)


def band(low: str, high: str) -> str:
    """Return `1.8 bar to 2.2 bar`, `at least 1.8 bar` or `at most 2.2 bar`."""
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else "no limit"
