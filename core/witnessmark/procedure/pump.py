"""Which runs the limits on the pump are about.

A procedure and the name of a wire command flow in. Rule that holds here: what nobody said works no pump does: where
the procedure names none, and for a wire command that is in none of its passes, the limits hold.
"""

from __future__ import annotations

from witnessmark.procedure.model import Procedure


def works_pump(procedure: Procedure, wire_command: str) -> bool:
    """Whether a run of a wire command counts as one of the pump (empty: one that is not known)."""
    named = procedure.pump.wire_commands if procedure.pump is not None else ()
    if not named or wire_command in named:
        return True
    return wire_command not in {one.wire_command for one in procedure.passes if one.wire_command}
