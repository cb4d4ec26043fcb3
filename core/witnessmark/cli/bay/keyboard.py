"""Keys, one at a time, without Enter. Standard input may also be a pipe, whose end means that nobody is there."""

from __future__ import annotations

import codecs
import contextlib
import os
import sys
from types import TracebackType
from typing import Any


class Keyboard:
    """Reads keys from standard input, in the terminal's cbreak mode while it is entered. Ctrl-C stays a signal."""

    def __init__(self) -> None:
        self._fd = sys.stdin.fileno()
        self._kept: Any = None
        self._decode = codecs.getincrementaldecoder("utf-8")(errors="replace").decode
        self.gone = False

    def fileno(self) -> int:
        return self._fd

    def read(self) -> list[str]:
        """Return the keys that have come; call it when the descriptor can be read. Sets `gone` at the end of input."""
        try:
            data = os.read(self._fd, 1024)
        except OSError:  # the terminal was hung up
            data = b""
        self.gone = not data
        return list(self._decode(data, final=not data))

    def __enter__(self) -> Keyboard:
        if os.isatty(self._fd):
            import termios
            import tty

            self._kept = termios.tcgetattr(self._fd)
            tty.setcbreak(self._fd)
            mode = termios.tcgetattr(self._fd)
            mode[0] &= ~termios.IXON  # Ctrl-S would freeze the screen, and with it the key that stops
            termios.tcsetattr(self._fd, termios.TCSANOW, mode)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._kept is not None:
            import termios

            with contextlib.suppress(termios.error):  # the terminal is gone
                termios.tcsetattr(self._fd, termios.TCSADRAIN, self._kept)
