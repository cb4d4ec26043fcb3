"""What a key means in the view that is shown: keys flow in, commands for the runner flow out. Sans-IO.

Rules that hold here: while anything runs, every key but a button of the view is stop, and so is every key after the
one that starts, before anything was heard of it; armed, every key that means nothing disarms; elsewhere it does
nothing; a view that changes drops what was half typed, so that no key meant for one view acts in another; a number of
which the first digits may have been dropped so is asked once more before it is taken.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Literal

from witnessmark.errors import InputError
from witnessmark.host.face import LIVE
from witnessmark.job.questions import OPENED
from witnessmark.job.view import INSTRUMENT
from witnessmark.job.walk.standing import UNTIL_AT_REST
from witnessmark.quantity import Quantity, convert, parse

Act = Literal["stop", "leave"]
ENTER = ("\r", "\n")
ERASE = ("\x7f", "\x08")
ALL = ("a", "Y")
HANDS = "h"
"""The key that changes whose hands they are, where more than one person is signed on."""
NO_PAUSE = ("paused", "done", "inspect")
"""Views in which there is nothing to pause."""
LEAVE_SO = "!"
"""The key that leaves what stands open as it stands, once that was asked: a key of no view, and of no reading."""
MAY_RUN = ("told", "heard", "inspect")
"""Views of what runs, or may still run, with no stop of ours: no hand is sent to what stands open."""
SHUT_FIRST = "Before you leave: shut it, let it off."
HANDS_CLEAR = "HANDS CLEAR: it may still run. Before you leave: do as the screen says, until it is seen at rest."


class Dialog:
    """The keys of one face. `typed` is a reading or words so far, `asking` the button whose words are typed.

    `picking`: one of its reasons is to be chosen by number. `instrument` is with what it is read, where another than
    the procedure's was named. `pages` is told by the screen, and `unseen`, the questions that do not stand on the page
    that shows; `page` is that page. `early` is told too: what is asked of an answer before its step's time is up.
    `leaving`: it is asked whether what stands open is left so, and again in the view after one of its buttons.
    """

    def __init__(self) -> None:
        self.view: dict[str, Any] = {"kind": "busy"}
        self.typed = ""
        self.asking: dict[str, Any] | None = None
        self.answers: dict[str, bool] = {}
        self.run_state = ""
        self.complaint = ""
        self.picking = self.leaving = False
        self.instrument = ""
        self.page = 0
        self.pages = 1
        self.unseen: tuple[str, ...] = ()
        self.early = ""
        self._doubted = ""
        self._started = False
        self._dropped = self._torn = self._parting = False

    @property
    def live(self) -> bool:
        """Whether a key is stop now."""
        return self._started or self.view.get("kind") == "running" or self.run_state in LIVE

    @property
    def question(self) -> dict[str, Any] | None:
        """The question before arming that is to be answered next."""
        asked = self.view.get("questions", ()) if self.view.get("kind") == "arm" else ()
        return next((one for one in asked if one["id"] not in self.answers), None)

    @property
    def asks_nothing(self) -> bool:
        """Whether it can be armed without an answer: the machine reads all that the procedure wants to know."""
        return self.view.get("kind") == "arm" and not self.view.get("questions")

    def show(self, view: dict[str, Any]) -> None:
        """Take a new view; what was half typed for another is dropped."""
        if view.get("id") != self.view.get("id"):
            self._torn = self._dropped or (bool(self.typed) and self.asking is None)
            self._dropped = False
            self.typed, self.asking, self.answers, self.complaint, self.instrument = "", None, {}, "", ""
            self._started = self.picking = self.leaving = False
            self.page, self._doubted = 0, ""
            if self._parting and view.get("opened") and view.get("kind") not in ("paused", "armed"):
                self.view, self._parting = view, view.get("kind") == "busy"  # that one only waits for the next
                self._leave()
        self.view = view

    def press(self, key: str) -> dict[str, Any] | Act | None:
        """Return what a key asks for: a command, `stop`, `leave`, or nothing."""
        self.complaint, self._dropped = "", False
        if self._started:
            return "stop"
        button = self._button(key)
        self._parting = self.leaving and button is not None
        if self.live:
            return self._key(button) if button else "stop"
        if self.asking is not None:
            return self._words(key)
        asked, self.leaving = self.leaving, False
        if asked and key == LEAVE_SO:
            return "leave"
        if self.question is not None and key in ALL and button is None:
            if self.question.get("alone"):
                self.complaint = "this one has an answer of its own: y or n"
                return None
            if {one["id"] for one in self.view["questions"] if not one.get("alone")} & {*self.unseen} - {*self.answers}:
                self.complaint = "not all of them stand on this page: answer each with y or n"
                return None
            return self._all_yes()
        if self.question is not None and key in ("y", "n"):
            return self._answer(self.question, key == "y")
        if self.asks_nothing and key == "y":
            return self._said()
        if self.view.get("kind") == "reading" and (key in ENTER or key in ERASE or self._fits_reading(key)):
            return self._reading(key)
        if key == "m" and self.pages > 1:
            self.page = (self.page + 1) % self.pages
            return None
        if button is not None:
            if self.view.get("whole") and self.page < self.pages - 1:
                self.page += 1
                self.complaint = "read on first: this is the next page"
                return None
            if button.get("asks"):
                self.asking, self.typed, self.picking = button, "", bool(button.get("reasons"))
                return None
            if key == "y" and self._hurries(key):
                return None
            self._started = self.view.get("kind") == "armed" and key == "s"
            return self._key(button)
        if key == HANDS and self.view.get("hands") and self.view.get("kind") != "armed":
            return {"do": "hands"}
        if key == "p" and self.view.get("kind") not in NO_PAUSE:
            return {"do": "pause", "why": "paused by the technician"}
        if key == "q":
            return self._leave()
        if self.view.get("kind") == "armed":
            return "stop"
        self._dropped = key.isdigit()  # perhaps the first of a number, typed before the view that asks for it
        self.complaint = f"[{key}] does nothing here" if key.isprintable() and key != " " else "that does nothing here"
        return None

    def _leave(self) -> Act | None:
        """Leave; with something open have it shut first, or ask for another key; armed, only disarm.

        A pause has asked already, and what runs was stopped by this key.
        """
        if not self.view.get("opened") or self.view.get("kind") == "paused":
            return "leave"
        if self.view.get("kind") == "armed":
            return "stop"
        self.leaving = True
        stands = " ".join(self.view.get("stands", ())) or self.view["opened"]
        clear = self.view.get("kind") in MAY_RUN or UNTIL_AT_REST in stands
        first = HANDS_CLEAR if clear else SHUT_FIRST
        self.complaint = f"{stands} {first} Or [{LEAVE_SO}]: it is left so, on record."
        return None

    def _button(self, key: str) -> dict[str, Any] | None:
        return next((one for one in self.view.get("buttons", ()) if one["key"] == key), None)

    def _say(self, button: dict[str, Any], said: str) -> dict[str, Any] | None:
        """Send words with their button; an instrument waits for its reading."""
        if button["key"] != INSTRUMENT:
            return self._key(button, said)
        self.instrument, self.typed = said, ""
        return None

    def _key(self, button: dict[str, Any], said: str = "") -> dict[str, Any]:
        command = {"do": "key", "view": self.view.get("id", ""), "key": button["key"]}
        return {**command, "said": said} if said else command

    def _answer(self, question: dict[str, Any], yes: bool) -> dict[str, Any] | None:
        self.answers[question["id"]] = yes
        opened = question["id"] == OPENED  # a nipple that is open is recorded before anything else is asked
        return None if yes and self.question is not None and not opened else self._said()

    def _all_yes(self) -> dict[str, Any] | None:
        """One touch for all questions of this pass that stand on the screen, but those with a touch of their own."""
        self.answers |= {one["id"]: True for one in self.view.get("questions", ()) if not one.get("alone")}
        return None if self.question is not None else self._said()

    def _said(self) -> dict[str, Any]:
        answers, self.answers = self.answers, {}
        return {"do": "answers", "view": self.view.get("id", ""), "answers": answers}

    def _words(self, key: str) -> dict[str, Any] | None:
        button = self.asking
        assert button is not None
        if key == "\x1b":
            self.asking, self.typed, self.picking = None, "", False
        elif self.picking:
            return self._pick(button, key)
        elif key in ENTER:
            self.complaint = _wanting(button, self.typed)
            if self.complaint:
                return None
            said, self.asking, self.typed = self.typed.strip(), None, ""
            return self._say(button, said)
        else:
            self._edit(key)
        return None

    def _pick(self, button: dict[str, Any], key: str) -> dict[str, Any] | None:
        """Take a reason by its number, or go on to words of one's own."""
        reasons = button["reasons"]
        if key == "0":
            self.picking = False
        elif key in "123456789" and int(key) <= len(reasons):
            self.asking, self.picking = None, False
            return self._say(button, reasons[int(key) - 1])
        else:
            self.complaint = f"press 1 to {len(reasons)}, 0 for other words, Esc to go back"
        return None

    def _fits_reading(self, key: str) -> bool:
        """A digit or sign of a number; after a blank, letters of a unit."""
        return key in "0123456789.,- " or (" " in self.typed and key.isprintable())

    def _reading(self, key: str) -> dict[str, Any] | None:
        if key not in ENTER:
            if self._doubted and self._doubted == self.typed and key in "0123456789.,-":
                self.typed = ""  # the number again, in place of the doubtful one
            self._edit(key)
            return None
        unit = str(self.view.get("unit", "")) or "1"
        try:
            entered = parse(self.typed, place="reading", unit=unit)
            command: dict[str, Any] = {
                "do": "reading", "view": self.view.get("id", ""), "value": entered.value, "unit": entered.unit,
            }  # fmt: skip
            if self.instrument:
                command["instrument"] = self.instrument
            same = entered.value if entered.unit == unit else _same(entered, unit)
            if self._doubts(same, entered):
                return None
        except InputError as error:
            self.complaint = f"{error.what}; {error.hint}"
            return None
        self.typed, self._torn = "", False
        return command

    def _hurries(self, key: str) -> bool:
        """Ask once about an answer that comes too soon, or that its view doubts: the same key again gives it."""
        doubt, times = str(self.view.get("doubt", "")), "; the record shows the times" if self.early else ""
        asks = " ".join(one for one in (doubt, self.early) if one)
        if not asks or self._doubted == key:
            return False
        self._doubted, self.complaint = key, f"{asks} The same key again says so{times}."
        return True

    def _doubts(self, value: str, entered: Quantity) -> bool:
        """Ask once more about a value that can hardly be: the same Enter again takes it."""
        least, most = self.view.get("least"), self.view.get("most")
        low, high = Decimal(least or "-Infinity"), Decimal(most or "Infinity")
        likely = low <= Decimal(value) <= high and not self._torn
        if likely or self._doubted == self.typed:
            return False
        self._doubted = self.typed
        early = "keys came before this was asked. " if self._torn else ""
        self.complaint = (
            f"{early}REALLY {entered.value} {entered.unit}? It is taken as read with Enter again; else type it anew"
        )
        return True

    def _edit(self, key: str) -> None:
        if key in ERASE:
            self.typed = self.typed[:-1]
        elif key.isprintable() and len(self.typed) < 200:
            self.typed += key


def _wanting(button: dict[str, Any], typed: str) -> str:
    """Return what is missing in words before they are sent, so that they are not lost; empty when nothing is."""
    first, _, rest = typed.strip().partition(" ")
    if not first:
        return "say it in a word or two, then Enter"
    starts = button.get("starts")
    if starts and (first not in starts or not rest.strip()):
        return f"begin with one of {', '.join(starts)}, then say why"
    return ""


def _same(entered: Quantity, unit: str) -> str:
    """Return the value in another unit, with a digit more than anybody reads off a gauge."""
    return f"{convert(entered, unit):.4f}".rstrip("0").rstrip(".")
