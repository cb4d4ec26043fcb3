"""What the job before left open, as the papers of the one that comes back to it name it.

A step's id and the items of the job's opening flow in, words flow out. Rules that hold here: an item that was only read
is never said to be right; until the job is released its key tag and the list of jobs name every item, in brief, and of
one at which something was seen all that was.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from textwrap import shorten

from witnessmark.audit.case import Case
from witnessmark.audit.timeline import NOT_RIGHT
from witnessmark.procedure.plan import followed
from witnessmark.procedure.safe import ONCE_SAFE

LEFT = "left open by the job before"
SEEN = re.compile(rf"{NOT_RIGHT}: (.+?)(?=;|$)")
"""What was seen, as the text of a finding has it."""
CORRECTED = re.compile(r"^entr.*; as corrected [a-z ]+ \((.*)\)$")
"""What a finding says on what its entries were corrected to."""
MOST_LETTERS, MOST_TITLES = 200, 6
"""How much of a finding, and how many of those that are one item, are named in brief: a choice of this project."""
RIGHT_NOW = " (said to be right now)"


def before(case: Case) -> str:
    """Return the job that this one comes back to, empty for none."""
    return followed(case.opened.scope) if case.opened.earlier else ""


def left_before(case: Case) -> list[str]:
    """Return in brief each thing that the job before left open, and whether somebody said since that it is right."""
    last = {act.step: act for act in case.timeline.acts}
    acts = ((text, last.get(f"earlier-{number}")) for number, text in enumerate(case.opened.earlier, 1))
    return [
        in_brief(text) + (RIGHT_NOW if act is not None and act.act == "confirmed" and not act.said else "")
        for text, act in acts
    ]


def in_brief(text: str) -> str:
    """Return an item of a job's opening in few words: its question, its answer, and what was seen or is not shown."""
    first, *more = text.removeprefix(ONCE_SAFE).splitlines()
    if more:
        names = [one.removeprefix("- ").partition(": ")[0] for one in more]
        rest = f"; and {len(names) - MOST_TITLES} more" if len(names) > MOST_TITLES else ""
        return f"{first.partition(':')[0].rstrip('.')}: {'; '.join(names[:MOST_TITLES])}{rest}"
    name, _, why = first.partition(": ")
    if seen := dict.fromkeys(SEEN.findall(why)):
        return f"{name}: {'; '.join(seen)}"
    why = CORRECTED.sub(r"\1", why)
    return f"{name}: {shorten(why, MOST_LETTERS)}" if why else name


def item(step: str, earlier: Sequence[str]) -> str:
    """Return in words which item a step is about, its number where the opening does not name it; empty for another."""
    kind, _, number = step.partition("-")
    if kind != "earlier" or not number.isdecimal():
        return ""
    if not 0 < int(number) <= len(earlier):
        return f"{LEFT}, item {number}"
    first, *more = earlier[int(number) - 1].removeprefix(ONCE_SAFE).splitlines()
    listed = "; ".join(one.removeprefix("- ") for one in more)
    return f"{LEFT}, {first.rstrip('.:')}{f': {listed}' if listed else ''}"


def said_of(act: str, said: str) -> str:
    """Return what was said of an item by the act of its entry, and whether there are words beside."""
    if act == "confirmed":
        return "stays so" if said else "right now"
    return "read" if act == "done" else "not right, or not looked at"
