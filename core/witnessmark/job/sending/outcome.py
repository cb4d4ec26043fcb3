"""A run in an entry's words: the intent, the keep-alive with its gaps, the outcome.

What is asked for, how the life ended and what was heard flow in, bodies flow out. Rule that holds here: `completed` and
`stopped` need the control unit's own positive answer to the stop; whatever else may have reached it is `unknown`, with
the next act.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from witnessmark.clock import NS
from witnessmark.job.allowed.rules import Request
from witnessmark.job.record import hexed, peer_text
from witnessmark.job.sending.actuation import MAY_HAVE_LEFT, Event, State
from witnessmark.job.view import UNKNOWN_ACT
from witnessmark.journal import bodies
from witnessmark.talk.keepalive import KeepAlive
from witnessmark.wire.uds.codes import nrc_name

CONTROL_UNIT_REFUSED = "the control unit refused"
"""Why of an outcome whose start request left and was answered with no."""
Result = Literal["completed", "stopped", "refused", "failed", "unknown"]
Stopped = Literal["not sent", "sent", "confirmed", "unknown"]


@dataclass(frozen=True, slots=True)
class Ending:
    """How one life ended. `was` and `reason` are the last state and the event that led out of it.

    `asked` is who or what wanted the stop, empty when the time was up; `from_ns` the positive answer to the start,
    `to_ns` the positive answer to the stop or the last sign of life, both monotonic.
    """

    was: State
    reason: Event | None
    asked: str
    why: str
    stop_sent: bool
    code: int | None
    from_ns: int | None
    to_ns: int | None


def intent_of(request: Request, run_s: Decimal, payload: bytes, approval: int, first_use: bool) -> bodies.Intent:
    """Return the body of the intent: all that is about to be sent, and by whose leave."""
    return bodies.Intent(
        pass_id=request.one.id,
        nipples=request.one.nipples,
        wire_command=request.command.id,
        seconds=str(run_s),
        start=hexed(payload),
        stop=request.command.stop,
        peer=peer_text(request.peer),
        approval=approval,
        map_digest=request.state.map_digest,
        learned=request.command.origin == "learned",
        first_use=first_use,
    )


def judge(ending: Ending) -> tuple[Result, Stopped]:
    """Return the result and what came of the stop."""
    if ending.was == "starting" and ending.reason == "negative":
        return "refused", "not sent"
    if ending.was not in MAY_HAVE_LEFT:
        withdrawn = ending.reason in ("stop", "synced", "lost")
        return ("stopped" if withdrawn else "refused"), "not sent"
    if ending.was == "stopping" and ending.reason == "positive":
        if ending.asked:
            return "stopped", "confirmed"
        return ("unknown" if ending.from_ns is None else "completed"), "confirmed"
    return "unknown", ("unknown" if ending.stop_sent else "not sent")


def outcome_of(ending: Ending, actuation: int, pass_id: str, physical_fallback: str) -> bodies.Outcome:
    """Return the body of the outcome."""
    result, stop = judge(ending)
    times: dict[str, str] = {}
    if ending.from_ns is not None:
        times["from_mono"] = str(ending.from_ns)
        if ending.to_ns is not None and ending.to_ns >= ending.from_ns:
            times |= {"to_mono": str(ending.to_ns), "duration_ns": str(ending.to_ns - ending.from_ns)}
    return bodies.Outcome(
        actuation=actuation,
        pass_id=pass_id,
        result=result,
        stop=stop,
        code="" if ending.code is None else f"{ending.code:02X}",
        why=ending.asked or ending.why,
        next_act=f"{UNKNOWN_ACT} {physical_fallback}".strip() if result == "unknown" else "",
        **times,
    )


def kept_alive(keep: KeepAlive, actuation: int, end_ns: int) -> bodies.KeepAlive:
    """Return the body that says how the session was kept."""
    return bodies.KeepAlive(
        actuation=actuation,
        request=hexed(keep.request),
        count=len(keep.moments),
        largest_gap_ns=str(keep.largest_gap_ns(end_ns)),
        at_mono=tuple(str(one) for one in keep.moments),
    )


def told_of(outcome: bodies.Outcome, run_s: Decimal) -> list[dict[str, object]]:
    """Return what the face is told at the end: how the stop stands, why it ended early, what to do if nobody knows."""
    state = {"confirmed": "stop confirmed", "not sent": "nothing sent"}.get(outcome.stop, "unknown")
    if outcome.result == "unknown" and outcome.stop == "not sent":
        state = "unknown"
    refused = outcome.why == CONTROL_UNIT_REFUSED
    run: dict[str, object] = {
        "state": CONTROL_UNIT_REFUSED if refused else state, "result": outcome.result, "of_s": str(run_s)
    }  # fmt: skip
    if outcome.result in ("stopped", "refused", "failed"):
        code = nrc_name(int(outcome.code, 16)) if outcome.code else ""
        run["why"] = ", ".join(one for one in ("" if refused else outcome.why, code) if one)
    if outcome.duration_ns:
        run["elapsed_s"] = f"{int(outcome.duration_ns) / NS:.1f}"
    told: list[dict[str, object]] = [{"run": run}]
    if outcome.result == "unknown":
        told.append({"error": {"what": outcome.why, "hint": outcome.next_act, "reached": "maybe"}})
    return told
