"""What a key does where something was mended: passes bled again, or where it was. A key flows in, entries flow out."""

from __future__ import annotations

from witnessmark.errors import InputError
from witnessmark.job.amiss import bleeding
from witnessmark.job.keys.acts import Acts
from witnessmark.job.reasons import pass_again
from witnessmark.job.screens.mend_view import NOBODY_KNOWS, NOWHERE, places
from witnessmark.job.view import View
from witnessmark.job.walk.state import REDO
from witnessmark.journal import bodies
from witnessmark.procedure.mending import BLED, MENDED_AT, NONE, NOT_KNOWN


def mend_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record where something was mended; where it is said to be bled again, the passes that are bled for it now."""
    if key.isdigit() and runner.state.mend == BLED:
        bleed_again(runner, pass_again(bleeding.offered(runner.state))[int(key) - 1], by)
        return
    nipple, answer = "", {NOWHERE: NONE, NOBODY_KNOWS: NOT_KNOWN}.get(key, "")
    if key.isdigit():
        nipple, answer, _ = places(runner.state)[int(key) - 1]
    runner.record.said(bodies.StepDone(step=MENDED_AT, act="confirmed", nipple=nipple, answer=answer), by=by)


def bleed_again(runner: Acts, said: str, by: str) -> None:
    """Record each pass that is bled again first. The words begin with what is offered; the rest is the reason.

    One touch says all of them, so that each entry has the time of that touch.
    """
    passes, why = first_and_why(said, tuple(bleeding.offered(runner.state)))
    when = runner.record.touch()
    for one in passes.split(","):
        runner.record.said(bodies.StepDone(step=REDO, act="done", pass_id=one, said=why), by=by, when=when)


def first_and_why(said: str, known: tuple[str, ...]) -> tuple[str, str]:
    """Return what words begin with, which is one of those known, and the reason after it. Raises InputError."""
    first, _, why = said.strip().partition(" ")
    if first not in known or not why.strip():
        raise InputError(
            f"{said!r} is not a pass and a reason", place="said", hint=f"write one of {', '.join(known)}, then why"
        )
    return first, why.strip()
