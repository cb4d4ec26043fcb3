"""Builds the entries of a job from a few lines: seconds on the job's own clock, ranges for what hands did.

    job = Job(TRUCK).pressurise(0).read("feed-pressure", "2.0 bar", 5).open("rr", "p1", 10).run("p1", 14, 34)
    job.close("rr", 40).entries()

Times are seconds from the start of the job. A manual time is widened by `u` seconds on each side, as the shop's
uncertainty would. The machine's clocks go on by themselves; `reboot`, `restart` and `set_clock` disturb them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

from tests.procedure.kept import kept

from witnessmark.audit.case import Case, Integrity, open_case
from witnessmark.audit.policy import DEFAULT, Policy
from witnessmark.audit.question import Question
from witnessmark.audit.run import find
from witnessmark.audit.verdict import Finding
from witnessmark.journal import bodies
from witnessmark.journal.canonical import encode_plain
from witnessmark.journal.entry import FORMAT, Entry, Occurred, Recorded, leaf
from witnessmark.procedure.load import digest, to_document
from witnessmark.procedure.model import Procedure
from witnessmark.procedure.plan import parse_scope, plan

NS = 1_000_000_000
WALL = 1_750_000_000 * NS
MONO = 5_000 * NS
TECHNICIAN = "person:t-otter"
MACHINE = "machine:runner"
PEER = {"source": "F1", "target": "7A0"}

TRUCK_TEXT = (Path(__file__).parent / "truck.toml").read_text(encoding="utf-8")
TRUCK = kept(TRUCK_TEXT)
"""An invented truck: four nipples, passes p1 rr, p2 rl, p3 fr, p4 fl; p1 to p3 run the pump for 20 s, p4 does not."""

MAP: dict[str, Any] = {
    "format": "witnessmark-map/1",
    "id": "truck-map",
    "timing": {"p2_ms": 50, "p2_star_ms": 5000, "s3_ms": 5000},
    "wire_commands": [
        {
            "id": "pump",
            "words": "run the pump",
            "start": "31010301",
            "stop": "31020301",
            "longest_s": 60,
            "cool_down_s": 30,
        }
    ],
}


def edit(*pairs: tuple[str, str]) -> Procedure:
    """Return the truck's procedure with each old text exchanged for the new one everywhere; each must be there."""
    text = TRUCK_TEXT
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return kept(text)


Besides = Sequence[tuple[float, Callable[["Job", float], object]]]
"""What is done besides, each at a moment, in the order of time."""


