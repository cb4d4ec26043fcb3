"""The date of a stand's clock, as this machine reckons it: a pause of a test is to lie within one, or across two."""

from __future__ import annotations

from datetime import datetime, timedelta

from tests.job.stand import Stand


def to_midnight_s(stand: Stand) -> float:
    """Return how many seconds it is to the next date here."""
    now = datetime.fromtimestamp(stand.clock.stamp().wall_ns / 1e9)
    return (datetime.combine(now.date() + timedelta(days=1), datetime.min.time()) - now).total_seconds()


def early(stand: Stand) -> Stand:
    """Return the stand on a day with room for eight hours."""
    if to_midnight_s(stand) < 8 * 3600:
        stand.clock.advance(8 * 3600)
    return stand
