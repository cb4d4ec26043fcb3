"""Hands that follow a job on the practice truck: what the screen asks for is really done to the truck.

A view (what the screen shows) and the answer to it flow in; acts of `hands` flow out. `prepare` does what comes before
an answer and returns what is then seen (a gauge, a bottle); `follow` does what the answer says was done. Rules that
hold here: the hands do only what the screen or the answer names; a view of another vehicle's procedure moves nothing,
nor does a nipple that the truck does not have.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from witnessmark_practice.hydraulics import make_lines

NIPPLES = frozenset(make_lines())
Do = Callable[[str, str, str], str]
"""One act of the hands: act, item, amount; returns what is seen."""

FEED = "2.0 bar"
TORQUE = "8 N.m"
CONTAINER_AGE = "12 d"
LEFT_ML, UPPER_ML, FINAL_ML = 60, 760, 500
"""What is left in the reservoir after drawing off, its upper mark, and the level at the end, in mL."""

TOO_HIGH = "too high"
"""What hands say first where a level that is to be set stands above its mark."""
LOOK, OFF = "level-look", "let-off-to-fill"
"""The step at which the reservoir is looked at before a pass."""
AT_REST = ("paused", "done")
"""Views in which nothing goes on: while the job is paused, and when all its steps are done."""
FOLLOWED: dict[str, tuple[tuple[str, str, str], ...]] = {
    "make-safe": (("park", "", ""), ("supply", "on", ""), ("wake", "", "")),
    "wake": (("wake", "", ""),),
    "feed-on": (("fit-feed", "", ""), ("pressurise", FEED, "")),
    "depressurise": (("depressurise", "", ""),),
    "feed-off": (("remove-feed", "", ""),),
    "pedal": (("pedal", "12", ""),),
}
"""What hands do when a step of the truck's procedure is answered as done."""


