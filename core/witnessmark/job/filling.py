"""How much went in as the reservoir was filled up before a pass: asked for once, and left unread with one key.

A view flows in, that view or the one that asks for the volume flows out. Rules that hold here: nothing is recorded
before the volume, or that nobody read it, is said: until then the level is asked for; whatever else is shown between
forgets it.
"""

from __future__ import annotations

from msgspec.structs import replace

from witnessmark.job.plausible import bounds
from witnessmark.job.screens.level_view import FULL
from witnessmark.job.state import LEVEL_LOOK
from witnessmark.job.tank import FILLED
from witnessmark.job.view import Button, View

ML = "mL"
UNREAD, NOT_YET = "n", "x"
BUTTONS = (Button(UNREAD, "not read: no proof of how much went in"), Button(NOT_YET, "it is not filled yet"))


class Filling:
    """Whether it was said, at the view that stands, that the reservoir was filled up."""

    def __init__(self) -> None:
        self._said = False

    def say(self) -> None:
        self._said = True

    def forget(self) -> None:
        self._said = False

    def shown(self, view: View) -> View:
        """Return the view; in the place of the one that asks for the level, one for how much went in."""
        self._said = self._said and view.step == LEVEL_LOOK and FULL in view.buttons
        if not self._said:
            return view
        least, most = bounds(FILLED, ML)
        text = "The reservoir is filled up to its mark: read how much went in."
        return replace(view, kind="reading", text=text, what=FILLED, unit=ML, least=least, most=most, buttons=BUTTONS)
