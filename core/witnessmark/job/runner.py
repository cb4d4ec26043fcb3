"""The runner: one loop that owns the wire, driven by a face over a socket, writing through the journal thread.

Flows in: bytes of the face, what the link receives, acknowledgements, time. Flows out: requests, entries, views. Rules
that hold here: stop is served before anything else; a start leaves only after its intent is on disk; the loop never
waits for disk, for the face or for the link; when the face is gone, or the process is told to end, a run is stopped,
its outcome written, and the loop ends.

The words that go over the socket are told in `face_line`, what the link says is taken in by `hearing`.
"""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterable, Mapping

import msgspec

from witnessmark.clock import NS, Clock
from witnessmark.errors import LocalError, WitnessmarkError
from witnessmark.job import telling
from witnessmark.job.allowed import first_use
from witnessmark.job.allowed.permit import Permit
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.asking import Asker
from witnessmark.job.bay import Bay
from witnessmark.job.face_line import FaceLine, Heard
from witnessmark.job.fluid.filling import Filling
from witnessmark.job.half_answered import HalfAnswered
from witnessmark.job.hands import Hands
from witnessmark.job.heard.hearing import Hearing, OpenLink
from witnessmark.job.heard.listening import Listening, listen
from witnessmark.job.journal_thread import JournalThread, Ticket
from witnessmark.job.keys.commands import obey
from witnessmark.job.keys.told_run import LEFT_TOLD
from witnessmark.job.record import MACHINE, Record
from witnessmark.job.screens.now import progress, view_now, wait_text
from witnessmark.job.sending.run import Run
from witnessmark.job.stop_again import StopAgain
from witnessmark.job.unit.known_unit import KnownUnit
from witnessmark.job.view import ELSEWHERE, NOT_OURS, View
from witnessmark.job.waiting import Waiting
from witnessmark.job.walk import leaving
from witnessmark.job.walk.fold import advance
from witnessmark.job.walk.leaving import LEFT, NOT_RECORDED, SCREEN_LOST
from witnessmark.job.walk.state import JobState
from witnessmark.journal.bodies import Disarmed, Interrupted, Refused, Remark
from witnessmark.journal.entry import Entry
from witnessmark.link.port import FrameLink
from witnessmark.people.person import Person
from witnessmark.talk.conversation import Conversation

LOOK_EVERY_S = 0.5
TELL_EVERY_S = 0.2
BY_FACE = "the operator"
LEFT_OR_LOST = "the screen was left or lost"


