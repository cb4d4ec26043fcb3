"""Where a job stands: what its entries add up to, as `fold` reads them.

Frozen values, with what can be asked of them. The words by which entries say what a person decided stand here too.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from witnessmark.job.fluid.tank import NOT_KNOWN, Tank
from witnessmark.job.walk.steps import Point
from witnessmark.journal import bodies
from witnessmark.journal.entry import Occurred, Recorded
from witnessmark.mapping.model import ProtocolMap, WireCommand
from witnessmark.procedure import own, words
from witnessmark.procedure.model import Pass, Procedure
from witnessmark.range import Range

Status = Literal["open", "paused", "abandoned", "finished", "released"]

REDO, ACCEPT = own.REDO, own.ACCEPT
"""The step ids by which a person decides on a run that did not complete."""
MISSED = own.MISSED
"""The step id by which a person says that a nipple was not opened while it ran."""
NOT_OPEN = "its nipple was not open"
"""Why a pass whose nipple was missed must be decided on."""
NOT_CLEAR = "the fluid did not run clear"
"""Why one must be that ran, and not clear."""
LATER = own.LATER
"""The step id by which a nipple is left shut until the run has begun."""
CUE_GIVEN = own.CUE_GIVEN
"""The step id by which the machine says that it called out to open a nipple. What was done on it a person says."""
OTHER_PASS = own.OTHER_PASS
"""The step id by which a later pass is taken first."""
STAYS_OPEN = own.STAYS_OPEN
"""The step id by which a nipple is said to stay open while the feed's pressure is read again."""
MIXING_ALLOWED, READ_FLUIDS = own.MIXING_ALLOWED, own.READ_FLUIDS
"""The step ids by which a lead goes on with fluids that never mix, and by which both are read again."""
AGAIN, NOT_AGAIN = own.AGAIN, own.NOT_AGAIN
"""The step ids by which a step (the `answer`) is taken up again, and left after all."""
LEFT_OPEN, PRESSURE_STAYS, LET_OFF = own.LEFT_OPEN, own.PRESSURE_STAYS, own.LET_OFF
"""The step ids by which, at a pause, a nipple or the feed is said to stay as it is, or the feed to be let off."""
LET_OFF_LAST = own.LET_OFF_LAST
"""The step id by which the feed is said to be let off behind the last step, where none before said it."""
LEVEL_LOOK, AIR_DRAWN = own.LEVEL_LOOK, own.AIR_DRAWN
"""The step ids by which the reservoir is looked at before a pass, and by which it is said to have run empty."""
OFF_TO_FILL = own.OFF_TO_FILL
"""The step id by which the feed's pressure is said to be let off before the reservoir is filled."""
PASSES_AGAIN, AIR_ACCEPTED = own.PASSES_AGAIN, own.AIR_ACCEPTED
"""The step ids by which a person decides on the passes that were begun before the reservoir ran empty."""
LEFT_BY_OTHERS = own.LEFT_BY_OTHERS
"""The step id by which what other jobs left open on the vehicle is said to be closed and let off."""
AS_EXPECTED, TAKEN_BACK = own.AS_EXPECTED, "not so after all"
"""The step id by which it is said that what ran was not clear, on a pass that does not ask for it; taken back so."""
UNWRITTEN, UNEXPLAINED = own.UNWRITTEN, own.UNEXPLAINED
"""The step id by which a card says nothing of a point: the `answer` is the id of its step, or the kind of its point."""
UNCLEAR = own.UNCLEAR
"""The step by which a card says that the fluid did not run clear, beside the reading that was taken all the same."""
PUT_RIGHT = own.PUT_RIGHT
"""The step id by which it is said what was put right since a step (the `answer`) was read outside its limits."""
SCAN_AGAIN = own.SCAN_AGAIN
"""The step id by which the trouble codes are to be read again, with what was done before."""
READY = own.READY
"""The step id by which a second person says that they are ready at the wheel: what two people do starts only then."""
HANDS = own.HANDS
"""The step id by which a person is said to have the work in hand from now on."""
WITNESSED = own.WITNESSED
"""The step id by which it is said how runs are witnessed from now on."""
SAFETY_LOOK = own.SAFETY_LOOK
"""The step id by which a person says what was asked before a nipple opens for a run of another tester."""
ENDED_EARLY = own.ENDED_EARLY
"""The step id by which a person says why a run of another tester ended before its time."""
EMPTY, REFILL = "empty", "refill"
VEHICLE = words.VEHICLE_NUMBER
"""The condition by which the control unit's number is compared with the one that was typed."""


