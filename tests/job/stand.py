"""A runner with both ends in memory: a vehicle that answers from a table, a journal in a list, a face on a socket.

The clock moves five milliseconds a turn of the loop; nothing sleeps. `Stand().go_to("arm")` walks to the first view of
a kind by doing what it shows.
"""

from __future__ import annotations

import json
import os
import socket
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from tests.procedure.kept import kept
from tests.talk.ends import MemoryMessageLink, Unit

from witnessmark.clock import Clock, ManualClock
from witnessmark.errors import JournalError, WitnessmarkError
from witnessmark.job.allowed.approval import approve
from witnessmark.job.journal_thread import JournalThread, Ticket
from witnessmark.job.runner import Runner
from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.state import JobState
from witnessmark.journal import bodies
from witnessmark.journal.entry import FORMAT, Draft, Entry, Recorded, leaf, occurred
from witnessmark.link.frame import Peer
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.mapping import load as maps
from witnessmark.people.person import Person
from witnessmark.procedure import load as procedures

PEER = Peer(0x7A0, 0x7A8)
LEAD, TECHNICIAN = Person("l-heron", "lead"), Person("t-otter")
BOOT = "boot-1"

PROCEDURE = """
format = "witnessmark-procedure/1"
id = "truck"
title = "Bleed"
source = "invented for tests"
vehicle = "invented truck"
invented = true
manual_uncertainty = "1 s"
armed_for = "60 s"
physical_fallback = "Close the nipple, ignition off."
nipples = [
    { id = "rr", name = "rear right", circuit = "one", torque = { low = "8 N.m", high = "10 N.m" } },
    { id = "rl", name = "rear left", circuit = "two" },
]
[[preconditions]]
name = "voltage"
text = "Supply"
limit = { low = "11.5 V" }
[[preconditions]]
name = "gear"
text = "Selector in park"
equals = "park"
[[preconditions]]
name = "hood"
text = "Is the hood shut?"
equals = "yes"
[[questions]]
id = "nobody-near"
text = "Is nobody near?"
[pump]
longest_run = "20 s"
rest = "10 s"
on_time = "30 s"
window = "100 s"
[[steps_before]]
id = "grade"
text = "Read the grade"
act = "check"
affects = "fluid-grade"
[[steps_before]]
id = "pressurise"
text = "Pressurise"
affects = "pressurise"
[[passes]]
id = "p1"
nipples = ["rr"]
wire_command = "pump"
seconds = "8 s"
seconds_tolerance = "1 s"
order = "before"
order_tolerance = "30 s"
overlap = "90 %"
pressure = { low = "1.8 bar", high = "2.2 bar" }
pressure_age = "90 s"
[[passes]]
id = "p2"
nipples = ["rl"]
wire_command = "valve"
seconds = "5 s"
seconds_tolerance = "1 s"
order = "with"
order_tolerance = "5 s"
overlap = "50 %"
[[steps_after_each_pass]]
id = "torque"
text = "Torque"
act = "read"
what = "torque"
unit = "N.m"
affects = "torqued"
[[steps_after]]
id = "road-test"
text = "Drive"
affects = "road-test"
"""

MAP: dict[str, Any] = {
    "format": "witnessmark-map/1",
    "id": "unit",
    "title": "unit of an invented truck",
    "source": "invented for tests",
    "invented": True,
    "address": {"request": "7A0", "answer": "7A8", "functional": "7DF"},
    "identification": [{"identifier": "F189", "value": "0102"}],
    "conditions": [
        {"name": "speed", "identifier": "7002", "unit": "km/h"},
        {"name": "voltage", "identifier": "7001", "denominator": 10, "unit": "V"},
        {"name": "gear", "identifier": "7003", "names": {"2": "neutral", "3": "park"}},
    ],
    "wire_commands": [
        {
            "id": "pump", "words": "runs the pump", "start": "31010301{seconds}", "stop": "31020301",
            "longest_s": 20, "cool_down_s": 15, "budget_ms": 8000,
        },
        {
            "id": "valve", "words": "opens the valve", "start": "2F710103{seconds}", "stop": "2F710100",
            "longest_s": 15, "cool_down_s": 5,
        },
    ],
}  # fmt: skip

READING_WHICH = "Reading which control unit this is"
SESSION = bytes.fromhex("1003")
START, STOP = bytes.fromhex("3101030108"), bytes.fromhex("31020301")
VALVE_START, VALVE_STOP = bytes.fromhex("2F71010305"), bytes.fromhex("2F710100")
SPEED, VOLTAGE, GEAR, SOFTWARE = (bytes.fromhex(f"22{one}") for one in ("7002", "7001", "7003", "F189"))
VIN, SERIAL = bytes.fromhex("22F190"), bytes.fromhex("22F18C")
ACTS = (START, VALVE_START)
ALIVE = b"\x3e\x80"


