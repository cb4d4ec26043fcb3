"""The steps of a procedure where they stand in the document, in the order in which they are done."""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.document.mistake import Path
from witnessmark.procedure.model import Procedure, Step

STEPS = ("steps_before", "steps_before_each_pass", "steps_after_each_pass", "steps_after")
"""The keys that hold steps; the passes come between the second and the third."""


def each_step(procedure: Procedure) -> Iterator[tuple[Path, Step]]:
    """Return every step with its path, in order."""
    for name in STEPS:
        for index, step in enumerate(getattr(procedure, name)):
            yield (name, index), step


def words_of(step: Step) -> tuple[str, ...]:
    """Return every word of `AFFECTS` that the touch of a step says."""
    return tuple(word for word in (step.affects, *step.also) if word)