class Job:
    """A job being written. Each method adds entries and returns the job."""

    def __init__(
        self,
        procedure: Procedure = TRUCK,
        *,
        scope: str = "full",
        grade: bodies.Grade = "sent",
        rate: int = 1,
        vehicle: Mapping[str, str] | None = None,
        protocol_map: dict[str, Any] | None = MAP,
        u: float = 1.0,
        name: str = "J1",
        besides: Besides = (),
    ) -> None:
        self.u = u
        self.rate = rate
        self.grade = grade
        self.name = name
        self.boot = "boot-1"
        self.process = "process-1"
        self.wall_shift_ns = 0
        self.mono_shift_ns = 0
        self.asleep_ns = 0
        self._besides = list(besides)
        self._made: list[Entry] = []
        self._written = -1.0
        passes = plan(procedure, parse_scope(scope))
        opened = bodies.JobOpened(
            title=procedure.title,
            vehicle=dict(vehicle or {"what": "invented light truck"}),
            procedure=to_document(procedure),
            procedure_digest=digest(procedure),
            map=protocol_map,
            map_digest=sha256(encode_plain(protocol_map)).hexdigest() if protocol_map else "",
            plan=tuple(one.id for one in passes),
            scope=scope,
            grade=grade,
            link="practice:",
            invented=procedure.invented,
        )
        self.passes = {one.id: one for one in procedure.passes}
        self.add("job-opened", opened, -1.0)

    def add(
        self,
        kind: str,
        body: bodies.Body | dict[str, Any],
        at: float,
        *,
        u: float = 0.0,
        by: str = MACHINE,
        basis: str = "clock",
        entered: float | None = None,
        entered_by: str = "",
    ) -> int:
        """Add one entry and return its seq. It is written at `entered`; if not given, as it happened or right after."""
        while self._besides and self._besides[0][0] < at:
            moment, act = self._besides.pop(0)
            act(self, moment)
        plain = bodies.to_body(body) if isinstance(body, bodies.Body) else body
        written = max(at, self._written) if entered is None else entered
        self._written = written
        low, high = (self._wall(at + side * u) for side in (-1, 1))
        previous = self._made[-1] if self._made else None
        seq = 0 if previous is None else previous.seq + 1
        entry = Entry(
            body=plain,
            done_by=by,
            entered_by=entered_by or by,
            format=FORMAT,
            job=self.name,
            job_prev=leaf(previous).hex() if previous else None,
            job_seq=seq,
            kind=kind,
            occurred=Occurred(basis, str(low), str(high)),
            recorded=Recorded(
                boot=str(self._mono(written) + self.asleep_ns),
                boot_id=self.boot,
                mono=str(self._mono(written)),
                process=self.process,
                rate=self.rate,
                wall=str(self._wall(written)),
            ),
            salt=f"{seq:032x}",
            seq=seq,
        )
        self._made.append(entry)
        return seq

    def _wall(self, at: float) -> int:
        return WALL + round(at * NS) + self.wall_shift_ns

    def _mono(self, at: float) -> int:
        return MONO + round(at * NS) + self.mono_shift_ns

    def step(self, step: str, at: float, affects: str = "", **more: Any) -> Job:
        """Add a manual step; what `names` has goes to its body, the rest to its entry."""
        names = ("act", "pass_id", "nipple", "answer", "said", "on_cue", "looked", "mended", "also")
        fields = {name: more.pop(name) for name in names if name in more}
        fields.setdefault("act", "done")
        self.add(
            "step",
            bodies.StepDone(step=step, affects=affects, **fields),
            at,
            **{"u": self.u, "by": TECHNICIAN, "basis": "touch", **more},
        )
        return self

    def open(self, nipple: str, pass_id: str, at: float, **more: Any) -> Job:
        return self.step("", at, act="opened", nipple=nipple, pass_id=pass_id, **more)

    def close(self, nipple: str, at: float, pass_id: str = "", **more: Any) -> Job:
        return self.step("", at, act="closed", nipple=nipple, pass_id=pass_id, **more)

    def pressurise(self, at: float, **more: Any) -> Job:
        return self.step("pressurise", at, "pressurise", **more)

    def depressurise(self, at: float, **more: Any) -> Job:
        return self.step("depressurise", at, "depressurise", **more)

    def read(self, what: str, amount: str, at: float, **more: Any) -> Job:
        """Add a reading; `pass_id`, `step`, `instrument`, `nipple` and the limits go to its body."""
        names = ("pass_id", "step", "instrument", "low", "high", "within", "nipple", "affects")
        fields = {name: more.pop(name) for name in names if name in more}
        value, unit = amount.split()
        extra = more.pop("extra", {})
        body = bodies.to_body(bodies.Reading(what=what, amount=bodies.Amount(value, unit), **fields)) | extra
        self.add("reading", body, at, **{"u": self.u, "by": TECHNICIAN, "basis": "touch", **more})
        return self

    def run(
        self,
        pass_id: str,
        start: float,
        end: float | None,
        *,
        result: str = "completed",
        stop: str = "confirmed",
        pending: int = 0,
        answer: str = "positive",
        code: str = "",
        wire_command: str = "",
        gap_s: float = 2.0,
        shows_pending: bool = True,
        keepalive: bool = True,
        outcome: bool = True,
        stop_answer: str = "positive",
        signs: int = 0,
        leave_out: str = "",
        started_by: str = "",
    ) -> Job:
        """Add a run: intent, start exchange, keep-alive, stop exchange and outcome, as far as it came.

        `answer` is the result of the start (`positive`, `negative` with `code`, `silence`); `end` None leaves out
        everything after the start; `outcome` False leaves out the outcome (the program died). `signs` is how many signs
        of life are told, else as many as fit; `leave_out` is the purpose of an exchange that is not in the record.
        """
        one = self.passes[pass_id]
        command = wire_command or one.wire_command
        seconds = one.seconds.split()[0] if one.seconds else "20"
        if self.grade == "told":
            return self._told(pass_id, command, seconds, start, end, result)
        intent = self.add(
            "intent",
            bodies.Intent(
                pass_id=pass_id,
                nipples=one.nipples,
                wire_command=command,
                seconds=seconds,
                start="31010301",
                stop="31020301",
                peer=PEER,
                grade=self.grade,
            ),
            start - 0.1,
            entered_by=started_by,
        )
        if leave_out != "start":
            self._exchange("start", "31010301", start, answer, code, pending, intent, pass_id, shows_pending)
        began = answer == "positive"
        if began and end is not None and keepalive:
            count = signs or max(1, int((end - start) / gap_s))
            gap = str(round(gap_s * NS))
            body = bodies.KeepAlive(actuation=intent, request="3E80", count=count, largest_gap_ns=gap)
            self.add("keepalive", body, end - 0.05)
        if began and end is not None and stop != "not sent" and leave_out != "stop":
            self._exchange("stop", "31020301", end, stop_answer, "", 0, intent, pass_id, shows_pending)
        if outcome and (end is not None or not began):
            last = start if end is None else end
            self._outcome(intent, pass_id, began, start, last, result, stop, code)
        return self

    def interrupted(self, actuation: int, at: float) -> Job:
        """Add what a later runner writes of a run that its program did not see end."""
        body = bodies.Interrupted(actuation=actuation, pass_id="", found="an intent without an outcome")
        self.add("interrupted", body, at)
        return self

    def stop_again(self, actuation: int, at: float, answer: str = "positive") -> Job:
        """Add a stop that was sent after a run's own time."""
        self._exchange("stop", "31020301", at, answer, "", 0, actuation, "")
        return self

    def looked(self, actuation: int, at: float, *, safe: bool = True) -> Job:
        """Add that a person looked after a run."""
        body = bodies.Inspection(actuation=actuation, pass_id="", said="", safe=safe)
        self.add("inspection", body, at, u=self.u, by=TECHNICIAN, basis="touch")
        return self

    def _outcome(
        self, intent: int, pass_id: str, began: bool, start: float, end: float, result: str, stop: str, code: str
    ) -> None:
        if not began:
            result, stop = ("refused" if code else "unknown"), "not sent"
        times: dict[str, str] = {}
        if began:
            times = {
                "from_mono": str(self._mono(start)),
                "to_mono": str(self._mono(end)),
                "duration_ns": str(round((end - start) * NS)),
            }
        body = bodies.Outcome(
            actuation=intent,
            pass_id=pass_id,
            result=result,  # type: ignore[arg-type]
            stop=stop,  # type: ignore[arg-type]
            code=code,
            **times,
        )
        self.add("outcome", body, end + 0.1)

    def _told(self, pass_id: str, command: str, seconds: str, start: float, end: float | None, result: str) -> Job:
        one = self.passes[pass_id]
        by = {"by": TECHNICIAN, "basis": "touch", "u": self.u}
        body = bodies.Intent(
            pass_id=pass_id,
            nipples=one.nipples,
            wire_command=command,
            seconds=seconds,
            start="",
            stop="",
            peer={},
            grade="told",
        )
        intent = self.add("intent", body, start, **by)  # type: ignore[arg-type]
        if end is not None:  # as told_run has it
            stop: Any = {"unknown": "unknown", "never": "not sent"}.get(result, "confirmed")
            result = "stopped" if result == "never" else result
            outcome = bodies.Outcome(actuation=intent, pass_id=pass_id, result=result, stop=stop)  # type: ignore[arg-type]
            self.add("outcome", outcome, end, **by)  # type: ignore[arg-type]
        return self

    def _exchange(
        self,
        purpose: str,
        request: str,
        at: float,
        result: str,
        code: str,
        pending: int,
        intent: int | None,
        pass_id: str,
        shows_pending: bool = True,
    ) -> None:
        mono = str(self._mono(at))
        service = request[:2]
        answers = [_answer(f"7F{service}78", "pending", mono) for _ in range(pending)]
        if result == "positive":
            payload = f"{int(service, 16) + 0x40:02X}{request[2:]}"
            answers.append(_answer(payload, "positive", mono))
        elif result == "negative":
            answers.append(_answer(f"7F{service}{code}", "negative", mono))
        body = bodies.ExchangeBody(
            purpose=purpose,  # type: ignore[arg-type]
            request=request,
            peer=PEER,
            sent_mono=str(self._mono(at - 0.02)),
            sent_wall=str(self._wall(at - 0.02)),
            result=result,  # type: ignore[arg-type]
            answers=tuple(answers),
            code=code,
            actuation=intent,
            pass_id=pass_id,
            shows_pending=shows_pending,
        )
        self.add("exchange", body, at)

    def exchange(
        self, purpose: str, request: str, at: float, answer: str, *, pass_id: str = "", heard: bool = False
    ) -> Job:
        """Add an exchange of its own, answered by the bytes `answer` (empty: silence)."""
        mono = str(self._mono(at))
        verdict = "negative" if answer.startswith("7F") else "positive"
        answers = (_answer(answer, verdict, mono),) if answer else ()
        body = bodies.ExchangeBody(
            purpose=purpose,  # type: ignore[arg-type]
            request=request,
            peer=PEER,
            sent_mono=str(self._mono(at - 0.02)),
            sent_wall=str(self._wall(at - 0.02)),
            result=verdict if answer else "silence",  # type: ignore[arg-type]
            answers=answers,
            code=answer[4:6] if verdict == "negative" else "",
            pass_id=pass_id,
            heard=heard,
        )
        self.add("exchange", body, at)
        return self

    def condition(self, name: str, found: str, at: float, *, holds: bool = True, pass_id: str = "") -> Job:
        body = bodies.Condition(name=name, found=found, wanted="", holds=holds, source="read", pass_id=pass_id)
        self.add("condition", body, at)
        return self

    def event(self, what: str, at: float, *, actuation: int | None = None) -> Job:
        self.add("event", bodies.LinkEvent(what=what, actuation=actuation), at)
        return self

    def scan(self, when: str, codes: Sequence[str], at: float) -> Job:
        self.add("scan", bodies.CodeScan(when=when, codes=tuple(codes)), at)  # type: ignore[arg-type]
        return self

    def state(self, state: str, at: float, *, by: str = TECHNICIAN, why: str = "") -> Job:
        self.add("state", bodies.State(state=state, why=why), at, by=by)  # type: ignore[arg-type]
        return self

    def last(self) -> int:
        """Return the seq of the entry added last."""
        return self._made[-1].seq

    def restart(self) -> Job:
        """The program ends and begins again: the same boot, another process."""
        self.process += "+"
        return self

    def reboot(self) -> Job:
        """The machine starts again: its monotonic clock begins near zero."""
        self.boot += "+"
        self.process += "+"
        self.mono_shift_ns -= 4_000 * NS
        return self

    def set_clock(self, seconds: float) -> Job:
        """Somebody sets the wall clock: on by `seconds`."""
        self.wall_shift_ns += round(seconds * NS)
        return self

    def sleep(self, seconds: float) -> Job:
        """The machine sleeps: wall and boot clock go on, the monotonic clock does not."""
        self.asleep_ns += round(seconds * NS)
        self.mono_shift_ns -= round(seconds * NS)
        return self

    def entries(self) -> tuple[Entry, ...]:
        return tuple(self._made)

    def case(self, integrity: Integrity | None = None, policy: Policy = DEFAULT) -> Case:
        return open_case(self._made, integrity, policy)

    def ask(self, question: Question, integrity: Integrity | None = None) -> Finding:
        return find(question, self.case(integrity))


def _answer(payload: str, verdict: str, mono: str) -> bodies.Answer:
    return bodies.Answer(source="7A8", payload=payload, verdict=verdict, first_mono=mono, last_mono=mono)  # type: ignore[arg-type]


def serve(job: Job, pass_id: str, at: float) -> Job:
    """Add one visit as it should be: read, open at `at`, run from 4 s to 24 s later, close after 30 s."""
    one = job.passes[pass_id]
    job.read("feed-pressure", "2.0 bar", at - 5, pass_id=pass_id)
    for nipple in one.nipples:
        job.open(nipple, pass_id, at)
    if one.wire_command:
        job.run(pass_id, at + 4, at + 24)
    for nipple in one.nipples:
        job.close(nipple, at + 30, pass_id)
    return job


def clean(procedure: Procedure = TRUCK, **more: Any) -> Job:
    """Return a job in which every planned pass was done as it should be, one every 100 s from 100 s on."""
    job = Job(procedure, **more).pressurise(50)
    for index, one in enumerate(job.case().plan):
        serve(job, one.id, 100.0 + 100 * index)
    return job.read("feed-pressure", "2.0 bar", 600).depressurise(610)
