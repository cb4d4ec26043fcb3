"""One line at the foot of a terminal: a count that goes on, and beside it what a person is typing.

Keys flow in, whole lines and the picture of the line flow out. Sans-IO. Rule that holds here: the count never moves
what is being typed, however often it is drawn anew.
"""

from __future__ import annotations

from collections.abc import Iterable

ENTER = ("\r", "\n")
ERASE = ("\x7f", "\x08")
LONGEST = 200
CLEAR = "\r\x1b[K"
"""To the beginning of the line, and nothing after it (ECMA-48, EL)."""


class TypedLine:
    """`typed` is what was typed so far."""

    def __init__(self) -> None:
        self.typed = ""

    def press(self, keys: Iterable[str]) -> list[str]:
        """Take keys; return the lines that they completed, without those that say nothing."""
        whole = []
        for key in keys:
            if key in ENTER:
                if self.typed.strip():
                    whole.append(self.typed.strip())
                self.typed = ""
            elif key in ERASE:
                self.typed = self.typed[:-1]
            elif key.isprintable() and len(self.typed) < LONGEST:
                self.typed += key
        return whole

    def draw(self, count: str, width: int) -> str:
        """Return what draws the line anew, within `width` columns: of long words the end shows."""
        head = f"{count} | "
        room = max(8, width - len(head) - 2)
        return f"{CLEAR}{head}{self.typed[-room:]}_"
