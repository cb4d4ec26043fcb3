"""The first live use of a learned wire command on a control unit, within a job: when it is due, what it is allowed.

Entries of the whole journal and a job's state flow in, refusals flow out. Rules that hold here: it is due until a
person has entered that it worked as expected, for this very control unit (by what the map binds to, and by its own
number and its vehicle's where it tells them) and these very requests; it belongs to no pass and opens no nipple; one
that failed may be tried again only after a new approval; no pass uses the wire command before, nor behind an entry that
cannot be read and may say that it failed, until it was tried once more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from witnessmark.clock import Stamp
from witnessmark.errors import LocalError
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.numbers import NUMBERS, apart
from witnessmark.job.presence import lead_here
from witnessmark.job.walk.state import JobState
from witnessmark.journal.bodies import FirstUse
from witnessmark.journal.entry import Entry
from witnessmark.journal.unfit import HINT, fitting, unfit
from witnessmark.mapping import first_use as rules
from witnessmark.mapping.model import ProtocolMap, WireCommand
from witnessmark.procedure.model import Pass

RULE = "first-use"
KINDS = ("approval", "first-use", "sign-on", "sign-off")
"""The entries of a journal, of whatever job, that say what may be sent."""


def due(state: JobState, one: Pass | None) -> WireCommand | None:
    """Return the wire command of a pass whose first use has to come first; None when it has not."""
    command = state.command_of(one) if one is not None else None
    if command is None or command.origin != "learned" or state.map is None:
        return None
    last = _last(state.tried, state, command)
    return None if last is not None and last.result == "worked" else command


def due_now(state: JobState) -> WireCommand | None:
    """Return the wire command whose first use is due where the walk stands: before a nipple opens, before a run."""
    point = state.point
    here = point is not None and point.kind in ("open", "run") and state.grade == "sent"
    return due(state, state.pass_of(point.pass_id)) if here and point is not None else None


def unread(state: JobState) -> bool:
    """Whether the walk is about to open or run something for a learned wire command whose unit's numbers are unread."""
    point = state.point
    one = state.pass_of(point.pass_id) if point is not None and point.kind in ("open", "run") else None
    command = state.command_of(one) if one is not None else None
    here = state.grade == "sent" and state.status == "open" and command is not None and command.origin == "learned"
    return here and not set(NUMBERS) <= dict(state.numbers).keys()


def trial(command: WireCommand) -> Pass:
    """Return the run of a first use: of no pass, with no nipple, for the shortest time seen."""
    shortest_s = rules.shortest_s(command)
    return Pass(id="", nipples=(), wire_command=command.id, seconds=f"{shortest_s or 0} s", order="before")


def tried_of(entries: Iterable[Entry]) -> tuple[FirstUse, ...]:
    """Return what was entered of first uses behind the last that cannot be read, in order."""
    known = tuple(entries)
    return tuple(body for seq, body in _entered(known) if not unfit(known, "first-use", seq))


def trial_refusal(
    entries: Iterable[Entry],
    state: JobState,
    command: WireCommand,
    approval: int,
    answers: Mapping[str, bool],
    now: Stamp,
    boot_id: str,
) -> tuple[Refusal | None, str]:
    """Return why this first use is not armed, None when it may be, and the lead who is here."""
    known = tuple(entries)
    lead = lead_here(known, now, boot_id)
    failed = _unread(known, approval) or _failed(known, state, command, approval)
    if failed:
        return failed, lead
    asked = rules.FirstUse(lead, dict(answers), state.open_nipples, rules.shortest_s(command) or 0)
    for reason in rules.reasons(command, asked):
        hint = "the lead signs on with the PIN" if not lead else "put it right, then answer again"
        return Refusal(reason.rule, reason.why, hint), lead
    return None, lead


def pass_refusal(entries: Iterable[Entry], state: JobState, command: WireCommand, approval: int) -> Refusal | None:
    """Return why no pass may use a wire command yet; None when it is published, or was tried and worked.

    `approval` is the entry that approved it last.
    """
    if command.origin != "learned" or state.map is None:
        return None
    known = tuple(entries)
    mine = [(seq, body) for seq, body in _entered(known) if _fits(body, state, command)]
    tried = mine[-1][0] if mine else -1
    if (unread := _unread(known, max(approval, tried))) is not None:
        return unread
    behind = unfit(known, "first-use", tried)  # a later approval opens the first use anew, and no pass
    if mine and mine[-1][1].result == "worked" and not behind:
        return None
    why = f"{command.id} is {rules.SCREEN}, and no first use that worked is entered for this control unit"
    hint = "make its first use, with all nipples shut and the lead present, and enter its result"
    if behind:
        why, hint = f"{why} since: {behind}", f"take the job up again, then {hint}"
    return Refusal(RULE, why, hint)


def require_lead(entries: Iterable[Entry], now: Stamp, boot_id: str) -> None:
    """Raise LocalError unless a lead is still here."""
    if not lead_here(entries, now, boot_id):
        raise LocalError("the lead has left", hint="the first use needs the lead present")


def result_of(state: JobState, actuation: int, result: str, said: str, command: WireCommand) -> FirstUse:
    """Return the body that says what was seen and felt."""
    assert state.map is not None
    return FirstUse(
        actuation=actuation,
        wire_command=command.id,
        result=result,  # type: ignore[arg-type]  # one of the three keys of the view
        said=said,
        start=command.start,
        stop=command.stop,
        identification=_identification(state.map),
        unit=dict(state.numbers),
    )


def _failed(entries: tuple[Entry, ...], state: JobState, command: WireCommand, approval: int) -> Refusal | None:
    mine = [(seq, body) for seq, body in _entered(entries) if _fits(body, state, command)]
    if mine and mine[-1][1].result == "failed" and mine[-1][0] > approval:
        why = f"its first use did not work as expected, as entry {mine[-1][0]} says"
        return Refusal("first-use-failed", why, "find out why; the lead approves it anew before it is tried again")
    return None


def _last(tried: Iterable[FirstUse], state: JobState, command: WireCommand) -> FirstUse | None:
    return next((one for one in reversed(tuple(tried)) if _fits(one, state, command)), None)


def _fits(one: FirstUse, state: JobState, command: WireCommand) -> bool:
    """Whether it was this very control unit and these very requests; an identification of nothing fits nothing."""
    if state.map is None or (one.start, one.stop) != (command.start, command.stop):
        return False
    known = bool(one.identification) and one.identification == _identification(state.map)
    return known and not apart(one.unit, dict(state.numbers))


def _identification(known: ProtocolMap) -> dict[str, str]:
    return {one.identifier: one.value for one in known.identification}


def _entered(entries: Iterable[Entry]) -> Iterable[tuple[int, FirstUse]]:
    """Yield what can be read of first uses; for one that cannot see `_unread`."""
    for entry, body in fitting(entries, "first-use"):
        assert isinstance(body, FirstUse)
        yield entry.seq, body


def _unread(entries: Iterable[Entry], after: int) -> Refusal | None:
    """Return that what cannot be read may say that it failed, unless a later word of this unit settles that."""
    why = unfit(entries, "first-use", after)
    hint = f"{HINT}; find out why; its first use is made anew after a new approval: witnessmark protocol approve MAP"
    return Refusal(RULE, f"{why}: it may say that a first use did not work as expected", hint) if why else None


def shown(lead: str) -> dict[str, str]:
    """Return what the armed screen says of a first use besides."""
    return {"first use": "all nipples shut, wheels clear, a second person at the stop", "lead present": lead}