@dataclass(frozen=True, slots=True)
class ReadingState:
    """The last reading of its kind. `within` is None when no band was given."""

    amount: bodies.Amount
    within: bool | None
    recorded: Recorded
    pass_id: str
    seq: int
    nipple: str = ""


@dataclass(frozen=True, slots=True)
class Cue:
    """A cue that was given, and to which nobody has said yet whether the nipple was opened on it."""

    pass_id: str
    nipple: str
    occurred: Occurred


@dataclass(frozen=True, slots=True)
class RunState:
    """One run that reached the vehicle or may have. `from_mono` and `to_mono` are ns, None where not known."""

    intent: int
    pass_id: str
    wire_command: str
    seconds: str
    recorded: Recorded
    from_mono: int | None = None
    to_mono: int | None = None
    ended: bool = False
    result: str = ""
    first_use: bool = False
    grade: bodies.Grade = "sent"
    begun: Recorded | None = None
    """When its start was recorded, once its end is."""
    stop: str = ""
    """Of one of ours, once its outcome is known: whether the control unit confirmed its stop, when, and why."""
    unseen: bool = False
    """Nobody knows how it ended, and nobody has looked yet."""


@dataclass(frozen=True, slots=True)
class Flow:
    """A visit at which it ran at a nipple that is still to be bled, since its entry `seq`; what was read before it."""

    pass_id: str
    nipple: str
    seq: int
    before_ml: Decimal


