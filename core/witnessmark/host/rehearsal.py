"""A scripted technician: does a job on a practice vehicle through the runner's own socket, as a person would.

Views flow in, answers flow out, and the hands of the practice workshop do what the answers say. Rules that hold here:
it knows nothing that a person at the screen does not; every act takes time on the practice clock; a `Slip` is a thing
done otherwise than the screen asks, by which disputed recordings are made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from witnessmark.clock import NS, Clock, SystemClock
from witnessmark.errors import LocalError
from witnessmark.hookspecs import Practice
from witnessmark.host.face import RunnerHandle
from witnessmark.job.screens.step_view import DRAW

SlipKind = Literal["open late", "cut short", "low pressure", "other pass first", "another answer"]

TAKES_S = {"step": 4.0, "reading": 3.0, "open": 3.0, "close": 2.5, "arm": 3.0, "armed": 1.5, "done": 1.0}
"""How long a practised person takes for each kind of view, in clock seconds: common practice, no source."""
CONTAINER = "DOT 4, class 4"
"""What stands on the practice container."""
STUCK_S = 120.0
"""Real seconds in which the runner says nothing, after which the job is given up."""
MOST_ERRORS = 20


@dataclass(frozen=True, slots=True)
class Slip:
    """`kind` happens at `pass_id`. `value`: seconds for late and cut short, a pressure, or the pass taken first.

    Another answer happens at a step (`level`, or `p2:torque` within a pass): a reading, or a key and words (`n wet`).
    """

    kind: SlipKind
    pass_id: str
    value: str


AT_THE_RESERVOIR = ("o", "f")
"""What is done where no yes is offered: the feed's pressure is let off, then the reservoir is filled."""


def offered(view: Mapping[str, Any], *keys: str) -> str:
    """Return the first of `keys` that a view has a button for, the first of all where it has none of them."""
    known = [one["key"] for one in view.get("buttons", ())]
    return next((one for one in keys if one in known), keys[0])


