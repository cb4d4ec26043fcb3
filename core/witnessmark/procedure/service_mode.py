"""A service mode that is on: what entered it, and how that is said wherever a vehicle is left so.

The words of an entry and a procedure flow in. Rules that hold here: the last word decides; how it is said has the
caution of the step that enters it, as the procedure has it: what may move or roll then.
"""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.procedure.model import Procedure
from witnessmark.procedure.steps import words_of

ON, OFF = "service-mode-on", "service-mode-off"
SAID = "The service mode is on"


def is_on(words: Iterable[str], was: bool) -> bool:
    """Return whether it is on after an entry with these words."""
    said = [word for word in words if word in (ON, OFF)]
    return said[-1] == ON if said else was


def line(procedure: Procedure) -> str:
    """Return that it is on, with the caution of what enters it."""
    cautions = dict.fromkeys(one.caution for one in procedure.steps_before if ON in words_of(one) and one.caution)
    return f"{SAID}: {' '.join(cautions)}" if cautions else f"{SAID}."
