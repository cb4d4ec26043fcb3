"""The life of an actuation as one transition table: what is done when, and in which order.

Events flow in, the action to take flows out; `run` takes it. Rules that hold here, because the table says so:
the start request leaves only out of `starting`, which is entered only after `synced` said that the intent is on disk;
stop is answered in every state, and once a start may have left, it leads through `stopping`; every life that wrote an
intent ends with an outcome.

    checking -> arming -> armed -> recording -> session (-> cue) -> starting -> running -> stopping -> ended
"""

from __future__ import annotations

from typing import Literal

from witnessmark.errors import LocalError

State = Literal[
    "checking",
    "arming",
    "armed",
    "recording",
    "withdrawing",
    "session",
    "cue",
    "starting",
    "running",
    "stopping",
    "ended",
]
Event = Literal[
    "held",  # every precondition holds
    "refused",  # a rule says no
    "synced",  # the entry that was waited for is on disk
    "unrecorded",  # it could not be written
    "start",  # the person at the screen starts
    "stop",  # operator, face lost, signal, an error of ours
    "expired",  # armed for too long
    "ready",  # the session holds, nothing to count down
    "counting",  # the session holds, the nipple opens on the cue
    "go",  # the countdown is over
    "positive",
    "negative",
    "silence",
    "time_up",
    "gave_up",  # stop was repeated long enough
    "lost",  # the link is gone
]
Action = Literal[
    "", "record_armed", "refuse", "disarm", "write_intent", "enter_session", "count_down", "send_start", "begin_clock",
    "send_stop", "write_outcome",
]  # fmt: skip

TABLE: dict[tuple[State, Event], tuple[State, Action]] = {
    ("checking", "held"): ("arming", "record_armed"),
    ("checking", "refused"): ("ended", "refuse"),
    ("checking", "stop"): ("ended", ""),
    ("arming", "synced"): ("armed", ""),
    ("arming", "unrecorded"): ("ended", "refuse"),
    ("arming", "stop"): ("ended", "disarm"),
    ("arming", "lost"): ("ended", "disarm"),
    ("armed", "start"): ("recording", "write_intent"),
    ("armed", "refused"): ("ended", "refuse"),
    ("armed", "expired"): ("ended", "disarm"),
    ("armed", "stop"): ("ended", "disarm"),
    ("armed", "lost"): ("ended", "disarm"),
    ("recording", "synced"): ("session", "enter_session"),
    ("recording", "unrecorded"): ("ended", "refuse"),
    ("recording", "stop"): ("withdrawing", ""),
    ("recording", "lost"): ("withdrawing", ""),
    ("withdrawing", "synced"): ("ended", "write_outcome"),
    ("withdrawing", "unrecorded"): ("ended", "refuse"),
    ("session", "ready"): ("starting", "send_start"),
    ("session", "counting"): ("cue", "count_down"),
    ("session", "negative"): ("ended", "write_outcome"),
    ("session", "silence"): ("ended", "write_outcome"),
    ("session", "stop"): ("ended", "write_outcome"),
    ("session", "lost"): ("ended", "write_outcome"),
    ("session", "refused"): ("ended", "write_outcome"),
    ("cue", "go"): ("starting", "send_start"),
    ("cue", "stop"): ("ended", "write_outcome"),
    ("cue", "lost"): ("ended", "write_outcome"),
    ("cue", "refused"): ("ended", "write_outcome"),
    ("starting", "positive"): ("running", "begin_clock"),
    ("starting", "negative"): ("ended", "write_outcome"),
    ("starting", "silence"): ("stopping", "send_stop"),
    ("starting", "stop"): ("stopping", "send_stop"),
    ("starting", "lost"): ("ended", "write_outcome"),
    ("running", "time_up"): ("stopping", "send_stop"),
    ("running", "stop"): ("stopping", "send_stop"),
    ("running", "lost"): ("ended", "write_outcome"),
    ("stopping", "positive"): ("ended", "write_outcome"),
    ("stopping", "gave_up"): ("ended", "write_outcome"),
    ("stopping", "lost"): ("ended", "write_outcome"),
}

HARMLESS: set[tuple[State, Event]] = {
    ("checking", "lost"),  # the exchange that is waited for ends as lost, which refuses
    ("withdrawing", "stop"),
    ("withdrawing", "lost"),
    ("stopping", "stop"),  # it is being repeated already
}
"""Events that come by themselves and change nothing. All others outside the table are mistakes of ours."""

MAY_HAVE_LEFT: frozenset[State] = frozenset(("starting", "running", "stopping"))
"""States in which a start request may be on the wire."""
STATES: tuple[State, ...] = (*dict.fromkeys(state for state, _ in TABLE), "ended")


class Actuation:
    """One life. `reason` is the event that led out of the last state, `was` that state."""

    def __init__(self) -> None:
        self.state: State = "checking"
        self.was: State = "checking"
        self.reason: Event | None = None

    def fire(self, event: Event) -> Action:
        """Let one event in and return what has to be done now. Raises LocalError for an event that cannot come here."""
        if self.state == "ended" or (self.state, event) in HARMLESS:
            return ""
        row = TABLE.get((self.state, event))
        if row is None:
            raise LocalError(f"{event} while {self.state}", hint="this is a mistake of the program: report it")
        self.was, self.reason = self.state, event
        self.state, action = row
        return action
