"""The steps of a procedure where they stand in the document, in the order in which they are done."""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.document.mistake import Path
from witnessmark.procedure.model import Procedure, Step
from witnessmark.procedure.words import FINAL_CHECKS

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


def in_words(step: Step) -> str:
    """Return the text of a step with the least time that it takes."""
    return f"{step.text} (at least {step.takes_at_least})" if step.takes_at_least else step.text


def is_check(step: Step) -> bool:
    """Say whether a step is answered with a yes or a no: a check, and whatever is to show that the work holds."""
    return step.act == "check" or (step.act == "do" and not set(FINAL_CHECKS).isdisjoint(words_of(step)))
