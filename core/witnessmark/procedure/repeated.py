"""Which steps of a procedure may be done again, and the key of each.

A procedure flows in, its steps flow out in their order. Rule that holds here: a step keeps its key from the first
screen of a job to the last, on the card and in `procedure show`.
"""

from __future__ import annotations

from witnessmark.procedure.model import Procedure, Step

KEYS = "cdgjvz"
"""One key each: letters that mean nothing else at a step."""


def repeated(procedure: Procedure) -> tuple[Step, ...]:
    """Return the steps that may be done again, in order."""
    one = procedure
    groups = (one.steps_before, one.steps_before_each_pass, one.steps_after_each_pass, one.steps_after)
    return tuple(step for group in groups for step in group if step.may_repeat)
