"""What nobody allows any more, or yet: nothing is asked or opened for it before it is allowed.

The walk's place and the views that would ask or open flow in, a view that waits for the lead flows out. Rules that hold
here: no nipple is opened for it, and one that stands open for it is shut first; whether it is allowed is read in the
journal's thread before the first view of a run, and every two seconds from then on; while something runs as well, and
then it is told once, for the run goes on to its end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from witnessmark.clock import NS
from witnessmark.job.allowed.approval import Approved, find, lacking, withdrawn
from witnessmark.job.journal_thread import JournalThread
from witnessmark.job.screens.withheld_view import run_asked_for, withheld_view
from witnessmark.job.view import View
from witnessmark.job.walk.state import JobState
from witnessmark.journal.entry import Entry

LOOK_EVERY_S = 2


class Permit:
    """Says whether the wire command of the walk's place is allowed. `state` is asked for the job's of now.

    `approved` is what allows it, None where nothing does or it is not known yet. `note` writes a remark of the job.
    """

    def __init__(
        self,
        thread: JournalThread,
        approvals: Callable[[], Iterable[Entry]],
        state: Callable[[], JobState],
        tell: Callable[[dict[str, Any]], None],
        note: Callable[[str], object],
        *,
        practice: bool,
    ) -> None:
        self._thread = thread
        self._approvals = approvals
        self._state = state
        self._tell = tell
        self._note = note
        self._practice = practice
        self.approved: Approved | None = None
        self._read_of = self._why = self._withdrawn = self._noted = ""
        self._told = False
        self._next_look_ns = 0

    @property
    def looked(self) -> bool:
        """Whether it is known for the wire command where the walk stands."""
        return self._wanted() in ("", self._read_of)

    def refused(self) -> None:
        """Look anew: something was refused."""
        self._next_look_ns = 0

    def look(self, now_ns: int) -> None:
        """Look whether it is allowed, when it is time to."""
        self._told = False
        if self._wanted() and (now_ns >= self._next_look_ns or not self.looked):
            self._next_look_ns = now_ns + LOOK_EVERY_S * NS
            self._thread.call(lambda: self._read(self._wanted())).then = lambda _: self._keep()

    def look_while(self, wire_command: str, now_ns: int) -> None:
        """Look while a wire command runs, and tell once that it is allowed no longer."""
        if now_ns >= self._next_look_ns and not self._told:
            self._next_look_ns = now_ns + LOOK_EVERY_S * NS
            self._thread.call(lambda: self._read(wire_command)).then = lambda _: self._tell_ended()

    def shown(self, view: View) -> View:
        """Return the view; in the place of one that asks for such a run, that a nipple is shut, then that it waits."""
        state = self._state()
        one = run_asked_for(state, view)
        if not self._why or one is None or not one.wire_command == self._read_of == self._wanted():
            return view
        waits = "It waits for the shop lead, who approves it with `witnessmark protocol approve`."
        return withheld_view(state, one, view, self._why, waits)

    def _wanted(self) -> str:
        """The wire command of a run that the walk is about to prepare; empty for none."""
        state = self._state()
        one = state.pass_ahead
        return one.wire_command if one is not None and state.command_of(one) is not None else ""

    def _read(self, wire_command: str) -> None:
        state = self._state()
        invented = state.map is not None and state.map.invented
        entries = tuple(self._approvals())
        self._why, _ = lacking(
            entries, state.map_digest, wire_command, state.procedure_digest,
            invented=invented, practice=self._practice,
        )  # fmt: skip
        found = find(entries, state.map_digest, wire_command, state.procedure_digest)
        self.approved = None if self._why else found
        self._withdrawn = withdrawn(entries, state.map_digest, wire_command) if found is None else ""
        self._read_of = wire_command

    def _keep(self) -> None:
        """Keep with the job, once, that what it needs was withdrawn: the word itself is of no job."""
        if self._withdrawn and self._withdrawn != self._noted:
            self._noted = self._withdrawn
            self._note(f"the approval of {self._read_of} was {self._withdrawn}")

    def _tell_ended(self) -> None:
        self._keep()
        if self._why and not self._told:
            self._told = True
            self._tell({"said": f"{self._why}. What runs goes on to its end; the stop ends it now."})
