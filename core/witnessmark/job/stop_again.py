"""The stop of an actuation whose end nobody knows, outside any run: asked for by a person, as often as they like.

What the job's state says and a bay flow in; the stop request and what came of it flow out. Rules that hold here: it
needs no approval; what must never be sent as a stop is not sent; nobody confirmed is `unknown`, with the next act.
"""

from __future__ import annotations

from collections.abc import Callable

from witnessmark.errors import LocalError, OutcomeUnknown
from witnessmark.job import telling
from witnessmark.job.bay import Bay, Tell
from witnessmark.job.sending.stop import Stop
from witnessmark.job.view import ELSEWHERE, UNKNOWN_ACT
from witnessmark.job.walk.state import JobState
from witnessmark.mapping.never_sent import stop_reasons
from witnessmark.talk.exchange import Exchange

FOR_S = 15.0


class StopAgain:
    """`came` is what came of the last one, empty before; `going` while one is being repeated."""

    def __init__(self, tell: Tell) -> None:
        self.came = ""
        self._tell = tell
        self._stop: Stop | None = None

    @property
    def going(self) -> bool:
        return self._stop is not None

    def begin(self, state: JobState, connect: Callable[[], Bay | None]) -> None:
        """Send the stop request of the actuation that waits to be looked at."""
        run = state.run_of(state.inspect)
        command = state.command_named(run.wire_command) if run and run.grade == "sent" else None
        bay = connect()
        known = state.map
        if run is None or command is None or bay is None or known is None or stop_reasons(command, known.address):
            where = "" if run is None or run.grade == "sent" else f" {ELSEWHERE}"
            error = LocalError("no stop request can be sent", hint=UNKNOWN_ACT + where)
            self._tell(telling.of_error(error))
            return
        payload, session = bytes.fromhex(command.stop), command.session
        self._stop = Stop(bay, payload, session, actuation=run.intent, pass_id=run.pass_id, for_s=FOR_S)

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is none of this stop's."""
        return self._stop is not None and self._stop.ended(exchange)

    def tick(self, now_ns: int, physical_fallback: str) -> bool:
        """Let time pass; True once it is over, and told."""
        if self._stop is None:
            return False
        self._stop.tick(now_ns)
        if self._stop.status == "waiting":
            return False
        self.came, self._stop = self._stop.status, None
        if self.came == "confirmed":
            self._tell({"said": "stop confirmed"})
        else:
            act = f"{UNKNOWN_ACT} {physical_fallback}".strip()
            what = f"stop unknown: nobody confirmed it ({self.came})"
            self._tell(telling.of_error(OutcomeUnknown(what, budget="", hint=act)))
        return True

    def deadline_ns(self) -> int | None:
        """When `tick` next has something to do."""
        return self._stop.deadline_ns() if self._stop is not None else None
