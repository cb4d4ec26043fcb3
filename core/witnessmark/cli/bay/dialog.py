"""What a key means in the view that is shown: keys flow in, commands for the runner flow out. Sans-IO.

Rules that hold here: while anything runs, every key but a button of the view is stop, and so is every key after the
one that starts, before anything was heard of it; armed, every key that means nothing disarms; elsewhere it does
nothing; a view that changes drops what was half typed, so that no key meant for one view acts in another.
"""

from __future__ import annotations

from typing import Any, Literal

from witnessmark.errors import InputError
from witnessmark.host.face import LIVE
from witnessmark.quantity import Quantity, convert, parse

Act = Literal["stop", "leave"]
ENTER = ("\r", "\n")
ERASE = ("\x7f", "\x08")


class Dialog:
    """The keys of one face. `typed` is a reading or words so far, `asking` the button whose words are typed."""

    def __init__(self) -> None:
        self.view: dict[str, Any] = {"kind": "busy"}
        self.typed = ""
        self.asking: dict[str, Any] | None = None
        self.answers: dict[str, bool] = {}
        self.run_state = ""
        self.complaint = ""
        self._started = False

    @property
    def live(self) -> bool:
        """Whether a key is stop now."""
        return self._started or self.view.get("kind") == "running" or self.run_state in LIVE

    @property
    def question(self) -> dict[str, Any] | None:
        """The question before arming that is to be answered next."""
        asked = self.view.get("questions", ()) if self.view.get("kind") == "arm" else ()
        return next((one for one in asked if one["id"] not in self.answers), None)

    def show(self, view: dict[str, Any]) -> None:
        """Take a new view; what was half typed for another is dropped."""
        if view.get("id") != self.view.get("id"):
            self.typed, self.asking, self.answers, self.complaint = "", None, {}, ""
            self._started = False
        self.view = view

    def press(self, key: str) -> dict[str, Any] | Act | None:
        """Return what a key asks for: a command, `stop`, `leave`, or nothing."""
        self.complaint = ""
        if self._started:
            return "stop"
        button = self._button(key)
        if self.live:
            return self._key(button) if button else "stop"
        if self.asking is not None:
            return self._words(key)
        if self.question is not None and key == "Y":
            if self.question.get("alone"):
                self.complaint = "this one has an answer of its own: y or n"
                return None
            return self._all_yes()
        if self.question is not None and key in ("y", "n"):
            return self._answer(self.question, key == "y")
        if self.view.get("kind") == "reading" and (key in ENTER or key in ERASE or self._fits_reading(key)):
            return self._reading(key)
        if button is not None:
            if button.get("asks"):
                self.asking, self.typed = button, ""
                return None
            self._started = self.view.get("kind") == "armed" and key == "s"
            return self._key(button)
        if key == "p":
            return {"do": "pause", "why": "paused by the technician"}
        if key == "q":
            return "leave"
        return "stop" if self.view.get("kind") == "armed" else None

    def _button(self, key: str) -> dict[str, Any] | None:
        return next((one for one in self.view.get("buttons", ()) if one["key"] == key), None)

    def _key(self, button: dict[str, Any], said: str = "") -> dict[str, Any]:
        command = {"do": "key", "view": self.view.get("id", ""), "key": button["key"]}
        return {**command, "said": said} if said else command

    def _answer(self, question: dict[str, Any], yes: bool) -> dict[str, Any] | None:
        self.answers[question["id"]] = yes
        if yes and self.question is not None:
            return None
        answers, self.answers = self.answers, {}
        return {"do": "answers", "view": self.view.get("id", ""), "answers": answers}

    def _all_yes(self) -> dict[str, Any]:
        """One touch for all questions of this pass that stand on the screen."""
        answers = self.answers | {one["id"]: True for one in self.view.get("questions", ())}
        self.answers = {}
        return {"do": "answers", "view": self.view.get("id", ""), "answers": answers}

    def _words(self, key: str) -> dict[str, Any] | None:
        button = self.asking
        assert button is not None
        if key == "\x1b":
            self.asking, self.typed = None, ""
        elif key in ENTER:
            if not self.typed.strip():
                self.complaint = "say it in a word or two, then Enter"
                return None
            said, self.asking, self.typed = self.typed.strip(), None, ""
            return self._key(button, said)
        else:
            self._edit(key)
        return None

    def _fits_reading(self, key: str) -> bool:
        """A digit or sign of a number; after a blank, letters of a unit."""
        return key in "0123456789.,- " or (" " in self.typed and key.isprintable())

    def _reading(self, key: str) -> dict[str, Any] | None:
        if key not in ENTER:
            self._edit(key)
            return None
        unit = str(self.view.get("unit", "")) or "1"
        try:
            entered = parse(self.typed, place="reading", unit=unit)
            command: dict[str, Any] = {
                "do": "reading", "view": self.view.get("id", ""), "value": entered.value, "unit": entered.unit,
            }  # fmt: skip
            if entered.unit != unit:
                command["as"] = {"value": _same(entered, unit), "unit": unit}
        except InputError as error:
            self.complaint = f"{error.what}; {error.hint}"
            return None
        self.typed = ""
        return command

    def _edit(self, key: str) -> None:
        if key in ERASE:
            self.typed = self.typed[:-1]
        elif key.isprintable() and len(self.typed) < 200:
            self.typed += key


def _same(entered: Quantity, unit: str) -> str:
    """Return the value in another unit, with a digit more than anybody reads off a gauge."""
    return f"{convert(entered, unit):.4f}".rstrip("0").rstrip(".")
