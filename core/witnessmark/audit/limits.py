"""A reading against a band: inside or not, and the band in words."""

from __future__ import annotations

from witnessmark import quantity
from witnessmark.procedure.model import Limit
from witnessmark.quantity import Quantity


def inside(amount: Quantity, limit: Limit) -> bool:
    """Say whether the amount lies in the band, its ends included. Raises InputError for a unit of another kind."""
    if limit.low and quantity.compare(amount, quantity.parse(limit.low, place="limit")) < 0:
        return False
    return not (limit.high and quantity.compare(amount, quantity.parse(limit.high, place="limit")) > 0)


def spell(limit: Limit) -> str:
    """Return `1.8 bar to 2.2 bar`, `at least 1.8 bar` or `at most 2.2 bar`."""
    if limit.low and limit.high:
        return f"{limit.low} to {limit.high}"
    return f"at least {limit.low}" if limit.low else f"at most {limit.high}" if limit.high else "no limit"