class Runner:
    """Runs one job until the face is gone, `leave` is called, or the journal can no longer be written.

    `state` is the job's so far; `approvals` reads what the journal says may be sent and is called in
    the journal's thread; `open_link` may be called again after a link was lost. `wakeup` is readable when a signal has
    come.
    """

    def __init__(
        self,
        open_link: OpenLink,
        thread: JournalThread,
        clock: Clock,
        *,
        state: JobState,
        approvals: Callable[[], Iterable[Entry]],
        person: Person,
        face: socket.socket,
        boot_id: str,
        wakeup: socket.socket | None = None,
    ) -> None:
        self.state = state
        self.view: View | None = None
        self.record = Record(thread, state.job, person, clock, state.procedure)
        self._thread = thread
        self._clock = clock
        self._approvals = approvals
        self._face = FaceLine(face)
        self.half = HalfAnswered(state.procedure, clock)
        self.filling = Filling()
        self.hands = Hands(self.record, approvals, clock, boot_id, self._face.tell, state.worked)
        self._permit = Permit(
            thread, approvals, lambda: self.state, self._face.tell,
            lambda said: self.record.seen(Remark(said=said)), practice=clock.practice,
        )  # fmt: skip
        self._open_link = open_link
        self._boot_id = boot_id
        self._hearing = Hearing(open_link, self.record, clock, boot_id, self._face.tell, state.other_tester)
        self._unit = KnownUnit(self._hearing, lambda: self.state)
        self._listening: Listening | None = None
        self._waiting = Waiting(thread, self._face, clock, wakeup)
        self._run: Run | None = None
        self._again = StopAgain(self._face.tell)
        self._asker = Asker()
        self._taken_up: Ticket | None = None
        self._unreadable: tuple[str, ...] = ()
        self._leaving: str = ""
        self._parted = False
        self._views = 0
        self._next_look_ns = 0
        self._next_tell_ns = 0

    def run(self) -> str:
        """Go on until the end; return why it ended. The link is closed then, every entry is on disk or told lost."""
        self.take_up()
        try:
            while not self.over():
                self.turn()
        except BaseException:  # a plugin may also exit: stop first
            if self._run is not None and self._run.live:
                self._run.last_resort()
            raise
        finally:
            self._hearing.close()
            if self._listening is not None:
                self._listening.close()
        return self._leaving

    def leave(self, why: str) -> None:
        """End: stop what runs, write its outcome, then leave the loop. May be called from a signal handler."""
        self._leaving = self._leaving or why

    # What commands may do.

    @property
    def live(self) -> bool:
        return self._run is not None and self._run.live

    def arm(self, answers: Mapping[str, bool]) -> None:
        """Check everything, then arm. What refuses is recorded and told."""
        if self._leaving:
            return
        if self._unit.busy:
            raise LocalError("it is being read which control unit this is", hint="wait for it, then arm")
        one = self.state.pass_of(self.state.point.pass_id) if self.state.point else None
        command = self.state.command_of(one) if one else None
        if one is None or command is None:
            raise LocalError(
                f"the map has no wire command {one.wire_command if one else ''!r}",
                hint="open the job with a map that has",
            )
        bay = self._connect()
        if bay is None:
            raise LocalError("there is no link to the vehicle", hint="see the error before this one")
        self._again.came = ""
        first = first_use.due_now(self.state) is not None
        one = first_use.trial(command) if first else one
        self._run = Run(bay, self.state, one, command, answers, self._approvals, self._unreadable, first)
        self._run.begin()

    def refuse(self, pass_id: str, refusal: Refusal) -> None:
        """Record and tell what is refused before anything is looked at."""
        self.record.seen(Refused(pass_id=pass_id, rule=refusal.rule, why=refusal.why))
        self._face.tell(telling.of_refusal(refusal))

    def start(self) -> None:
        if self._run is not None:
            self._run.start(self.state)

    def stop(self, why: str) -> None:
        """Stop what runs, whatever it is; with an actuation whose end nobody knows, send its stop request."""
        if self._run is not None:
            self._run.stop(why)
            self._next_tell_ns = 0
        elif self.state.inspect is not None and not self._again.going and why != "paused":
            self._again.begin(self.state, self._connect)
        elif self._listening is not None and why == "abandoned":
            self._listening.give_up(f"{why} while it ran")
        elif self.view is not None and self.view.kind in NOT_OURS and why == BY_FACE:
            self._tell_error(LocalError("there is nothing of ours to stop", hint=ELSEWHERE))

    def ask_again(self) -> None:
        self._asker.again()
        self._unit.again()
        if self._listening is not None:
            self._listening.again()

    def show(self) -> None:
        if self.view is not None:
            self._face.tell({"view": msgspec.to_builtins(self.view)})

    # The loop.

    def turn(self) -> None:
        """Go once round the loop: wait for something, then serve stop, wire, journal, time and face, in this order."""
        self._wait()
        heard = self._face.read()
        if heard.stop:
            self.stop(BY_FACE)
        if heard.gone:
            self.leave(LEFT if leaving.leaves(heard.commands) and not self.live else SCREEN_LOST)
        if self._leaving and self._run is not None:
            self.stop(self._leaving)
        if self._leaving and self._listening is not None:
            why = LEFT_OR_LOST if self._leaving in (LEFT, SCREEN_LOST) else self._leaving
            self._listening.give_up(f"we stopped listening while it ran: {why}")
        self._hear_wire()
        self._hear_journal()
        self._pass_time()
        self._obey(heard)
        self._look()
        self._part()
        self._face.flush()

    def _wait(self) -> None:
        link: Conversation | FrameLink | None = None
        if self._listening is not None and self._listening.failure is None:
            link = self._listening.link
        elif self._hearing.bay is not None and self._hearing.works:
            link = self._hearing.bay.talk
        moments = [self._next_look_ns]
        if self._run is not None or (self._listening is not None and self._listening.running):
            moments.append(self._next_tell_ns)
        talk = self._hearing.bay.talk if self._hearing.bay is not None else None
        self._waiting.wait(link, (talk, self._run, self._again, self._listening), moments)

    def _hear_wire(self) -> None:
        if self._listening is not None:
            self._listening.pump(self.state, self.view.kind if self.view is not None else "")
        for exchange in self._hearing.ended(self._actuation, self._lost):
            if (self._run is not None and self._run.exchange(exchange)) or self._asker.ended(exchange):
                continue
            if self._unit.ended(exchange):
                self._next_look_ns = 0
                continue
            self._again.ended(exchange)

    def _lost(self) -> None:
        if self._run is not None:
            self._run.lost()

    @property
    def _actuation(self) -> int | None:
        return self._run.intent if self._run is not None else None

    def _hear_journal(self) -> None:
        for ticket in self._thread.collect():
            if ticket.error is not None:
                self._tell_error(ticket.error)
                self._asker.unrecorded(ticket)
                if ticket is self._taken_up:
                    self.leave(NOT_RECORDED)
            elif ticket.entry is not None and ticket.entry.job == self.state.job:
                self.state = advance(self.state, ticket.entry)
            if self._run is not None:
                self._run.ticket(ticket)
            if ticket.then is not None and ticket.error is None:
                ticket.then(ticket)
            self._next_look_ns = 0

    def _pass_time(self) -> None:
        now_ns = self._clock.mono_ns()
        if self._again.tick(now_ns, self.state.procedure.physical_fallback):
            self._next_look_ns = 0
        heard = self._listening.progress(now_ns) if self._listening is not None else None
        if heard is not None and now_ns >= self._next_tell_ns:
            self._face.tell({"run": heard})
            self._next_tell_ns = now_ns + round(TELL_EVERY_S * self._clock.rate * NS)
        run = self._run
        if run is None:
            return
        run.tick(now_ns)
        if now_ns >= self._next_tell_ns and run.live:
            self._face.tell({"run": progress(run, now_ns)})
            self._next_tell_ns = now_ns + round(TELL_EVERY_S * self._clock.rate * NS)
        if run.ended:
            self._run_ended(run)

    def _run_ended(self, run: Run) -> None:
        self._run = None
        self._next_look_ns = 0
        self._unreadable = ()
        if (refusal := run.refusal) is not None:
            self._permit.refused()
            self._unit.refused(refusal)
            if refusal.rule == "unreadable":
                self._unreadable = tuple(sorted(run.preflight.unreadable))
            if run.intent is None:  # there is no outcome to tell: the face must not go on showing a run
                self._face.tell({"run": {"state": "nothing sent"}})
            self._face.tell(telling.of_refusal(refusal, telling.reached_by(run)))
        if run.expired:
            self._face.tell(telling.of_expiry(self.state))
        if run.unrecorded:
            self.leave(NOT_RECORDED)

    def _obey(self, heard: Heard) -> None:
        if heard.garbled:
            self._tell_error(LocalError("a line of the face cannot be read", hint="send one JSON object a line"))
        for command in heard.commands:
            if self._leaving and command.get("do") != "answers":
                return
            try:
                obey(self, command)
            except WitnessmarkError as error:
                self._tell_error(error)
            else:
                if command.get("do") != "view":
                    self.view = None
                    self._next_look_ns = 0

    def over(self) -> bool:
        """Whether it has been told to end and nothing of it is going on any more."""
        return self._parted and not self._busy

    @property
    def _busy(self) -> bool:
        return (
            self._run is not None
            or self._again.going
            or self._asker.busy
            or self._unit.busy
            or self._thread.waiting > 0
        )

    def _part(self) -> None:
        """Write how it ends, once it has been told to and nothing else is going on."""
        if not self._leaving or self._parted or self._busy:
            return
        self._parted = True
        if self._leaving != NOT_RECORDED and self.state.status in ("open", "paused"):
            by = self.record.person.actor if self._leaving == LEFT else MACHINE
            self._thread.submit(self.record.draft(leaving.as_left(self.state, self._leaving), by))

    def _look(self) -> None:
        """Show the next view when it is another than the one that stands."""
        now_ns = self._clock.mono_ns()
        if now_ns < self._next_look_ns or self._thread.waiting > 0:
            return
        self._next_look_ns = now_ns + round(LOOK_EVERY_S * self._clock.rate * NS)
        stopping = self._again.going
        if self._run is None and not stopping and not self._leaving:
            if not self._unit.busy:
                self._asker.look(self.state, self._connect)
            self.hands.look(now_ns)
            self._permit.look(now_ns)
            if not (self.hands.looked and self._permit.looked):  # else the first view would change under the hand
                self._next_look_ns = 0
                return
        elif self._run is not None and self._run.live:
            self._permit.look_while(self._run.command.id, now_ns)
        unread, unasked = self._unreadable, self._asker.failed
        bay, came, at = self._hearing.bay, self._again.came, self._hearing.moment()
        fresh = self._permit.shown(view_now(
            self.state, bay, self._run, at, stopping=stopping, unreadable=unread, unasked=unasked, stop_came=came,
            unheard=self._listening.trouble if self._listening is not None else "",
        ))  # fmt: skip
        if not (self._run or stopping or self._leaving or self._asker.busy):
            self._unit.look(self._permit.approved, fresh)
        fresh = self.hands.shown(self.filling.shown(self.half.shown(self._unit.shown(fresh)), self.state))
        stands = self.view if self.view is not None and _alike(self.view, fresh) else None
        if stands is not None and stands.shown == fresh.shown:
            return
        self._views += stands is None  # only its ages are others: it stays the view that is answered
        self.view = msgspec.structs.replace(
            fresh,
            id=stands.id if stands is not None else f"{self.state.last_seq}-{self._views}",
            wait_s=wait_text(self.state, self._hearing.bay, fresh),
            at=min(self.state.cursor + 1, len(self.state.points)),
            of=len(self.state.points),
        )
        self.show()

    def take_up(self) -> None:
        """Take over from a runner that died: its intent without an outcome is interrupted, its arming is over."""
        unended = "an intent without an outcome: the program ended while it may have run"
        for run in self.state.unended:
            found = LEFT_TOLD if run.grade == "told" else unended
            self._taken_up = self.record.seen(Interrupted(actuation=run.intent, pass_id=run.pass_id, found=found))
        if self.state.open_intent is None and self.state.armed is not None:
            self.record.seen(Disarmed(pass_id=self.state.armed.pass_id, why="the program ended"))
        if self.state.grade == "heard":
            self._listening = listen(self._open_link, self.state.map, self.record, self._clock, self._face.tell)
        self._connect()

    def _connect(self) -> Bay | None:
        return self._hearing.connect(self.state.map) if self.state.grade == "sent" else None

    def _tell_error(self, error: WitnessmarkError) -> None:
        self._face.tell(telling.of_error(error))


def _alike(stands: View, fresh: View) -> bool:
    """Whether a view says and asks what the one that stands does, but for what is shown beside it."""
    return msgspec.structs.replace(stands, id="", wait_s="", at=0, of=0, shown={}) == msgspec.structs.replace(
        fresh, shown={}
    )
