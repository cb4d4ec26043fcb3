"""A run that a person tells of: two touches, "started" and "ended", each a range of time; nothing is sent or heard.

A pass, or a run told as started, flows in; the bodies of its entries flow out. Rules that hold here: a run that nobody
saw end is unknown and is looked at; how long it ran is judged from the two ranges, never from what was asked for; each
touch is written as it is made, and why a run ended before its time is asked afterwards; one that is told only once it
had ended lay somewhere since the touch before.
"""

from __future__ import annotations

from witnessmark.job.amount import written_s
from witnessmark.job.reasons import EARLY as REASONS
from witnessmark.job.view import ELSEWHERE
from witnessmark.job.walk.state import ENDED_EARLY, JobState, RunState
from witnessmark.journal import bodies
from witnessmark.procedure.model import Pass

ENDED, EARLY, UNSEEN, NEVER = "e", "x", "u", "0"
"""The keys by which a person says how it ended."""
WHY = tuple((str(number), reason) for number, reason in enumerate(REASONS, 1))
"""The keys by which a person says why it ended before its time."""
LEFT_TOLD = "it was told to have started on another tester, and the program ended before it was told how it ended"


def started(state: JobState, one: Pass) -> bodies.Intent:
    """Return the body that says that it was started, on another tester."""
    return bodies.Intent(
        pass_id=one.id,
        nipples=one.nipples,
        wire_command=one.wire_command,
        seconds=written_s(one.seconds),
        start="",
        stop="",
        peer={},
        grade="told",
        map_digest=state.map_digest,
    )


def ended(run: RunState, key: str, said: str) -> bodies.Outcome:
    """Return the body that says how it ended."""
    if key == UNSEEN:
        return bodies.Outcome(
            actuation=run.intent, pass_id=run.pass_id, result="unknown", stop="unknown", why=said, next_act=ELSEWHERE
        )
    if key == NEVER:
        return bodies.Outcome(
            actuation=run.intent,
            pass_id=run.pass_id,
            result="stopped",
            stop="not sent",
            why="it did not start after all",
        )
    result = "completed" if key == ENDED else "stopped"
    why = "as told: ended on the other tester" if key == ENDED else ""
    return bodies.Outcome(actuation=run.intent, pass_id=run.pass_id, result=result, stop="confirmed", why=why)  # type: ignore[arg-type]


def ran(intent: int, pass_id: str) -> bodies.Outcome:
    """Return the body that says, once it has ended, that it ran: nobody pressed as it started."""
    why = "as told once it had ended: nobody pressed as it started"
    return bodies.Outcome(actuation=intent, pass_id=pass_id, result="completed", stop="confirmed", why=why)


def why_early(state: JobState, key: str, said: str) -> bodies.StepDone:
    """Return the body that says why it ended before its time."""
    reason = said or dict(WHY)[key]
    return bodies.StepDone(step=ENDED_EARLY, act="confirmed", pass_id=state.decide, said=reason)
