"""What stands behind a run: its grade and, of one that a person told of, how that was told.

A case and a run flow in, a key of `SAID` flows out. Rules that hold here: it was written on a card only where its
outcome says so; a touch that nobody made is not said to have been made.
"""

from __future__ import annotations

from witnessmark.audit.case import Case
from witnessmark.audit.timeline import Actuation
from witnessmark.journal.bodies import CARD_ENDLESS, CARD_SAYS

SAID = {
    "sent": "sent by this tool, timed by the control unit's answers as far as it answered",
    "heard": "heard from another tester on the bus; this tool did not send it",
    "told": "told by a person, who pressed started and ended; no machine saw it",
    "unended": "told by a person, who pressed started; nobody pressed ended, and no machine saw it",
    "afterwards": "told by a person after the end; nobody pressed at the start, and no machine saw it",
    "keyed": "told by a person, who wrote it on a card that was keyed in afterwards; no machine saw it",
}
"""What a run rests on."""
TIMED = {
    "sent": "Runs sent by us are timed by the control unit's answers.",
    "heard": "Runs heard are timed by another tester's requests on the bus.",
    "told": "Runs told are timed by what a person pressed.",
    "unended": "Of a run told as started whose end nobody pressed only the start was told.",
    "afterwards": "A run told once it had ended lay somewhere since the touch before.",
    "keyed": "Runs told on a card are timed by what is written on it.",
}
"""What its times rest on."""


def witness(case: Case, run: Actuation) -> str:
    """Return what stands behind a run."""
    if run.grade != "told":
        return run.grade
    if run.outcome is not None and run.outcome.why in (CARD_SAYS, CARD_ENDLESS):
        return "keyed"
    if any(one.seq == run.seq and one.occurred.basis == "typed" for one in case.of_kind("intent")):
        return "afterwards"
    return "told" if run.outcome is not None and run.outcome.result in ("completed", "stopped") else "unended"
