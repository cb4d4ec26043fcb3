"""Runs that another tester makes, heard on a link that only listens: each is timed from the wire and tied to its pass.

Frames flow in, entries of grade `heard` flow out. Rules that hold here: the link must promise to listen in silence,
nothing is ever sent on it and there is no stop of ours; a run belongs to the pass in hand only when it is that pass's
wire command, and its nipple is open or the page that is up asks for opening or run: any other is recorded as a run of
no pass; it begins and ends with the control unit's own
positive answers, and one whose end is not heard, for whatever reason, is unknown and is looked at; a stop that is heard
after that is of the same run, and shows that it had ended by then; when we listened and when not is in the record, and
a link that is lost is opened again by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from witnessmark.clock import NS, Clock
from witnessmark.errors import LinkError, LocalError, WitnessmarkError
from witnessmark.job.amount import seconds
from witnessmark.job.bay import Tell, peer_of
from witnessmark.job.events import Events
from witnessmark.job.heard.heard_reading import HeardReadings
from witnessmark.job.heard.heard_run import HeardRun, HeardWriter, Lateness
from witnessmark.job.record import Record
from witnessmark.job.view import ELSEWHERE, GONE
from witnessmark.job.walk.state import JobState, RunState
from witnessmark.link.frame import Event, Frame
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.mapping.ear import Ear, Heard
from witnessmark.mapping.model import ProtocolMap
from witnessmark.procedure.model import Pass
from witnessmark.wire.uds.codes import nrc_name

LOOK_NS = NS // 50
"""How often the link is looked at while an answer is waited for: so surely it is known when it came."""
MOST_LOOKS = 8
"""So often in one turn: a flood does not hold the loop, and is then known to have waited."""
SILENT_S, SILENT_REAL_S = 10, 2
"""A bus on which nothing at all came for so long, by both, is said to be silent. Common practice, no source."""
HELD_UP_REAL_S = 5
"""A listener that did not look for so long may have missed what came. No source."""
REOPEN_REAL_S = 1.0
"""So often a lost link is opened again."""
ASKS_ELSE = ("step", "reading", "mixing", "arm")
"""Views that ask for something else than to open a nipple or to run: what is shut then is known to be shut."""
HEARD_ELSEWHERE = "heard elsewhere"
"""The event of a run of which only the end was heard: it began while nobody listened."""
SILENT = f"NOTHING HEARD ON THE BUS FOR {SILENT_S} s and more: is the interface plugged in, is the ignition on?"
AGAIN = "Put right what it names, then start it again on the other tester."
OTHER_PASS = "It is recorded. Start the wire command of this pass on the other tester."
REFUSED = "the control unit refused the other tester"


def require_silent(link: FrameLink | MessageLink) -> FrameLink:
    """Return the link, or raise LocalError when it does not promise to listen in silence, or shows no frames."""
    if isinstance(link, MessageLink):  # it has all that a FrameLink has, and more
        raise LocalError(
            "this interface shows whole messages, not what others say on the bus",
            hint="listen with an interface that carries frames, or run the job with --grade told",
        )
    if link.capabilities.listen != "silent" or link.capabilities.can_send:
        raise LocalError(
            "this interface does not promise to listen without a trace on the bus",
            hint="use one that has a silent mode, or run the job with --grade told",
        )
    return link


def listen(
    open_link: Callable[[], FrameLink | MessageLink],
    known: ProtocolMap | None,
    record: Record,
    clock: Clock,
    tell: Tell,
) -> Listening:
    """Open a link that only listens. Raises LocalError without a map to recognise runs by, or without such a link."""
    if known is None:
        raise LocalError("there is no map to recognise a run by", hint="run the job with --grade told")
    link = open_link()
    try:
        return Listening(require_silent(link), known, record, clock, tell, open_link)
    except LocalError:
        link.close()
        raise


class Listening:
    """One link that only listens, during one job. `failure` is why it is lost."""

    def __init__(
        self,
        link: FrameLink,
        known: ProtocolMap,
        record: Record,
        clock: Clock,
        tell: Tell,
        open_link: Callable[[], FrameLink | MessageLink],
    ) -> None:
        self.link = link
        self._open_link = open_link
        self._known = known
        self._reopen_ns = 0
        self._frame_ns = self._looked_ns = clock.mono_ns()
        self._silent = False
        self.failure: LinkError | None = None
        self._late = Lateness(clock.mono_ns(), arrived=link.capabilities.stamps == "arrived")
        self._writer = HeardWriter(record, clock, peer_of(known), self._late)
        self._ear = Ear(known)
        self._s3_ns = known.timing.s3_ms * 1_000_000
        self._readings = HeardReadings(self._writer, known, tell)
        self._record = record
        self._clock = clock
        self._tell = tell
        self._events = Events(record, clock)
        self._runs: dict[str, HeardRun] = {}
        """Those that were heard to begin and not to end, by wire command; at most one of them is of a pass."""
        self._page = ""
        self._lost = 0
        self._events.write("listening", "", b"", None, always=True)

    @property
    def trouble(self) -> str:
        """Why nothing is heard, empty while something is."""
        return f"{GONE}: {self.failure}." if self.failure is not None else SILENT if self._silent else ""

    @property
    def running(self) -> bool:
        """Whether a run was heard to begin and not to end."""
        return bool(self._runs)

    def pump(self, state: JobState, page: str = "") -> None:
        """Receive what has come, let time pass, and write what it shows; `page` is the kind of view that is up."""
        self._page = page
        self._reopen()
        for one in self._receive():
            if isinstance(one, Event):
                self._event(one)
            else:
                self._speaks(one.stamp.mono_ns)
                for heard in self._ear.feed(one):
                    self._take(heard, state)
        if self._ear.lost > self._lost:
            self._lost = self._ear.lost
            self._events.write("garbled", "a message of which frames were not heard", b"", None)
        now_ns = self._clock.mono_ns()
        self._watch(now_ns)
        for heard in self._ear.tick(now_ns):
            self._take(heard, state)
        for run in [one for one in self._runs.values() if now_ns >= one.give_up_ns]:
            self._give_up(run, "its end was not heard")
        if not self._runs:
            self._ear.signs.clear()

    def again(self) -> None:
        """Open a lost link again at once, not only when its time has come."""
        self._reopen_ns = 0

    def give_up(self, why: str) -> None:
        """Nobody will hear the end of what is heard running, if anything is: write that it is unknown."""
        for run in [*self._runs.values()]:
            self._give_up(run, why)

    def progress(self, now_ns: int) -> dict[str, object] | None:
        """Return how the run of the pass stands; None when there is none."""
        run = self._of_pass
        if run is None:
            return None
        elapsed_s = max(0, now_ns - run.from_ns) / NS
        shown: dict[str, object] = {"state": "heard running", "of_s": run.asked_s, "elapsed_s": f"{elapsed_s:.1f}"}
        quiet_ns = now_ns - max([run.from_ns, *(at_ns for at_ns, _ in self._ear.signs[-1:])])
        if quiet_ns > self._s3_ns:
            shown["note"] = f"start heard; no end heard yet; nothing from the other tester for {quiet_ns // NS} s"
        return shown

    def deadline_ns(self) -> int | None:
        """When `pump` next has something to do by itself."""
        waits = self._ear.deadline_ns()
        soon = None if waits is None else self._clock.mono_ns() + LOOK_NS
        moments = [waits, soon, *(run.give_up_ns for run in self._runs.values())]
        return min((one for one in moments if one is not None), default=None)

    def close(self) -> None:
        """Give the link back for good, and record that nobody listens any more."""
        if self.failure is None:
            self._events.write("not listening", "the program was left", b"", None, always=True)
            self._give_back()

    def _give_back(self) -> None:
        """Close the link. A plugin that breaks over it is recorded and told: nothing else depends on it."""
        try:
            self.link.close()
        except LinkError as error:
            self._events.write("plugin broke", str(error), b"", None, always=True)
            self._tell({"error": {"what": str(error), "hint": error.hint, "reached": error.reached}})

    # Whether anything is heard.

    def _reopen(self) -> None:
        """Open a lost link again, so often and no more: what only listens may be opened without asking."""
        now_ns = self._clock.mono_ns()
        if self.failure is None or now_ns < self._reopen_ns:
            return
        self._reopen_ns = now_ns + round(REOPEN_REAL_S * self._clock.rate * NS)
        try:
            link = self._open_link()
        except WitnessmarkError:
            return  # it is told already that the link is lost, and tried again
        try:
            self.link = require_silent(link)
        except LocalError:
            link.close()
            return
        self.failure, self._silent = None, False
        self._ear, self._lost = Ear(self._known), 0
        self._frame_ns = self._looked_ns = self._clock.mono_ns()
        self._late.empty(self._frame_ns)
        self._events.write("listening", "the link is back", b"", None, always=True)
        self._tell({"said": "we listen again: what ran in between was not heard"})

    def _speaks(self, at_ns: int) -> None:
        """Take note that the bus speaks."""
        self._frame_ns = max(self._frame_ns, at_ns)
        if self._silent:
            self._silent = False
            self._events.write("listening", "the bus speaks again", b"", None, always=True)
            self._tell({"said": "the bus speaks again"})

    def _watch(self, now_ns: int) -> None:
        """Record a bus that fell silent, and a listener that did not look for long."""
        rate, before_ns, self._looked_ns = self._clock.rate, self._looked_ns, now_ns
        if self.failure is not None:
            return
        if now_ns - before_ns > HELD_UP_REAL_S * rate * NS:
            self._events.write("held up", "", b"", None, always=True, since_ns=before_ns)
        if not self._silent and now_ns - self._frame_ns > max(SILENT_S, SILENT_REAL_S * rate) * NS:
            self._silent = True
            detail = f"nothing came for {SILENT_S} s"
            self._events.write("bus silent", detail, b"", None, always=True, since_ns=self._frame_ns)

    # What was heard.

    def _receive(self) -> list[Frame | Event]:
        """Take what waits, and look again whether that was all: what is found next came after that."""
        came: list[Frame | Event] = []
        for _ in range(MOST_LOOKS if self.failure is None else 0):
            began_ns = self._clock.mono_ns()
            try:
                new = self.link.receive(0.0)
            except LinkError as error:
                self._fail(error)
                break
            if not new:
                self._late.empty(began_ns)
                break
            self._late.found(one.stamp.mono_ns for one in new)
            came += new
        return came

    @property
    def _of_pass(self) -> HeardRun | None:
        return next((run for run in self._runs.values() if run.one is not None), None)

    def _event(self, event: Event) -> None:
        run = self._of_pass
        if event.kind == "lost":
            self._fail(LinkError(event.detail or "the interface is gone", kind="gone", hint="check plug and cable"))
        elif event.kind not in ("accepted", "begun"):
            self._events.write(event.kind, event.detail, event.raw, run.intent if run else None)

    def _fail(self, error: LinkError) -> None:
        if self.failure is not None:
            return  # it says so itself, and raises besides
        self.failure = error
        self._reopen_ns = self._clock.mono_ns() + round(REOPEN_REAL_S * self._clock.rate * NS)
        self._events.write("lost", str(error), b"", None, always=True)
        self._tell({"error": {"what": f"the link is lost: {error}", "hint": error.hint, "reached": "nothing"}})
        self.give_up("the link was lost while it ran")
        self._give_back()

    def _give_up(self, run: HeardRun, why: str) -> None:
        del self._runs[run.command.id]
        last_ns = max((at_ns for at_ns, _ in self._ear.signs), default=run.from_ns)
        self._writer.kept_alive(run, self._ear.signs, last_ns + 1)
        self._writer.outcome(run, "unknown", "unknown", why, None)
        if run.one is not None:
            self._tell({"run": {"state": "unknown", "result": "unknown", "of_s": run.asked_s}})
        what = why if run.one is not None else f"{run.command.id}, which is not this pass's: {why}"
        self._tell({"error": {"what": what, "hint": ELSEWHERE, "reached": "nothing"}})

    def _take(self, heard: Heard, state: JobState) -> None:
        if heard.act in ("identification", "scan"):
            self._readings.take(heard, state)
        elif heard.act == "clear":
            self._cleared(heard)
        elif heard.act == "start":
            self._start(heard, state)
        elif (run := self._runs.get(heard.command.id)) is not None:
            self._stop(heard, run)
        elif heard.result == "positive" and (before := _end_unheard(heard, state)) is not None:
            self._record.seen(self._writer.body(heard, before.intent, before.pass_id), self._writer.when(heard.at_ns))
            self._tell({"said": f"a stop of {heard.command.id} was confirmed now: look all the same"})
        elif heard.result == "positive":
            detail = f"{heard.command.id}, its end was heard and its start was not"
            self._events.write(HEARD_ELSEWHERE, detail, heard.request.payload, None, always=True)
            self._tell({"said": detail})

    def _cleared(self, heard: Heard) -> None:
        """Another tester asked for the trouble codes to be cleared: that belongs to the job, to no run of it."""
        self._record.seen(self._writer.body(heard), self._writer.when(heard.at_ns))
        if heard.result == "positive":
            self._tell({"said": "another tester cleared the trouble codes: scan them again"})

    def _start(self, heard: Heard, state: JobState) -> None:
        one = _pass_in_hand(heard, state, self._page)
        if self._of_pass is None and state.open_intent is not None:
            one = None  # the walk waits for the end of a run that nobody here hears
        before = self._runs.get(heard.command.id)
        if before is not None and heard.result != "negative":
            self._give_up(before, "it was started again before its end was heard")
        run = HeardRun(heard, one)
        name = heard.command.id if one is not None else f"{heard.command.id}, which is not this pass's,"
        self._writer.intent(run, heard, state.map_digest)
        self._writer.exchange(heard, run)
        if heard.result == "positive":
            if not self._runs:
                self._ear.signs.clear()
            self._runs[heard.command.id] = run
            stop = "" if one is not None else ": stop it on the other tester"
            self._tell({"said": f"{name} is heard running{stop}"})
        elif heard.result == "negative":
            why = f"the control unit refused the other tester: {heard.code:02X} {nrc_name(heard.code or 0)}"
            self._writer.outcome(run, "refused", "not sent", REFUSED, None, heard.code)
            hint = AGAIN if one is not None else OTHER_PASS
            self._tell({"error": {"what": f"{name} did not start: {why}", "hint": hint, "reached": "nothing"}})
        else:
            why = "no answer to the other tester's start was heard"
            self._writer.outcome(run, "unknown", "unknown", why, None)
            what = why if one is not None else f"{name} may run: {why}"
            self._tell({"error": {"what": what, "hint": ELSEWHERE, "reached": "nothing"}})

    def _stop(self, heard: Heard, run: HeardRun) -> None:
        self._writer.exchange(heard, run)
        if heard.result != "positive":
            return  # it may still be asked again; what is not heard to end is unknown
        del self._runs[run.command.id]
        self._writer.kept_alive(run, self._ear.signs, heard.request.last_ns)
        lasted_s = Decimal(heard.at_ns - run.from_ns) / NS
        short = run.one is None or lasted_s < _least_s(run.one)
        why = f"the other tester stopped it after {lasted_s:.1f} s" if short else ""
        result = "stopped" if short else "completed"
        self._writer.outcome(run, result, "confirmed", why, heard.at_ns)
        if run.one is None:
            self._tell({"said": f"{run.command.id}, which is not this pass's, ran {lasted_s:.1f} s and was stopped"})
        else:
            self._tell({"run": {"state": "stop confirmed", "result": result, "elapsed_s": f"{lasted_s:.1f}"}})


def _pass_in_hand(heard: Heard, state: JobState, page: str) -> Pass | None:
    """Return the pass that the walk stands in, when what was heard is its wire command and its nipple may be open."""
    point = state.point
    one = state.pass_of(point.pass_id) if point is not None and state.status == "open" else None
    if one is None or one.wire_command != heard.command.id:
        return None
    return one if page not in ASKS_ELSE or state.open_in(one) else None


def _end_unheard(heard: Heard, state: JobState) -> RunState | None:
    """Return the run that a stop may have ended: the last one of its wire command, its end not heard nor looked at."""
    runs = [run for run in state.runs if run.grade == "heard" and run.wire_command == heard.command.id]
    return runs[-1] if runs and runs[-1].unseen else None


def _least_s(one: Pass) -> Decimal:
    """Return the least seconds by which a run counts as one of its whole length."""
    return seconds(one.seconds) - (seconds(one.seconds_tolerance) if one.seconds_tolerance else 0)
