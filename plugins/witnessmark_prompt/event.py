"""The events of a link, made from the lines of an interface."""

from __future__ import annotations

from witnessmark.plugin import Event, EventKind, Peer, Stamp
from witnessmark_prompt.conversation import Line
from witnessmark_prompt.reading import Word

_KIND: dict[str, EventKind] = {
    "accepted": "accepted",
    "refused": "refused",
    "busy": "refused",
    "no_answer": "bus_error",
    "bus_error": "bus_error",
    "bus_off": "bus_off",
    "garbled": "garbled",
    "unknown": "garbled",
}


def word_event(word: Word, line: Line, peer: Peer | None = None) -> Event | None:
    """Return the event of a line that is no data; None for one that the profile says to ignore."""
    kind = _KIND.get(word.means)
    if kind is None:
        return None
    detail = word.detail if word.means in ("accepted", "garbled") else f"{word.means}: {word.detail}"
    return Event(kind, line.stamp, line.raw, detail, peer)


def missing_prompt(line: Line) -> Event:
    """Return the event of a prompt that did not come in time."""
    return Event("garbled", line.stamp, line.raw, "the interface gave no prompt in time; sent without it")


def lost_event(stamp: Stamp, what: str, rest: bytes) -> Event:
    """Return the event of an interface that is gone, with the half line that came last."""
    return Event("lost", stamp, rest, what)


def with_device_time(clock_stamp: Stamp, device_ns: int | None) -> Stamp:
    """Add the interface's own time to a stamp."""
    if device_ns is None:
        return clock_stamp
    return Stamp(clock_stamp.wall_ns, clock_stamp.mono_ns, clock_stamp.boot_ns, device_ns)
