"""What is looked at once more right before anything leaves: the rules, the leave to send, sleep, what was set aside.

What is known at this moment flows in, a refusal or nothing flows out. Rule that holds here: what held when it was armed
says nothing of now.
"""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.clock import Stamp
from witnessmark.job import rules
from witnessmark.job.approval import require
from witnessmark.job.first_use import require_lead
from witnessmark.job.rules import Refusal, Request
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


def require_leave(entries: Iterable[Entry], request: Request, now: Stamp, *, first_use: bool) -> None:
    """Raise when the approval holds no longer, or a first use's lead has left."""
    leave = tuple(entries)
    state = request.state
    require(
        leave, state.map_digest, request.command.id, state.procedure_digest,
        invented=state.map is not None and state.map.invented, practice=request.practice,
    )  # fmt: skip
    if first_use:
        require_lead(leave, now, request.boot_id)
