"""The last lines of a face, on the shell's own screen: what came of a run, what stands open, and the way back.

The last view and what the runner said at the end flow in, lines flow out. Rule that holds here: a run whose end nobody
knows is told with what is done by hand.
"""

from __future__ import annotations

import shlex
import sys
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

GO_ON = "Go on with: "
TOLD = "It runs on the other tester, as you said: stop it there. Go on with the job and say what you saw of its end."
"""A run that a person told of and that nobody said to have ended: it goes on whether or not this program does."""


def ending_words(message: Mapping[str, Any]) -> list[str]:
    """Return what of a message belongs on the last lines: how a run ended, and errors."""
    from witnessmark.cli.bay.screen import UNKNOWN, ended, told

    run = message.get("run", {})
    if run.get("result"):
        unknown = [UNKNOWN] if run["state"] == "unknown" else []
        return [ended(run), *unknown]
    return told(message["error"]) if "error" in message else []


def over(view: Mapping[str, Any]) -> bool:
    """Whether a view says that the job has ended: nothing is left to press."""
    return view.get("kind") == "done" and not view.get("buttons")


def goodbye(view: Mapping[str, Any], last: Sequence[str], run: Mapping[str, Any], *, gone: bool) -> list[str]:
    """Return the last lines. `run` is the last that was heard of one; `gone` whether the runner has ended."""
    from witnessmark.cli.bay.screen import UNKNOWN

    lines = list(last)
    unknown = run.get("result") == "unknown" or view.get("kind") == "inspect"
    if not gone:
        lines.append(UNKNOWN)
    if (unknown or not gone) and view.get("fallback"):
        lines.append(f"NOW, unless it is seen to stand still: {view['fallback']}")
    if view.get("kind") == "told":
        lines.append(TOLD)
    lines += view.get("stands", ())
    if over(view):
        return [*lines, *(str(view[part]) for part in ("title", "text") if view.get(part))]
    return [*lines, f"{GO_ON}witnessmark {shlex.join(sys.argv[1:])}"]


def fitted(lines: Sequence[str], width: int) -> list[str]:
    """Return the lines broken between words, each at most `width` columns; a command stays one line, to be copied."""
    broken = (
        [line] if line.startswith(GO_ON)
        else textwrap.wrap(line, width, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
        for line in lines
    )  # fmt: skip
    return [part for parts in broken for part in parts]
