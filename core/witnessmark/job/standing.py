"""What stands open at this moment, in words that say the next physical act.

The job's state flows in, lines flow out. A cue that nobody has answered yet may have opened its nipple.
"""

from __future__ import annotations

from witnessmark.job.state import JobState


def named(state: JobState, nipple: str) -> str:
    """Return the name of a nipple, its id when the procedure does not have it."""
    return next((known.name for known in state.procedure.nipples if known.id == nipple), nipple)


def standing(state: JobState) -> tuple[str, ...]:
    """Return what stands open: nipples, and the feed's pressure."""
    lines = [f"Nipple {named(state, one)} is OPEN: close it." for one in state.open_nipples]
    lines += [f"Nipple {named(state, one.nipple)} may be OPEN (the cue was given): close it." for one in state.cued]
    if state.pressurised:
        lines.append("The feed's pressure is on.")
    return tuple(lines)


def close_now(state: JobState, nipple: str) -> str:
    """Return the act that comes first after a run that did not complete."""
    return f"Close the nipple {named(state, nipple)} now{': the pressure is on' if state.pressurised else ''}."
