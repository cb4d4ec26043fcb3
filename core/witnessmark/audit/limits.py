"""A reading against a band: inside or not, and the band in words."""

from __future__ import annotations

from functools import lru_cache

from witnessmark import quantity
from witnessmark.procedure.model import Limit
from witnessmark.quantity import Quantity


def inside(amount: Quantity, limit: Limit) -> bool:
    """Say whether the amount lies in the band, its ends included. Raises InputError for a unit of another kind."""
    if limit.low and quantity.compare(amount, _bound(limit.low)) < 0:
        return False
    return not (limit.high and quantity.compare(amount, _bound(limit.high)) > 0)


@lru_cache(maxsize=256)
def _bound(text: str) -> Quantity:
    """Read an end of a band; the same few are asked of every reading."""
    return quantity.parse(text, place="limit")


def spell(limit: Limit) -> str:
    """Return the band in words, as `band` does."""
    return band(limit.low, limit.high)


def band(low: str, high: str) -> str:
    """Return `1.8 bar to 2.2 bar`, `at least 1.8 bar` or `at most 2.2 bar`."""
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else "no limit"
