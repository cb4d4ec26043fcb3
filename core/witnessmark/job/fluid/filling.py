"""How much went in as the reservoir was filled up before a pass, or was drawn off where it stood too high at the end.

A view flows in, that view or the one that asks for the volume flows out. Rules that hold here: it is asked for once;
how much went in may be left unread with one key; nothing is recorded before the volume, or that nobody read it, is
said: until then what stood there is asked for; whatever else is shown between forgets it.
"""

from __future__ import annotations

from decimal import Decimal

from msgspec.structs import replace

from witnessmark.job.fluid.tank import DRAWN, DRAWN_OFF, FILLED, LEVEL, to_ml
from witnessmark.job.plausible import bounds
from witnessmark.job.screens.level_view import FULL, lid_view
from witnessmark.job.screens.step_view import DRAW
from witnessmark.job.view import Button, View
from witnessmark.job.walk.state import LEVEL_LOOK, JobState, ReadingState

ML = "mL"
UNREAD, NOT_YET = "n", "x"
BUTTONS = (Button(UNREAD, "not read: no proof of how much went in"), Button(NOT_YET, "it is not filled yet"))
NOT_DRAWN = (Button(NOT_YET, "nothing is drawn off"),)


class Filling:
    """What was said, at the view that stands, to be done at the reservoir: `FILLED`, `DRAWN`, or nothing."""

    def __init__(self) -> None:
        self._said = ""
        self._at: tuple[int, ReadingState | None] = (-1, None)

    def say(self, what: str, state: JobState) -> None:
        self._said, self._at = what, _at(state)

    def forget(self) -> None:
        self._said = ""

    def shown(self, view: View, state: JobState) -> View:
        """Return the view; in the place of the one that asks for the level, one for how much went in or out."""
        if self._said == FILLED and view.step == LEVEL_LOOK and FULL in view.buttons:
            least, most = bounds(FILLED, ML)
            text = "The reservoir is filled up to its mark: read how much went in."
            return replace(
                view, kind="reading", text=text, what=FILLED, unit=ML, least=least, most=most, buttons=BUTTONS
            )
        if self._said == DRAWN and DRAW in view.buttons and self._at == _at(state):
            if state.pressurised and state.point is not None:
                first = lid_view(state, state.point, "draw fluid off.")
                return (
                    first if first.kind == "close" else replace(first, what=DRAWN, buttons=(*first.buttons, *NOT_DRAWN))
                )
            least, most = bounds(DRAWN, ML)
            most = _in_it(state, state.tank.most(DRAWN, ML, most))
            return replace(
                view,
                text="It stands too high: draw fluid off and read how much it was.",
                step=DRAWN_OFF if view.what == LEVEL else view.step,
                what=DRAWN,
                unit=ML,
                low="",
                high="",
                instrument="",
                least=least,
                most=most,
                buttons=NOT_DRAWN,
            )
        self._said = ""
        return view


def _in_it(state: JobState, most: str) -> str:
    """Return the most that can be drawn off: `most`, or what was read last to be in it where that is less."""
    last = state.reading(LEVEL)
    ml = to_ml(last.amount.value, last.amount.unit) if last is not None else None
    return most if ml is None or ml <= 0 else f"{min(Decimal(most), ml).normalize():f}"


def _at(state: JobState) -> tuple[int, ReadingState | None]:
    """Return where the walk stands, and what was drawn off last: it is over once that is another."""
    return state.cursor, state.reading(DRAWN)
