"""What the job before left open, as the papers of the one that comes back to it name it.

A step's id and the items of the job's opening flow in, words flow out. Rule that holds here: an item that was only read
is never said to be right.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.procedure.safe import ONCE_SAFE

LEFT = "left open by the job before"


def item(step: str, earlier: Sequence[str]) -> str:
    """Return in words which item a step is about, its number where the opening does not name it; empty for another."""
    kind, _, number = step.partition("-")
    if kind != "earlier" or not number.isdecimal():
        return ""
    if not 0 < int(number) <= len(earlier):
        return f"{LEFT}, item {number}"
    first, *more = earlier[int(number) - 1].removeprefix(ONCE_SAFE).splitlines()
    listed = "; ".join(one.removeprefix("- ") for one in more)
    return f"{LEFT}, {first.rstrip('.:')}{f': {listed}' if listed else ''}"


def said_of(act: str, said: str) -> str:
    """Return what was said of an item by the act of its entry, and whether there are words beside."""
    if act == "confirmed":
        return "stays so" if said else "right now"
    return "read" if act == "done" else "not right, or not looked at"
