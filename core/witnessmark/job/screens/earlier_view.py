"""The view of what an earlier job left open: each thing in words of its own, and keys that say what was done to it.

A step of `steps.look_first` flows in, one view flows out. Rules that hold here: what stands open on the vehicle is
closed or let off, a service mode that is on is left or the vehicle held as its caution says, nothing else passes it;
what was not met, or is without proof, is right now, or stays so with a reason: no key says that it is right where it
only was read; what only the earlier record could show is read, and its one key says no more.
"""

from __future__ import annotations

from witnessmark.job.reasons import NO, STAYS
from witnessmark.job.view import Button, View
from witnessmark.job.walk.steps import LEFT, STANDS, THE_RECORD, Point
from witnessmark.procedure import service_mode

MANY = "no proof of "
NOT_SAFE = "This job has not made it safe yet: no hand to anything but to shut it, let it off or hold the vehicle."
MODE_HELD = "it is held as that says, or the mode is left: looked at, at the vehicle"


def is_earlier(point: Point) -> bool:
    """Whether a point is about what an earlier job left open."""
    return point.step is not None and point.step.id.startswith("earlier-") and point.step.text.startswith(LEFT)


def earlier_view(title: str, point: Point, caution: str = "") -> View:
    """Return the view of one thing, or of all that is without proof, a line each; `caution` holds for the whole job."""
    step = point.step
    assert step is not None
    thing = step.text.removeprefix(LEFT).strip()
    if thing.startswith(THE_RECORD):
        read = (Button("y", "read: nothing of it is said to be right"),)
        return View(kind="step", title=title, text=step.text, caution=caution, step=step.id, buttons=read, whole=True)
    stands = thing.startswith(STANDS)
    right = "closed, let off: looked at, at the vehicle" if stands else "it is right now: looked at, at the vehicle"
    right = MODE_HELD if thing.startswith(service_mode.SAID) else right
    right = "each is right now: looked at, at the vehicle" if thing.startswith(MANY) else right
    stays = () if stands else (Button("k", "not all of it can be put right, and why", asks=True, reasons=STAYS),)
    no = Button("n", "no, and what you see", asks=True, reasons=NO)
    caution = f"{NOT_SAFE} {caution}".strip() if stands else caution
    buttons = (Button("y", right), *stays, no)
    return View(kind="step", title=title, text=step.text, caution=caution, step=step.id, buttons=buttons, whole=True)
