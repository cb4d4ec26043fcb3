"""The clock that a job lives by, for whatever is written of it beside its runner.

A shop and a job flow in, the shop on the job's clock and which one it is, in words, flow out. Rules that hold here: a
job lives by one clock; a practice job's is its vehicle's own, and while that vehicle does not run only the system's is
left, which is said; on every other job it is the system's and nothing needs to be said.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.errors import WitnessmarkError
from witnessmark.host.shop import Shop
from witnessmark.host.speaking import clock_of


def on_its_clock(shop: Shop, job: str | None) -> tuple[Shop, str]:
    """Return the shop on the clock of a job, and a line that says which where there could be two."""
    if job is None:
        return shop, ""
    with shop.read() as journal:
        first, rates = None, {1}
        for entry in journal.entries(job):
            first = first or entry
            rates.add(entry.recorded.rate)
    if first is None or rates == {1}:
        return shop, ""
    fast = max(rates)
    try:
        clock = clock_of(str(first.body.get("link", "")))
    except WitnessmarkError:
        clock = shop.clock
    if clock.rate == 1:
        return shop, (
            f"time: the system's clock. This job lived by a practice vehicle's, {fast} times as fast, which does not "
            "run: this entry may show an earlier time than those before it"
        )
    return replace(shop, clock=clock), f"time: the practice vehicle's clock, {fast} times as fast as real time"
