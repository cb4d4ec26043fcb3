"""The first live use of a learned wire command on a control unit: what has to hold, and for how long it may run.

Answers and a wire command flow in, reasons against sending flow out. Rules that hold here (no override): the lead is
there and says so, all nipples are shut, the wheels are clear, a second person stands at the stop; it runs the shortest
time that was observed; its result is entered before any pass opens a nipple.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.mapping.load import HOLE
from witnessmark.mapping.model import WireCommand
from witnessmark.mapping.never_sent import Reason

SCREEN = "learned here, not published by the maker"
"""What the screen says while it is armed and while it runs."""
QUESTIONS: dict[str, str] = {
    "first-nipples-shut": "First use: are all nipples shut?",
    "first-wheels-clear": "First use: is everybody clear of wheels and calipers?",
    "first-second-person": "First use: does a second person stand at the stop?",
}
"""Asked before arming, by id; each needs a yes of the person at the screen."""


@dataclass(frozen=True, slots=True)
class FirstUse:
    """What is known when it is about to be armed. `lead` is the signed-on lead's id, empty without one."""

    lead: str
    answers: dict[str, bool]
    open_nipples: tuple[str, ...]
    seconds: int


def shortest_s(command: WireCommand) -> int | None:
    """Return the shortest observed time in whole seconds, at least 1; None when none was observed to its end."""
    observed = command.observed
    if observed is None or observed.shortest_ms is None:
        return None
    if HOLE in command.start:
        return min(observed.seconds) if observed.seconds else None
    return max(1, observed.shortest_ms // 1000)


def reasons(command: WireCommand, use: FirstUse) -> tuple[Reason, ...]:
    """Return why this first use is refused; nothing when it may be armed."""
    found = []
    if not use.lead:
        found.append(Reason("first-use", "the first use of a learned wire command needs the lead present"))
    if use.open_nipples:
        found.append(Reason("first-use", f"a nipple is open: {', '.join(use.open_nipples)}"))
    found += [
        Reason("first-use", f"{text} {'no' if name in use.answers else 'no answer'}")
        for name, text in QUESTIONS.items()
        if use.answers.get(name) is not True
    ]
    shortest = shortest_s(command)
    if shortest is None:
        found.append(Reason("first-use", "no run of it was observed to its end"))
    elif use.seconds != shortest:
        found.append(Reason("first-use", f"it runs {shortest} s the first time, not {use.seconds} s"))
    return tuple(found)
