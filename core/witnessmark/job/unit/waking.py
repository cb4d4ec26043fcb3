"""How the vehicle is woken, in the words of its procedure.

A procedure flows in, words flow out. Rules that hold here: waking may run something, so nipples and hands come first;
what the procedure does not say is never improvised.
"""

from __future__ import annotations

from witnessmark.procedure.model import Procedure

SILENT = "Where it does not answer"
"""Who is to do what, where nothing of ours asks: what the control unit's silence asks for."""
NO_WAY = "the procedure says no way to wake it: try none, fetch the lead"


def wake_line(procedure: Procedure) -> str:
    """Return how the vehicle is woken, what that energises and who says so; empty where the procedure does not say."""
    wake = procedure.wake
    if wake is None or not wake.how:
        return ""
    said = {"this energises: ": wake.energises, "source: ": wake.source}
    besides = "; ".join(f"{label}{words.rstrip('.')}" for label, words in said.items() if words)
    return f"{wake.how.rstrip('.')} ({besides})" if besides else wake.how


def when_silent(procedure: Procedure) -> str:
    """Return what to do where a control unit stays silent for another tester."""
    line = wake_line(procedure)
    then = f"Then only so: {line}." if line else f"{NO_WAY[0].upper()}{NO_WAY[1:]}."
    return f"First every nipple shut and hands off. {then}"