class Rehearsal:
    """One job done by script. `told` holds every message of the runner; `watch` is called with each.

    `touches` holds each answer with its view, and whether an actuation was live then: one answer is one touch.
    """

    def __init__(
        self,
        handle: RunnerHandle,
        workshop: Practice,
        clock: Clock,
        *,
        slips: Iterable[Slip] = (),
        watch: Callable[[dict[str, Any]], None] = lambda message: None,
    ) -> None:
        self.touches: list[dict[str, Any]] = []
        self.view: dict[str, Any] = {}
        self.run: dict[str, Any] = {}
        self.told: list[dict[str, Any]] = []
        self._handle = handle
        self._workshop = workshop
        self._clock = clock
        self._slips = list(slips)
        self._kept: set[str] = set()
        self._watch = watch
        self._answered = ""

    @property
    def errors(self) -> list[dict[str, Any]]:
        return [one["error"] for one in self.told if "error" in one]

    def work(self, until: Callable[[Rehearsal], object] = lambda one: False) -> None:
        """Go on until the job is finished, or `until` says so. Raises LocalError when it gets stuck."""
        last_ns = SystemClock().mono_ns()
        while not self._finished and not until(self):
            if self.hear():
                last_ns = SystemClock().mono_ns()
            silent = SystemClock().mono_ns() - last_ns > STUCK_S * NS
            if self._handle.gone or silent or len(self.errors) > MOST_ERRORS:
                what = self.errors[-1]["what"] if self.errors else f"the view {self.view.get('text', '')!r} stands"
                raise LocalError(f"the rehearsal is stuck: {what}", hint="look at the job's last entries")
            if not until(self):
                self._answer()

    def hear(self, wait_s: float = 0.05) -> bool:
        """Take what the runner says; True when it said anything."""
        messages = self._handle.receive(wait_s)
        for message in messages:
            self.told.append(message)
            if "view" in message:
                self.view = message["view"]
            elif "run" in message:
                self.run = message["run"]
            elif message.get("cue") == 0:
                self._workshop.on_cue(self.view)
            elif "error" in message:
                self._answered = ""  # it was not taken: answer again
            self._watch(message)
        return bool(messages)

    @property
    def _finished(self) -> bool:
        return self.view.get("kind") == "done" and not self.view.get("buttons")

    def _answer(self) -> None:
        view = self.view
        if not view or view["id"] == self._answered or view["kind"] == "busy":
            return
        if view["kind"] == "running":
            self._while_it_runs(view)
            return
        self._answered = view["id"]
        least_s = float(view.get("takes_s") or 0)
        self._take_time(max(TAKES_S.get(view["kind"], 1.0), least_s) + float(view.get("wait_s") or 0))
        if self.view.get("id") != view["id"]:  # one whose ages alone are others is still the one that is answered
            return
        command = self._slip(view) or self._command(view)
        self._workshop.follow(view, command)
        self.touches.append({"view": view, "command": command, "live": self._handle.live})
        self._handle.send(command)

    def _command(self, view: dict[str, Any]) -> dict[str, Any]:
        seen = self._workshop.prepare(view)
        kind, identity = view["kind"], view["id"]
        if kind == "reading" and seen.startswith("too high"):
            return {"do": "key", "view": identity, "key": DRAW.key}
        if kind == "reading":
            value, _, unit = seen.partition(" ")
            return {"do": "reading", "view": identity, "value": value, "unit": unit or view["unit"]}
        if kind == "arm":
            answers = {one["id"]: True for one in view["questions"]}
            return {"do": "answers", "view": identity, "answers": answers}
        if kind == "armed":
            return {"do": "start", "view": identity}
        chosen = next((one["key"] for one in view.get("buttons", ()) if one["label"] == CONTAINER), "")
        said = {"fluid-grade": CONTAINER}.get(view.get("step", ""), seen)
        if kind == "inspect":
            self._workshop.do("fault", "none")  # whatever was pulled off is plugged in again
            said = "looked: nothing moves, the nipple stands as it was"
        key = chosen or {"inspect": "1", "decide": "r", "paused": "r", "done": "f"}.get(kind, "y")
        key = offered(view, key, *AT_THE_RESERVOIR)
        return {"do": "key", "view": identity, "key": key, "said": said}

    def _slip(self, view: dict[str, Any]) -> dict[str, Any] | None:
        """Return the answer that a slip makes of this view, if there is one for it."""
        kind, identity = view["kind"], view["id"]
        if answer := self._another_answer(view):
            return answer
        if kind == "reading" and view.get("what") == "feed-pressure":
            if other := self._due("other pass first", view):
                return {"do": "key", "view": identity, "key": "t", "said": f"{other.value} the hose was at that wheel"}
            if low := self._due("low pressure", view):
                self._workshop.do("pressurise", low.value)
                value, _, unit = low.value.partition(" ")
                self._kept.add(view["pass_id"])
                return {"do": "reading", "view": identity, "value": value, "unit": unit}
            if view["pass_id"] in self._kept and any(one["key"] == "k" for one in view.get("buttons", ())):
                return {"do": "key", "view": identity, "key": "k", "said": "the feed was nearly empty"}
        if any(one["key"] == "l" for one in view.get("buttons", ())) and self._planned("open late", view):
            return {"do": "key", "view": identity, "key": "l", "said": "the spanner was not on yet"}
        if kind == "decide":
            return {"do": "key", "view": identity, "key": "k", "said": "it had run long enough"}
        return None

    def _another_answer(self, view: dict[str, Any]) -> dict[str, Any] | None:
        """Return the answer planned for this step; the first time what was planned, then that it is kept."""
        name = ":".join(part for part in (view.get("pass_id", ""), view.get("step", "")) if part)
        planned = next((one for one in self._slips if (one.kind, one.pass_id) == ("another answer", name)), None)
        if planned is not None:
            self._slips.remove(planned)
            self._kept.add(name)
            self._workshop.prepare(view)
            value, _, words = planned.value.partition(" ")
            if view["kind"] == "reading" and value[:1].isdigit():
                return {"do": "reading", "view": view["id"], "value": value, "unit": words or view["unit"]}
            return {"do": "key", "view": view["id"], "key": value, "said": words}
        if name in self._kept and any(one["key"] == "k" for one in view.get("buttons", ())):
            return {"do": "key", "view": view["id"], "key": "k", "said": "it is what it is"}
        return None

    def _while_it_runs(self, view: dict[str, Any]) -> None:
        elapsed = float(self.run.get("elapsed_s") or 0)
        if (late := self._planned("open late", view)) and elapsed >= float(late.value):
            self._due("open late", view)
            command = {"do": "key", "view": view["id"], "key": "o"}
            self._workshop.follow(view, command)
            self._handle.send(command)
        if (cut := self._planned("cut short", view)) and elapsed >= float(cut.value):
            self._due("cut short", view)
            self._handle.stop()

    def _planned(self, kind: SlipKind, view: dict[str, Any]) -> Slip | None:
        return next((one for one in self._slips if (one.kind, one.pass_id) == (kind, view.get("pass_id"))), None)

    def _due(self, kind: SlipKind, view: dict[str, Any]) -> Slip | None:
        """Return a planned slip and strike it off: each happens once."""
        found = self._planned(kind, view)
        if found is not None:
            self._slips.remove(found)
        return found

    def _take_time(self, seconds: float) -> None:
        end_ns = self._clock.mono_ns() + round(seconds * NS)
        while self._clock.mono_ns() < end_ns and not self._handle.gone:
            self.hear(min(0.05, self._clock.real_s(max(0.0, (end_ns - self._clock.mono_ns()) / NS))))
