"""What was refused because nobody allows it: nothing is asked for it before it is allowed.

A refusal and the views that would ask again flow in, a view that waits for the lead flows out. Rules that hold here:
no nipple is opened for it, and one that stands open for it is shut first; whether it is allowed meanwhile is read in
the journal's thread, every two seconds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from msgspec.structs import replace

from witnessmark.clock import NS
from witnessmark.job.approval import find
from witnessmark.job.journal_thread import JournalThread
from witnessmark.job.rules import Refusal
from witnessmark.job.screens.step_view import nipple_view
from witnessmark.job.state import JobState
from witnessmark.job.view import View
from witnessmark.journal.entry import Entry

RULE = "not-approved"
LOOK_EVERY_S = 2


class Permit:
    """Holds the wire command that was refused as not approved, until it is. `state` is asked for the job's of now."""

    def __init__(
        self, thread: JournalThread, approvals: Callable[[], Iterable[Entry]], state: Callable[[], JobState]
    ) -> None:
        self._thread = thread
        self._approvals = approvals
        self._state = state
        self._missing = ""
        self._why = ""
        self._since = -1
        self._next_look_ns = 0

    def refused(self, wire_command: str, refusal: Refusal) -> None:
        """Take note of a refusal."""
        if refusal.rule == RULE:
            self._missing, self._why, self._next_look_ns = wire_command, refusal.why, 0
            self._since = self._state().last_seq

    def look(self, now_ns: int) -> None:
        """Look whether it is approved meanwhile, when it is time to."""
        if self._missing and now_ns >= self._next_look_ns:
            self._next_look_ns = now_ns + LOOK_EVERY_S * NS
            self._thread.call(self._read)

    def shown(self, view: View) -> View:
        """Return the view; in the place of one that asks for such a run, that a nipple is shut, then that it waits."""
        state = self._state()
        one, point = state.pass_of(view.pass_id), state.point
        opens = view.kind == "open" and point is not None and point.kind == "open" and not state.cued
        if not self._missing or not (opens or view.kind == "arm") or one is None or one.wire_command != self._missing:
            return view
        text = f"Nothing is sent: {self._why}."
        still = state.open_in(one)
        if still:
            close = nipple_view(state, one, still[0], "close")
            return replace(close, text=f"{text} {close.text}", stands=view.stands)
        text += (
            " It waits for the shop lead, who approves it with `witnessmark protocol approve`. "
            "Nothing is asked and no nipple opened before."
        )
        return View(kind="busy", title=view.title, text=" ".join((text, *view.stands)), pass_id=view.pass_id)

    def _read(self) -> None:
        state = self._state()
        found = find(self._approvals(), state.map_digest, self._missing, state.procedure_digest)
        if found is not None and found.seq > self._since:  # one that was not good enough is no better now
            self._missing = ""
