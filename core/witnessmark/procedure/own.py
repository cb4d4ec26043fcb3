"""The ids of the steps that no procedure has and the job itself writes: every module takes them from here.

Rules that hold here: a procedure that is written has no step of such an id, for it would be read as the job's own; one
that a journal keeps may have, and its step is its own.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.document.mistake import Mistake
from witnessmark.procedure.model import Procedure
from witnessmark.procedure.steps import each_step

REDO, ACCEPT = "run-again", "run-accepted"
MISSED, LATER, CUE_GIVEN = "nipple-missed", "open-later", "cue-given"
OTHER_PASS, STAYS_OPEN = "pass-first", "stays-open"
MIXING_ALLOWED, READ_FLUIDS = "mixing-allowed", "read-fluids-again"
AGAIN, NOT_AGAIN = "do-again", "not-again"
LEFT_OPEN, PRESSURE_STAYS, LET_OFF = "left-open", "pressure-stays-on", "let-off-for-a-pause"
LET_OFF_LAST, OFF_TO_FILL = "let-off-at-the-end", "let-off-to-fill"
LEVEL_LOOK, AIR_DRAWN = "level-look", "air-drawn"
PASSES_AGAIN, AIR_ACCEPTED = "passes-again", "air-accepted"
LEFT_BY_OTHERS = "left-by-others"
AS_EXPECTED, UNCLEAR = "not-clear-as-expected", "not-clear"
UNWRITTEN, UNEXPLAINED = "not-written", "not-explained"
PUT_RIGHT, SCAN_AGAIN = "put-right", "scan-again"
READY, HANDS = "ready-at-wheel", "hands-taken"
SAFETY_LOOK, ENDED_EARLY = "safety-look", "ended-early"
WHICH_UNIT = "which-unit"
MENDED, MENDED_AT = "mended", "mended-at"
MAKE_SAFE, WAS_SAFE = "make-safe-again", "was-made-safe"
DRAWN_OFF = "drawn-off"
SAID_FILLED, SAID_EMPTY, SAID_NOTE = "said-refill", "said-empty", "said-note"
WITNESSED = "witnessed-as"
POINTS = ("open", "close", "run", "ask")
"""What the job writes of the points of its walk that are no step of the procedure."""
OWN = frozenset(
    {
        REDO, ACCEPT, MISSED, LATER, CUE_GIVEN, OTHER_PASS, STAYS_OPEN, MIXING_ALLOWED, READ_FLUIDS, AGAIN, NOT_AGAIN,
        LEFT_OPEN, PRESSURE_STAYS, LET_OFF, LET_OFF_LAST, OFF_TO_FILL, LEVEL_LOOK, AIR_DRAWN, PASSES_AGAIN,
        AIR_ACCEPTED, LEFT_BY_OTHERS, AS_EXPECTED, UNCLEAR, UNWRITTEN, UNEXPLAINED, PUT_RIGHT, SCAN_AGAIN, READY,
        HANDS, SAFETY_LOOK, ENDED_EARLY, WHICH_UNIT, MENDED, MENDED_AT, MAKE_SAFE, WAS_SAFE, DRAWN_OFF, SAID_FILLED,
        SAID_EMPTY, SAID_NOTE, WITNESSED, *POINTS,
    }
)  # fmt: skip


def taken(procedure: Procedure) -> Iterator[Mistake]:
    """Return a mistake for each step whose id is one of the job's own."""
    for path, step in each_step(procedure):
        if step.id in OWN:
            what = f"{step.id!r} is what the job itself writes, so this step would be read as that"
            yield Mistake((*path, "id"), what, f'give the step another name, like "{step.id}-here"')
