"""What is looked at once more right before anything leaves: the rules, the leave to send, sleep, what was set aside.

What is known at this moment flows in, a refusal or nothing flows out. Rule that holds here: what held when it was armed
says nothing of now; it is sent on the approval that it was armed on, for the unit is held to that one.
"""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.clock import Stamp
from witnessmark.job.allowed import rules
from witnessmark.job.allowed.approval import Approved, Withdrawn, find, require
from witnessmark.job.allowed.first_use import require_lead
from witnessmark.job.allowed.rules import Refusal, Request
from witnessmark.journal.entry import Entry
from witnessmark.talk.conversation import Conversation

ARMED_TOO_LONG = Refusal("armed-too-long", "arming had expired before it could start", "arm again")


def refusal(
    request: Request, talk: Conversation, payload: bytes, *, slept: str = "", late: bool = False
) -> Refusal | None:
    """Return why `payload` does not leave now. `slept` says that the machine slept, `late` that arming has expired."""
    if late:
        return ARMED_TOO_LONG
    if slept:
        return Refusal("slept", slept, "look at the vehicle, then arm again")
    refused = rules.refusal(request)
    if refused is not None and refused.rule != "pressure":  # its age was right when the person started
        return refused
    if talk.set_aside_ns(request.peer, payload) is not None:
        return Refusal("set-aside", "the same request just ended in silence", "wait some seconds, then arm again")
    return None


def require_leave(
    entries: Iterable[Entry], request: Request, now: Stamp, *, armed_on: Approved, first_use: bool
) -> None:
    """Raise when the approval it was armed on holds no longer or is not the latest, or a first use's lead has left."""
    leave = tuple(entries)
    state = request.state
    require(
        leave, state.map_digest, request.command.id, state.procedure_digest,
        invented=state.map is not None and state.map.invented, practice=request.practice,
    )  # fmt: skip
    found = find(leave, state.map_digest, request.command.id, state.procedure_digest)
    if found is None or found.seq != armed_on.seq:
        raise Withdrawn("another approval was given since it was armed", hint="arm again: the unit is held to that one")
    if first_use:
        require_lead(leave, now, request.boot_id)
