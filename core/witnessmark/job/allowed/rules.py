"""What is never sent: each rule by its name, checked before arming, before the intent and again before the first byte.

What is asked for and what is known flow in, the first refusal flows out. Rules that hold here: there is no override;
what cannot be told (a clock that ran back, a missing value) refuses.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from witnessmark.clock import NS, Stamp
from witnessmark.errors import InputError
from witnessmark.job.allowed.fitting import unasked
from witnessmark.job.allowed.length import unfit
from witnessmark.job.allowed.rest import Moment, on_ns, rest_ns
from witnessmark.job.amount import seconds
from witnessmark.job.fluid.container import never_mix
from witnessmark.job.moment import in_seconds, since_ns
from witnessmark.job.walk.state import JobState
from witnessmark.link.frame import Peer
from witnessmark.mapping import never_sent
from witnessmark.mapping.load import HOLE
from witnessmark.mapping.model import WireCommand
from witnessmark.procedure.model import Pass
from witnessmark.procedure.pump import works_pump
from witnessmark.wire.uds.services import service_name

OTHER_TESTER_S = 10
PROGRAMMING = 2
SHAPES = {
    "start": re.compile(rb"\x31\x01..|\x2f..\x03", re.DOTALL),
    "stop": re.compile(rb"\x31\x02..|\x2f..\x00", re.DOTALL),
    "results": re.compile(rb"\x31\x03..|\x22..", re.DOTALL),
}
"""What a wire command may be: a routine (31) or an input/output control (2F). No other service is ever sent for one."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why nothing is sent. `rule` is a short name."""

    rule: str
    why: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Request:
    """What is asked for and what is known when it is. `practice`: the link is a practice vehicle's."""

    state: JobState
    one: Pass
    command: WireCommand
    peer: Peer
    now: Stamp
    boot_id: str
    here_since_ns: int
    other_tester_ns: int | None
    also_answered_ns: int | None = None
    practice: bool = False

    @property
    def at(self) -> Moment:
        return Moment(self.now, self.boot_id, self.here_since_ns)


def refusal(request: Request) -> Refusal | None:
    """Return the first rule that refuses, None when none does."""
    learned = _learned(request)
    if learned is not None:
        return learned
    for name, rule in RULES.items():
        why = rule(request)
        if why:
            return Refusal(name, why, HINTS[name])
    return None


def never(request: Request) -> Refusal | None:
    """Return the first rule that refuses whatever is done meanwhile: known before anything is opened for the run."""
    request = replace(request, also_answered_ns=None)
    learned = _learned(request)
    refused = ((name, RULES[name](request)) for name in ALWAYS)
    return learned or next((Refusal(name, why, HINTS[name]) for name, why in refused if why), None)


def pressure_is_stale(state: JobState, one: Pass, now: Stamp, boot_id: str) -> bool:
    """Whether the pass needs a feed pressure in its band that is younger than it allows, and has none."""
    return bool(_pressure_wrong(state, one, now, boot_id))


def _forbidden_service(request: Request) -> str:
    command = request.command
    for name, text in (
        ("start", command.start.replace(HOLE, "00")),
        ("stop", command.stop),
        ("results", command.results),
    ):
        payload = bytes.fromhex(text)
        if payload and not SHAPES[name].match(payload):
            return f"the {name} request uses {service_name(payload[0])}, which is never sent for a wire command"
    return ""


def _session(request: Request) -> str:
    return "it needs a programming session" if request.command.session & 0x7F == PROGRAMMING else ""


def _functional(request: Request) -> str:
    known = request.state.map
    many = known is not None and any(one.rule == "functional" for one in never_sent.address_reasons(known.address))
    if request.peer.functional or request.peer.source is None or many:
        return "an actuation is never addressed to all control units at once"
    also_ns = request.also_answered_ns
    if also_ns is not None and request.now.mono_ns - also_ns <= OTHER_TESTER_S * NS:
        return "another control unit answered as well when this one was asked: several listen to its address"
    return ""


def _never(request: Request) -> str:
    """What approving refuses refuses here too: an approval says who wants it, never that it may be sent."""
    known = request.state.map
    reasons = never_sent.reasons(request.command, known.address) if known is not None else ()
    return reasons[0].why if reasons else ""


def _learned(request: Request) -> Refusal | None:
    """Return the first thing in what was observed of a learned wire command that keeps it, or this run, unsent."""
    state, command = request.state, request.command
    if command.origin != "learned" or state.map is None:
        return None
    try:
        run_s = math.ceil(seconds(request.one.seconds, place=f"pass {request.one.id}, seconds"))
    except InputError as error:
        return Refusal("too-long", str(error))
    for reason in (*never_sent.reasons(command, state.map.address), *never_sent.run_reasons(command, run_s)):
        return Refusal(reason.rule, reason.why, "no role can send it")
    return None