def answers() -> dict[bytes, Any]:
    """Return what a vehicle that is well answers, each after 20 ms."""
    said = {
        SESSION: "5003003201F4",
        START: "71010301",
        STOP: "71020301",
        VALVE_START: "6F71010301",
        VALVE_STOP: "6F71010000",
        SPEED: "62700200",
        VOLTAGE: "6270017D",
        GEAR: "62700303",
        SOFTWARE: "62F1890102",
        VIN: "62F19056",
        SERIAL: "62F18C31",
    }
    return {request: [(0.02, bytes.fromhex(answer))] for request, answer in said.items()}


class MemoryJournal:
    """Entries in a list. `fails` is asked before each append: a text makes it fail with it."""

    def __init__(self, clock: Clock) -> None:
        self.made: list[Entry] = []
        self.clock = clock
        self.fails: Callable[[Draft], str] = lambda draft: ""

    def append(self, draft: Draft) -> Entry:
        why = self.fails(draft)
        if why:
            raise JournalError(why, hint="check the disk")
        now = self.clock.stamp()
        earlier = [one for one in self.made if one.job == draft.job] if draft.job else []
        entry = Entry(
            body=draft.body,
            done_by=draft.done_by,
            entered_by=draft.entered_by or draft.done_by,
            format=FORMAT,
            job=draft.job,
            job_prev=leaf(earlier[-1]).hex() if earlier else None,
            job_seq=len(earlier) if draft.job else None,
            kind=draft.kind,
            occurred=draft.occurred or occurred(now.wall_ns),
            recorded=Recorded(str(now.boot_ns), BOOT, str(now.mono_ns), "process-1", 1, str(now.wall_ns)),
            salt="0" * 32,
            seq=len(self.made),
        )
        self.made.append(entry)
        return entry

    def of(self, job: str) -> list[Entry]:
        return [one for one in self.made if one.job == job]


def signed_on(*people: Person) -> Callable[[MemoryJournal], None]:
    """Return what signs these people on with their PINs, before the job is begun."""

    def before(journal: MemoryJournal) -> None:
        for person in people:
            journal.append(Draft("sign-on", None, person.actor, body={"role": person.role, "proven": "pin"}))

    return before


class InlineThread(JournalThread):
    """Does the work when it is collected, `late` turns afterwards, in the order submitted."""

    def __init__(self, journal: MemoryJournal) -> None:
        self._journal = journal
        self._reader, self._writer = os.pipe()
        self._todo_now: list[Ticket] = []
        self.waiting = 0
        self.held = False

    def call(self, work: Callable[[], Entry | None]) -> Ticket:
        ticket = Ticket(work)
        self.waiting += 1
        self._todo_now.append(ticket)
        return ticket

    def collect(self) -> list[Ticket]:
        if self.held:
            return []
        finished, self._todo_now = self._todo_now, []
        for ticket in finished:
            try:
                ticket.entry = ticket.work()
            except WitnessmarkError as error:
                ticket.error = error
            ticket.done = True
        self.waiting -= len(finished)
        return finished

    def close(self) -> None:
        os.close(self._reader)
        os.close(self._writer)