class Apprentice:
    """The hands of one truck. Raises what `do` raises."""

    def __init__(self, do: Do) -> None:
        self._do = do
        self._prepared: tuple[str, str] = ("", "")
        self._in_ml = 0

    def prepare(self, view: Mapping[str, Any]) -> str:
        """Do what comes before the answer to `view`; return what is seen, empty where there is nothing to see.

        A view that is shown again moves nothing a second time.
        """
        if self._prepared[0] != view.get("id", ""):
            see = self._SEEN.get(str(view.get("step", "")))
            self._prepared = (str(view.get("id", "")), see(self, view) if see else "")
        return self._prepared[1]

    def follow(self, view: Mapping[str, Any], command: Mapping[str, Any]) -> None:
        """Do what `command`, the answer to `view`, says was done."""
        nipples = [str(name) for name in view.get("nipples", ())]
        if command.get("do") == "answers" and dict(command.get("answers", {})).get("opened"):
            self._turn("open", nipples)
        if view.get("kind") == "arm" and command.get("key") == "k":
            self._turn("close", nipples)
        if command.get("do") == "key" and (view.get("step") in (LOOK, OFF) or view.get("kind") in AT_REST):
            self._at_rest(view, str(command.get("key")), nipples)
            return
        if command.get("do") != "key" or command.get("key") not in ("y", "o"):
            return
        if view.get("kind") == "open" or (command["key"] == "o" and view.get("kind") not in ("step", "reading")):
            self._turn("open", nipples)
        elif view.get("kind") == "close":
            self._turn("close", nipples)
        for act in FOLLOWED.get(str(view.get("step", "")), ()):
            self._do(*act)

    def _at_rest(self, view: Mapping[str, Any], key: str, nipples: list[str]) -> None:
        """Do what is done at the reservoir before a pass, while the job is paused, or at its end."""
        if key == "o":
            self._do("depressurise", "", "")
        elif key == "f" and view.get("step") == LOOK:
            self._do("remove-feed", "", "")
            self._in_ml = max(UPPER_ML - self._level(), 0)
            self._do("refill", f"{self._in_ml} mL", "")
            self._do("fit-feed", "", "")
        elif key == "y" and view.get("kind") == "paused":
            self._turn("close", nipples)

    def on_cue(self, view: Mapping[str, Any]) -> None:
        """Open the nipples of an armed `view`: the countdown has reached zero."""
        self._turn("open", [str(name) for name in view.get("nipples", ())])

    def _turn(self, act: str, nipples: list[str]) -> None:
        for name in (one for one in nipples if one in NIPPLES):
            self._do(act, name, TORQUE if act == "close" else "")

    def _removed(self, view: Mapping[str, Any]) -> str:
        volume = max(self._level() - LEFT_ML, 0)
        self._do("draw-off", f"{volume} mL", "")
        return f"{volume} mL"

    def _filled(self, view: Mapping[str, Any]) -> str:
        volume = max(UPPER_ML - self._level(), 0)
        self._do("refill", f"{volume} mL", "")
        return f"{volume} mL"

    def _topped_up(self, view: Mapping[str, Any]) -> str:
        """Set the level; where it stands too high already, say so, and draw off only once that is asked for."""
        level = self._level()
        if view.get("what") == "volume-drawn":
            return self._draw_off(level - FINAL_ML)
        if level > FINAL_ML:
            return f"{TOO_HIGH}: it stands at {level} mL, {level - FINAL_ML} mL above its mark"
        self._do("refill", f"{FINAL_ML - level} mL", "")
        return f"{FINAL_ML - level} mL"

    def _drawn_off(self, view: Mapping[str, Any]) -> str:
        return self._draw_off(self._level() - FINAL_ML)

    def _draw_off(self, volume_ml: int) -> str:
        self._do("draw-off", f"{max(volume_ml, 0)} mL", "")
        return f"{max(volume_ml, 0)} mL"

    def _pressure(self, view: Mapping[str, Any]) -> str:
        self._do("pressurise", FEED, "")
        return self._do("read", "feed-pressure", "")

    def _torque(self, view: Mapping[str, Any]) -> str:
        if _one(view) not in NIPPLES:
            return ""
        self._turn("close", [_one(view)])
        return self._do("read", f"torque {_one(view)}", "")

    def _bottle(self, view: Mapping[str, Any]) -> str:
        return self._do("empty-bottle", "", "") if view.get("kind") == "reading" else ""

    def _fluid_test(self, view: Mapping[str, Any]) -> str:
        return self._do("read", "boiling-point", "")

    def _container(self, view: Mapping[str, Any]) -> str:
        return CONTAINER_AGE

    def _waste(self, view: Mapping[str, Any]) -> str:
        return self._do("read", "waste", "")

    def _feed_off(self, view: Mapping[str, Any]) -> str:
        """Take the lid off where the step reads the waste as well; elsewhere its answer does."""
        if view.get("kind") != "reading":
            return ""
        self._do("remove-feed", "", "")
        return self._waste(view)

    def _read_level(self, view: Mapping[str, Any]) -> str:
        return self._do("read", "level", "")

    def _look(self, view: Mapping[str, Any]) -> str:
        """Read the level; where the reservoir was just filled, how much went in."""
        return f"{self._in_ml} mL" if view.get("what") == "volume-in" else self._read_level(view)

    def _wheels(self, view: Mapping[str, Any]) -> str:
        return "180 N.m"

    def _level(self) -> int:
        return int(self._do("read", "level", "").partition(" ")[0])

    _SEEN: dict[str, Callable[[Apprentice, Mapping[str, Any]], str]] = {  # noqa: RUF012 - a table, never written to
        "removed": _removed,
        "filled": _filled,
        "pressure": _pressure,
        "torque": _torque,
        "bottle": _bottle,
        "fluid-test": _fluid_test,
        "level-before": _read_level,
        "container-age": _container,
        "waste": _waste,
        "feed-off": _feed_off,
        "topped-up": _topped_up,
        "drawn-off": _drawn_off,
        "level": _read_level,
        LOOK: _look,
        "wheels": _wheels,
    }


def _one(view: Mapping[str, Any]) -> str:
    nipples = view.get("nipples", ())
    return str(nipples[0]) if nipples else ""
