"""Stopping a long command: the first Ctrl-C asks it to end in order, the second ends it at once."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def stoppable() -> Iterator[Callable[[], bool]]:
    """Give a function that says whether Ctrl-C was pressed, or the program was told to end."""
    asked: list[int] = []

    def ask(number: int, frame: FrameType | None) -> None:
        asked.append(number)
        if len(asked) > 1:
            raise KeyboardInterrupt

    before = {number: signal.signal(number, ask) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield lambda: bool(asked)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