class Stand:
    """Everything around one runner."""

    def __init__(
        self,
        *,
        procedure: str = PROCEDURE,
        map_document: dict[str, Any] | None = None,
        approved: bool = True,
        before: Callable[[MemoryJournal], None] = lambda journal: None,
        grade: bodies.Grade = "sent",
        bus: FrameLink | None = None,
        without_map: bool = False,
        clock: Clock | None = None,
        passes: Sequence[str] = (),
    ) -> None:
        self.grade = grade
        self.bus = bus
        manual = ManualClock()
        self.clock: Any = clock or manual
        self.unit = Unit(manual, answers())
        self.link = MemoryMessageLink(self.unit)
        self.link.idle_s = 0.005
        self.journal = MemoryJournal(self.clock)
        self.document = MAP if map_document is None else map_document
        self.opens = 0
        known = maps.from_document(self.document)
        plan = kept(procedure)
        opened = bodies.JobOpened(
            title=plan.title,
            vehicle={"what": "invented truck"},
            procedure=procedures.to_document(plan),
            procedure_digest=procedures.digest(plan),
            map=None if without_map else maps.to_document(known),
            map_digest="" if without_map else maps.digest(known),
            plan=tuple(passes) or tuple(one.id for one in plan.passes),
            invented=True,
            grade=grade,
        )
        self.journal.append(Draft("job-opened", "J1", TECHNICIAN.actor, body=bodies.to_body(opened)))
        if approved:
            self.journal.append(approve(LEAD, known))
        before(self.journal)
        self.start_runner()

    def start_runner(self, other_tester: Recorded | None = None) -> None:
        """A new runner takes the job up from the journal, as after a crash of the last."""
        self.face, theirs = socket.socketpair()
        self.face.setblocking(False)
        self.thread = InlineThread(self.journal)
        self.told: list[dict[str, Any]] = []
        self._partial = b""
        self.runner = Runner(
            self._open,
            self.thread,
            self.clock,
            state=replace(fold(self.journal.of("J1")), grade=self.grade, other_tester=other_tester),
            approvals=lambda: list(self.journal.made),
            person=TECHNICIAN,
            face=theirs,
            boot_id=BOOT,
        )
        self.theirs = theirs
        self.runner.take_up()
        self.turn()

    def close(self) -> None:
        self.face.close()
        self.theirs.close()
        self.thread.close()

    def crash(self) -> None:
        """The runner dies here, as it stands; the next one takes over."""
        self.close()
        self.start_runner()

    # What the face sees and does.

    def turn(self, count: int = 3) -> None:
        for _ in range(count):
            before_ns = self.clock.mono_ns()
            self.runner.turn()
            if isinstance(self.clock, ManualClock) and self.clock.mono_ns() == before_ns:  # no link was looked at
                self.clock.advance(0.005)
            try:
                self._partial += self.face.recv(1 << 20)
            except (BlockingIOError, OSError):
                pass
            *lines, self._partial = self._partial.split(b"\n")
            self.told += [json.loads(line) for line in lines]

    def until(self, done: Callable[[], object], seconds: float = 60) -> None:
        """Turn until `done`; fails after so many seconds of the clock."""
        end_ns = self.clock.mono_ns() + round(seconds * 1e9)
        while not done():
            assert self.clock.mono_ns() < end_ns, f"never: view {self.view}, told {self.told[-5:]}"
            self.turn(1)

    def wait(self, seconds: float) -> None:
        end_ns = self.clock.mono_ns() + round(seconds * 1e9)
        while self.clock.mono_ns() < end_ns:
            self.turn(1)

    @property
    def view(self) -> dict[str, Any]:
        return next((one["view"] for one in reversed(self.told) if "view" in one), {})

    @property
    def errors(self) -> list[dict[str, Any]]:
        return [one["error"] for one in self.told if "error" in one]

    @property
    def state(self) -> JobState:
        return self.runner.state

    def send(self, **command: Any) -> None:
        self.face.sendall(json.dumps(command).encode() + b"\n")

    def do(self, **command: Any) -> None:
        """Answer the view that stands and wait for what comes of it: another view, or an error."""
        seen, errors = self.view.get("id"), len(self.errors)
        self.send(view=seen, **command)
        self.until(lambda: self.view.get("id") != seen or len(self.errors) > errors)
        self.until_known()

    def until_known(self) -> None:
        """Wait while it is being read which control unit this is."""
        self.until(lambda: not self.view.get("text", "").startswith(READING_WHICH))

    def press(self, key: str, said: str = "", **more: str) -> None:
        self.do(do="key", key=key, said=said, **more)

    def read(self, value: str, unit: str, **more: Any) -> None:
        self.do(do="reading", value=value, unit=unit, **more)

    def answer(self, **answers: bool) -> None:
        yes = {one["id"]: True for one in self.view["questions"]}
        self.do(do="answers", answers=yes | answers)

    def fill_up(self) -> None:
        """Say at the level's look that the reservoir is filled up, and that nobody read how much went in."""
        self.press("f")
        self.press("n")

    def arm_anyway(self) -> None:
        """Arm while the screen only waits, as no face can: the rules alone refuse."""
        self.until_known()
        self.runner.arm({"nobody-near": True, "hood": True})
        self.until(lambda: self.errors)

    def arm_again(self) -> None:
        """Arm with every question answered anew, and wait until it is armed or refused."""
        seen = len(self.errors)
        self.until(lambda: self.view.get("kind") == "arm")
        self.answer()
        self.until(lambda: self.view["kind"] == "armed" or len(self.errors) > seen)

    def stop(self) -> None:
        self.face.sendall(b"\x18")

    def follow(self) -> None:
        """Do what the view shows, well."""
        view = self.view
        match view["kind"]:
            case "reading":
                good = {"feed-pressure": "2.0", "torque": "9", "volume": "50"}[view["what"]]
                self.read(good, view["unit"])
            case "arm":
                self.wait(float(view.get("wait_s", "0")) + 0.01)
                self.answer()
            case "armed":
                self.press("s")
            case "busy" | "running":
                seen = view["id"]
                self.until(lambda: self.view["id"] != seen)
            case "inspect":
                self.press("1")
            case _:
                self.press("y", "DOT 4")

    def go_to(self, kind: str, pass_id: str | None = None) -> None:
        """Follow the views until one of `kind` (of `pass_id`) stands."""
        for _ in range(200):
            if self.view.get("kind") == kind and pass_id in (None, self.view.get("pass_id", "")):
                return
            self.follow()
        raise AssertionError(f"never came to {kind}: {self.view}")

    # What is in the journal.

    def kinds(self) -> list[str]:
        return [one.kind for one in self.journal.of("J1")]

    def bodies(self, kind: str) -> list[Any]:
        return [bodies.from_body(kind, one.body) for one in self.journal.of("J1") if one.kind == kind]

    @property
    def acts(self) -> list[bytes]:
        """Everything the vehicle heard that makes it act."""
        return [one for one in self.unit.heard if one[:1] in (b"\x31", b"\x2f")]

    def _open(self) -> FrameLink | MessageLink:
        self.opens += 1
        return self.link if self.bus is None else self.bus