def _length(request: Request) -> str:
    return unfit(request.state.procedure, request.one, request.command)


def _unasked(request: Request) -> str:
    return unasked(request.state.procedure, request.command)


def _cool_down(request: Request) -> str:
    left = rest_ns(request.state, request.at, request.command.id)
    return f"the motor rests for another {in_seconds(left)} s" if left > 0 else ""


def _on_time(request: Request) -> str:
    pump = request.state.procedure.pump
    works = works_pump(request.state.procedure, request.command.id)
    if pump is None or not pump.on_time or not pump.window or not works:
        return ""
    wanted_ns = on_ns(request.state, request.at) + round(seconds(request.one.seconds) * NS)
    if wanted_ns > round(seconds(pump.on_time) * NS):
        return f"it would run {in_seconds(wanted_ns, 0)} s within {pump.window}, {pump.on_time} are allowed"
    return ""


def _reservoir(request: Request) -> str:
    return "the reservoir was recorded empty and not filled again" if request.state.reservoir_empty else ""


def _level(request: Request) -> str:
    why = request.state.tank.unsure
    return f"the reservoir's level is to be looked at first: {why}" if why else ""


def _pressure(request: Request) -> str:
    return _pressure_wrong(request.state, request.one, request.now, request.boot_id)


def _inspection(request: Request) -> str:
    if request.state.open_intent is not None:
        return "an earlier actuation has no outcome"
    return "an earlier actuation has not been looked at" if request.state.inspect is not None else ""


def _fluid(request: Request) -> str:
    return "" if request.state.mixing_allowed else never_mix(request.state)


def _other_tester(request: Request) -> str:
    heard_ns = request.other_tester_ns
    if heard_ns is None or request.now.mono_ns - heard_ns > OTHER_TESTER_S * NS:
        return ""
    return f"another tester was heard {in_seconds(request.now.mono_ns - heard_ns)} s ago"


def _alone(request: Request) -> str:
    """Two people where the pass says so: once armed, nothing starts before the second is ready at the wheel."""
    armed = request.state.armed is not None and request.one.two_people
    return "the second person is not ready at the wheel" if armed and request.state.ready != request.one.id else ""


RULES: dict[str, Callable[[Request], str]] = {
    "forbidden-service": _forbidden_service,
    "programming-session": _session,
    "functional": _functional,
    "never-sent": _never,
    "inspection": _inspection,
    "too-long": _length,
    "not-asked": _unasked,
    "cool-down": _cool_down,
    "on-time": _on_time,
    "reservoir-empty": _reservoir,
    "reservoir-level": _level,
    "fluid": _fluid,
    "pressure": _pressure,
    "other-tester": _other_tester,
    "second-person": _alone,
}
"""The rules that need nothing from the vehicle; `preflight` adds those that are read from it, and a first use's."""
ALWAYS = ("forbidden-service", "programming-session", "functional", "never-sent", "too-long", "not-asked")
"""Those that hold by what map and procedure say, whenever it is asked."""

HINTS: dict[str, str] = {
    "forbidden-service": "no role can send it: the map has to say another request",
    "programming-session": "no role can send it: the map has to say another session",
    "functional": "no role can send it: the map has to name one control unit",
    "never-sent": "no role can send it: the map has to say another request or address",
    "inspection": "look whether it is at rest, and say what you saw",
    "not-asked": "open the job with a procedure that asks it, or a map that is right about it",
    "too-long": "open the job with a procedure and a map that agree on the seconds",
    "cool-down": "leave the nipple shut and wait; then arm again",
    "on-time": "leave the nipple shut and wait until the motor has cooled; then arm again",
    "reservoir-empty": "fill the reservoir, say so, then arm again",
    "reservoir-level": "shut the nipple, look at the reservoir, fill it where it is low, then arm again",
    "fluid": "read both labels again, or have the lead say why it goes on",
    "pressure": "close the nipple, restore the feed and read its pressure again",
    "other-tester": "take the other tester off, wait ten seconds, then arm again",
    "second-person": "the second person says when ready at the wheel; then start",
}
"""What to do about each rule: a refusal never stands without."""


def _pressure_wrong(state: JobState, one: Pass, now: Stamp, boot_id: str) -> str:
    if one.pressure is None:
        return ""
    last = state.reading("feed-pressure")
    if last is None or (last.within is not True and state.pressure_kept != last.seq):
        return "there is no reading of the feed pressure within its limits"
    age_ns = since_ns(last.recorded, now, boot_id)
    if one.pressure_age and (age_ns is None or age_ns > round(seconds(one.pressure_age) * NS)):
        return f"the reading of the feed pressure is older than {one.pressure_age}"
    return ""