@dataclass(frozen=True)
class JobState:
    """Where a job stands after its entry `last_seq`.

    `cursor` is the index of the next of `points`. `open_intent` is an intent without an outcome, `inspect` an actuation
    whose end nobody knows and nobody has looked at yet, `decide` the pass whose run must be done again or accepted,
    `why_due` whether it was said to have ended before its time and not why,
    `pressure_kept` the reading below a pass's band that a person kept with a reason. `vehicle` is its number as typed,
    `vehicle_read` as the control unit told it and it was taken for this job's, `other_vehicle` another that a person
    read last, `instruments` until when each is calibrated. `numbers` is what the control unit said last of its own
    number and its vehicle's. `tried` is what was
    entered of first uses of learned wire commands, in this journal, `result_due` a first use whose result nobody has
    entered. `grade` is how runs are witnessed from here on, `ran_ahead` the pass in hand whose run another tester made
    before the walk asked for it. `held` is when each question whose yes holds was answered, `ready` the pass for which
    a second person is ready at the wheel, since it was armed, `cued` the cues that nobody has answered yet.
    `looked` is the pass, and how many runs of it there were, as what is seen before another tester runs was answered.
    `wrong_fluid` is what the container said last, where that is not what is asked, `other_fluid` what went in so.
    `stays_open` is the pass whose nipple was said to stay open until the pressure is read again. `fluids` is what was
    read off container and vehicle last, by what the step affects; `mixing_allowed` that a lead goes on although they
    never mix. `was_open` are the nipples that were open on a pass, each with its pass, since it was last begun, and
    since its run began, `missed` those said not to have been opened while it ran, `not_right` the checks whose last
    word was that they are not right, `mended` those of them of which it was said since what was mended, `mend` what of
    which it is still to be said where, `to_bleed` the nipples whose lines were opened for it and not bled since,
    `flows` their visits that are not over, `flow_times` when those were opened and closed and their runs began and
    ended, `rebled` the passes that were to be bled again since a check was not right, `was_safe_due` that a mend was
    said without, `done_not_right` why a pass whose run completed must be decided on. `not_at_rest` is the actuation
    that was looked at last and was not at rest, or not safe, and when.
    `reservoir_said` is the entry that said last how the reservoir stands, `level_said` the last look at it before a
    pass, `runs_before` are runs of other jobs of this bay that the motor may still be warm from. `other_tester` is
    when another tester was last recorded in this bay.
    `as_expected` are the passes of which it was said that they ran not clear, as they may. `put_right` is the step read
    outside its limits of which it was said since what was put right, `not_so` the check, or the step that is to make it
    safe to open, that was said not to be so, `mode_on` that a service mode was entered and not left since, `spilled`
    the pass in hand or the one before whose bottle was said not to be read.
    `codes` are those read after the work that it does not set, each after its control unit, `codes_due` the step at
    which they are to be decided on.
    `unasked`: the job lay and went on with nothing left to open, so that what serves opening was not asked again.
    `tank` is what the reservoir may hold; `air`: it ran empty, and nobody has decided on the passes before.
    `stays_said` is what was said to stay in this pause: nipples, and an empty name for the feed; `left_open` the
    nipples that stood open when the job went on and were not closed since, `lay_unpaused` that nobody had paused it
    before, `paused_wall_ns` when it was paused,
    `left_wall_ns` from when it had lain as it went on last, `worked_wall_ns` when work was last done on it or it went
    on, `card_wall_ns` when what was keyed in from a card last was done, 0 where the job went on since, `card_unsure`
    that no time is written of what came last. `others` is what other jobs left open on this vehicle, in words,
    `others_said` the entry that last said that it is closed. `unsure` are the nipples, each after its pass, of which a
    card does not say that they were closed: they count as open. `unclear` are the passes of which a card says that they
    did not run clear, and on which nobody has decided yet. `worked` is whose hands touched last, and who entered it, by
    their ids. `worked_seq` is the last entry that says anything of the vehicle, `follows` the job that this one comes
    back to, `followed_said` the entry that said that what stood open of that one is closed. `unrun` are the passes of
    which a card does not say that they ran, each with the entry before that; `unopened` each pass and nipple of which
    it does not say that it was opened.
    """

    job: str
    procedure: Procedure
    map: ProtocolMap | None
    map_digest: str
    grade: bodies.Grade
    plan: tuple[Pass, ...]
    points: tuple[Point, ...]
    link: str
    procedure_digest: str = ""
    cursor: int = 0
    status: Status = "open"
    last_seq: int = -1
    open_nipples: tuple[str, ...] = ()
    pressurised: bool = False
    reservoir_empty: bool = False
    reservoir_said: int | None = None
    level_said: int = -1
    readings: tuple[tuple[str, ReadingState], ...] = ()
    runs: tuple[RunState, ...] = ()
    runs_before: tuple[RunState, ...] = ()
    other_tester: Recorded | None = None
    armed: bodies.Armed | None = None
    open_intent: int | None = None
    interrupted: bool = False
    inspect: int | None = None
    not_at_rest: tuple[int, int] = (-1, 0)
    decide: str = ""
    why_due: bool = False
    pressure_kept: int | None = None
    vehicle: str = ""
    vehicle_read: str = ""
    other_vehicle: str = ""
    instruments: tuple[tuple[str, str], ...] = ()
    last_wall_ns: int = 0
    worked_wall_ns: int = 0
    card_wall_ns: int = 0
    card_unsure: bool = False
    tried: tuple[bodies.FirstUse, ...] = ()
    numbers: tuple[tuple[str, str], ...] = ()
    result_due: int | None = None
    ran_ahead: str = ""
    held: tuple[tuple[str, Recorded], ...] = ()
    ready: str = ""
    looked: tuple[str, int] = ("", 0)
    cued: tuple[Cue, ...] = ()
    wrong_fluid: str = ""
    other_fluid: str = ""
    stays_open: str = ""
    fluids: tuple[tuple[str, str], ...] = ()
    mixing_allowed: bool = False
    was_open: frozenset[tuple[str, str]] = frozenset()
    missed: frozenset[tuple[str, str]] = frozenset()
    tank: Tank = NOT_KNOWN
    air: bool = False
    stays_said: tuple[str, ...] = ()
    left_open: tuple[str, ...] = ()
    lay_unpaused: bool = False
    paused_wall_ns: int = 0
    left_wall_ns: int = 0
    unasked: bool = False
    codes: tuple[tuple[str, str], ...] = ()
    codes_due: str = ""
    not_right: tuple[str, ...] = ()
    mended: tuple[str, ...] = ()
    mend: str = ""
    to_bleed: tuple[str, ...] = ()
    flows: tuple[Flow, ...] = ()
    flow_times: tuple[tuple[str, Range], ...] = ()
    rebled: tuple[str, ...] = ()
    was_safe_due: bool = False
    done_not_right: str = ""
    others: tuple[str, ...] = ()
    others_said: int = -1
    as_expected: tuple[str, ...] = ()
    unsure: tuple[tuple[str, str], ...] = ()
    unclear: tuple[tuple[str, str], ...] = ()
    unsaid: tuple[tuple[str, str], ...] = ()
    put_right: str = ""
    not_so: str = ""
    mode_on: bool = False
    spilled: str = ""
    worked: tuple[str, str] = ("", "")
    worked_seq: int = -1
    follows: str = ""
    followed_said: int = -1
    unrun: tuple[tuple[str, int], ...] = ()
    unopened: frozenset[tuple[str, str]] = frozenset()

    def changed(self, **fields: Any) -> JobState:
        """Return the state with some fields otherwise, as `replace` does in ten times as long: for every entry."""
        if strange := fields.keys() - self.__dict__.keys():
            raise TypeError(f"a state has no {', '.join(strange)}")
        one = object.__new__(JobState)
        one.__dict__.update(self.__dict__)
        one.__dict__.update(fields)
        return one

    @property
    def point(self) -> Point | None:
        """The next point; None when all are done."""
        return self.points[self.cursor] if self.cursor < len(self.points) else None

    def word(self, body: bodies.StepDone | bodies.Reading) -> str:
        """The id by which an entry says a word of the job's own; empty where the point in hand is a step of that id.

        A kept procedure may have such a step. While the job itself asks for a word it is that.
        """
        asks = self.decide or self.air or self.mend or self.was_safe_due or self.cued or self.status == "paused"
        at = self.point if not asks else None
        here = (at.step.id, at.pass_id, at.nipple) if at is not None and at.step is not None else None
        return "" if here == (body.step, body.pass_id, body.nipple) else body.step

    @property
    def pass_ahead(self) -> Pass | None:
        """The pass whose run of ours the walk is about to prepare: its nipples open next, or it is armed next."""
        point = self.point
        here = point is not None and point.kind in ("open", "run") and self.grade == "sent"
        return self.pass_of(point.pass_id) if here and point is not None else None

    def pass_of(self, pass_id: str) -> Pass | None:
        return next((one for one in self.plan if one.id == pass_id), None)

    def command_of(self, one: Pass) -> WireCommand | None:
        """The wire command a pass needs, as the map has it; None when the map does not."""
        return self.command_named(one.wire_command)

    def command_named(self, name: str) -> WireCommand | None:
        known = self.map.wire_commands if self.map else ()
        return next((command for command in known if command.id == name), None)

    @property
    def passes_ahead(self) -> tuple[str, ...]:
        """The pass that is next and those still to be done after it, when it is not begun and no nipple stands open."""
        point = self.point
        if point is None or not point.pass_id or self.surely_open or self.decide or self.inspect is not None:
            return ()
        done = [one for one in self.points[: self.cursor] if not one.again]
        if point.again or (done and done[-1].pass_id == point.pass_id):
            return ()
        ahead = (one.pass_id for one in self.points[self.cursor :] if one.pass_id and not one.again)
        return tuple(dict.fromkeys(ahead))

    @property
    def begun(self) -> tuple[str, ...]:
        """The passes of which a nipple was opened or a run made."""
        done = {pass_id for pass_id, _ in self.was_open} | {run.pass_id for run in self.runs}
        return tuple(one.id for one in self.plan if one.id in done)

    @property
    def surely_open(self) -> tuple[str, ...]:
        """The nipples that stand open, but for those of which only a card does not say that they were closed."""
        return tuple(one for one in self.open_nipples if not self.is_unsure(one))

    def is_unsure(self, nipple: str) -> bool:
        """Whether a nipple counts as open because a card does not say that it was closed."""
        return any(name == nipple for _, name in self.unsure)

    def opened_at(self, nipple: str) -> str:
        """The pass at which a nipple was opened last, or is not said to have been closed; empty where none is known."""
        unsure = next((pass_id for pass_id, name in self.unsure if name == nipple), "")
        return unsure or next((one.id for one in reversed(self.plan) if (one.id, nipple) in self.was_open), "")

    def reading(self, what: str) -> ReadingState | None:
        return dict(self.readings).get(what)

    @property
    def unended(self) -> tuple[RunState, ...]:
        """The runs without an outcome; last the one that the walk waits for, before it those heard besides."""
        heard = [run for run in self.runs if run.grade == "heard" and not run.ended and run.intent != self.open_intent]
        own = self.run_of(self.open_intent)
        return (*heard, *([own] if own is not None else []))

    def run_of(self, intent: int | None) -> RunState | None:
        return next((run for run in self.runs if run.intent == intent), None)

    def open_in(self, one: Pass) -> tuple[str, ...]:
        """The nipples of a pass that stand open."""
        return tuple(nipple for nipple in one.nipples if nipple in self.open_nipples)
