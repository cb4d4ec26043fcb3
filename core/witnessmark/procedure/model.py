"""The procedure document: steps before, passes in order, steps after. Order is data.

Flows in: a TOML file through `load`, or the copy kept in a journal. Flows out: frozen structs. Rules that hold here:
no floats (a quantity is text with its unit, `"2.0 bar"`), so that the document is canonical JSON as it stands; every
limit, tolerance and caution is the author's, never a default of ours; what is left out is "not given".
"""

from __future__ import annotations

from typing import Literal

import msgspec

StepAct = Literal["do", "read", "check", "volume", "identify", "scan"]
"""`do`: done or not; `read`: a reading off an instrument; `check`: seen or not seen; `volume`: fluid in or out.

`identify` and `scan` are done by the machine: the control unit's vehicle number (22 F190) and its trouble codes (19 02)
are read, and nothing else is sent."""
MACHINE_ACTS = ("identify", "scan")


class Strict(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """A part of the document: unknown keys are refused."""


class Limit(Strict, frozen=True):
    """A band, each end a quantity with its unit; an end left out is open."""

    low: str = ""
    high: str = ""


class Step(Strict, frozen=True):
    """One thing done by hand. `id` is unique in the procedure.

    `what` is the reading's name and `affects` says what the step does to the model of the job, so that the audit can
    join them: words of `procedure.words`. `unit` is the one that a reading is asked for in, whatever units its band is
    written in. `also` are more such words that the same touch says; with `closed` a step after a pass is the touch that
    closes its nipple.
    `choices` are what may be read off, each one touch. `whole_pass` asks once a pass, not for each of its nipples.
    `may_repeat`: it may be done again later in the job with a key of its own, each time an entry of its own.
    `takes_at_least` is the least time that it takes whoever does it, from when the screen asks for it (a quantity).
    """

    id: str
    text: str
    act: StepAct = "do"
    what: str = ""
    unit: str = ""
    limit: Limit | None = None
    affects: str = ""
    also: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    whole_pass: bool = False
    caution: str = ""
    instrument: str = ""
    person: Literal["", "second"] = ""
    may_skip: bool = False
    may_repeat: bool = False
    takes_at_least: str = ""
    source: str = ""


class Nipple(Strict, frozen=True):
    """A bleed nipple. `circuit` is the hydraulic circuit it belongs to.

    What must be filled before new fluid reaches it: `line_volume` where that is published, else `bore` and `length` of
    its line; `caliper_volume` comes on top.
    """

    id: str
    name: str
    circuit: str
    torque: Limit | None = None
    opening: str = ""
    line_volume: str = ""
    bore: str = ""
    length: str = ""
    caliper_volume: str = ""


class Pass(Strict, frozen=True):
    """One visit: nipples, the wire command it needs (empty: none), how long, what opens first.

    `order`: the nipple opens `before`, `with` or `after` the run; `order_tolerance` is how far from the run's start
    that may be (a quantity in s; for `before` how long before at most, for `after` how long after at most). `overlap`
    is the share of the run during which the nipple must have been open, in percent. `pressure` is the band of feed
    pressure required before it, `pressure_age` how old that reading may be. `volume` is the band of fluid to run
    through, `clear` false when the fluid need not be seen to run clear on this visit. `bottle_with` is a later pass
    with which what ran out here is read: the bottle stays on till then. `two_people`: it starts only once a second
    person has said that they are ready at the wheel.
    """

    id: str
    nipples: tuple[str, ...]
    wire_command: str = ""
    seconds: str = ""
    seconds_tolerance: str = ""
    order: Literal["", "before", "with", "after"] = ""
    order_tolerance: str = ""
    overlap: str = ""
    pressure: Limit | None = None
    pressure_age: str = ""
    volume: Limit | None = None
    clear: bool = True
    bottle_with: str = ""
    two_people: bool = False
    note: str = ""


class Precondition(Strict, frozen=True):
    """What must hold before a wire command: read from the control unit where the map knows how, else asked."""

    name: str
    text: str
    equals: str = ""
    limit: Limit | None = None


class Question(Strict, frozen=True):
    """What only eyes can see, asked before arming; anything but yes refuses.

    `holds` is for what does not change between passes: a time for which one yes stands, answered with a touch of its
    own; after it, after a pause and on another day it is asked again. `said_by` is a step whose touch says it as well.
    `nipple`: it is of the nipple of the pass, and is not asked where every nipple stays shut, as at a first use.
    """

    id: str
    text: str
    holds: str = ""
    said_by: str = ""
    nipple: bool = False


class Pump(Strict, frozen=True):
    """Limits on running the pump. `longest_run` and `rest` are quantities; `rest` follows each run.

    `wire_commands` are those that work the pump: a run of another, as of a valve, is held to none of these limits and
    needs no rest. Where they are not given, every run counts as one of the pump.
    """

    longest_run: str = ""
    rest: str = ""
    on_time: str = ""
    window: str = ""
    wire_commands: tuple[str, ...] = ()


class Wake(Strict, frozen=True):
    """How the vehicle is woken and what that energises; shown on silence, never improvised."""

    how: str = ""
    energises: str = ""
    source: str = ""


class LeftOut(Strict, frozen=True):
    """An audit question (its number) that this procedure has nothing to do with, and why; the line is printed."""

    question: str
    why: str


class Procedure(Strict, frozen=True, kw_only=True):
    """The whole document. `invented` is true for practice data and is printed wherever the procedure is shown.

    `fluid` is the grade (`DOT 4`), `fluid_class` the ISO 4925 class; they are two things. `pressure_limit` is the band
    the feed keeps while a nipple is open. `reservoir` is what it holds between full and where it draws air. `voltage`
    is the band while a wire command runs, `voltage_gap` the longest time between two samples then. `pressure_fall` is
    how much the feed may lose between two readings when nobody touched it. `container_age` is
    how long a container may have been open, `balance_tolerance` how far the volumes may disagree (their instruments).
    `opened_at_arming`: a nipple that opens before its run is said to be open by the touch that answers before arming.
    """

    format: Literal["witnessmark-procedure/1"]
    id: str
    title: str
    source: str
    vehicle: str
    invented: bool = False
    control_unit: str = ""
    fluid: str = ""
    fluid_class: str = ""
    container_age: str = ""
    reservoir: str = ""
    balance_tolerance: str = ""
    voltage: Limit | None = None
    voltage_gap: str = ""
    pressure_limit: Limit | None = None
    pressure_fall: str = ""
    nipples_may_be_open_together: tuple[tuple[str, ...], ...] = ()
    manual_uncertainty: str = ""
    opened_at_arming: bool = False
    armed_for: str = ""
    physical_fallback: str = ""
    cautions: tuple[str, ...] = ()
    codes_set_by_work: tuple[str, ...] = ()
    leaves_out: tuple[LeftOut, ...] = ()
    nipples: tuple[Nipple, ...]
    preconditions: tuple[Precondition, ...] = ()
    questions: tuple[Question, ...] = ()
    pump: Pump | None = None
    wake: Wake | None = None
    steps_before: tuple[Step, ...] = ()
    steps_before_each_pass: tuple[Step, ...] = ()
    passes: tuple[Pass, ...]
    steps_after_each_pass: tuple[Step, ...] = ()
    steps_after: tuple[Step, ...] = ()
