"""A link opened for a short conversation outside any job, on the clock that the vehicle lives by.

An address flows in, a conversation flows out; the link is closed whatever happens. A real vehicle lives by the
system's clock, a practice vehicle by its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from witnessmark.clock import Clock, PracticeClock, SystemClock
from witnessmark.errors import WitnessmarkError
from witnessmark.hookspecs import Practice
from witnessmark.host import plugins
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.timing import FLOOR_REAL_S


def clock_of(address: str) -> Clock:
    """Return the clock of the vehicle behind an address."""
    workshop = plugins.practice(address)
    return SystemClock() if workshop is None else PracticeClock(workshop.rate, workshop.origin)


def unknown_to_hands(workshop: Practice | None, wanted: Iterable[str]) -> str:
    """Say which nipples the hands around a practice vehicle do not have; empty where they have all, or cannot tell."""
    try:
        known = workshop.do("read", "nipples").split() if workshop is not None else []
    except WitnessmarkError:
        known = []
    if not known:
        return ""
    strange = [name for name in dict.fromkeys(wanted) if name not in known]
    if not strange:
        return ""
    return (
        f"the practice vehicle has the nipples {', '.join(known)}, and not {', '.join(strange)}: "
        "at those its hands open, close and torque nothing, and a run is made with them shut"
    )


@contextmanager
def opened(address: str, *, listen_only: bool = False) -> Iterator[tuple[FrameLink | MessageLink, Clock]]:
    """Open the link at `address` and close it at the end. Raises what opening it raises."""
    clock = clock_of(address)
    link = plugins.open_link(address, clock, listen_only)
    try:
        yield link, clock
    finally:
        link.close()


@contextmanager
def conversation(address: str, *, floor_real_s: float = FLOOR_REAL_S) -> Iterator[Conversation]:
    """Open the link at `address` and hold a conversation over it. `floor_real_s` is the least added to P2."""
    with opened(address) as (link, clock):
        yield Conversation(link, clock, floor_real_s=floor_real_s)
