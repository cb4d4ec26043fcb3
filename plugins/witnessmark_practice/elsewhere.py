"""What came of a run that another tester was asked to make: said once the control unit has answered its start.

What the hands say flows in, one line flows out. Rule that holds here: a run that was refused, or not answered, is never
said to run.
"""

from __future__ import annotations

import select
from collections.abc import Callable

from witnessmark.wire.uds.codes import nrc_name

ASKED = "asked; what was answered: read tester"
NOTHING = "no answer"
PENDING = "78"
LOOKS, EVERY_S = 70, 0.1
"""So often, and after so many real seconds each: as long as another tester waits for an answer."""


def came_of(read: Callable[[], str], wait: Callable[[], object] | None = None) -> str:
    """Return what was answered to a start, in words; `read` gives all answers so far in hex."""
    pause = wait or (lambda: select.select([], [], [], EVERY_S))
    for _ in range(LOOKS):
        answers = read()
        last = "" if answers == NOTHING else answers.split()[-1]
        if last.startswith("7F") and not last.endswith(PENDING):
            code = last[4:6]
            return f"refused: {last} ({nrc_name(int(code, 16))})"
        if last and not last.startswith("7F"):
            return f"running: answered {answers}"
        pause()
    return "asked, and no answer to its start: it may run"
