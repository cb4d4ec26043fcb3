"""The passes to do, in order, for the scope of a job.

A procedure and a scope flow in, passes flow out. Rules that hold here: the order of a scope is the procedure's and
never changed; what is taken in later stands behind it as it was taken in, and the audit judges it as a round of its
own; a scope that names something the procedure does not have is refused.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from witnessmark.document.shape import nearest
from witnessmark.errors import InputError
from witnessmark.procedure.model import MACHINE_ACTS, Pass, Procedure


@dataclass(frozen=True, slots=True)
class Scope:
    """What part of the procedure a job does.

    `full`: all of it; `nipples`: every pass that visits one of `names`; `follows`: the passes in `names`, to check
    what the earlier job `follows` left open. Written `full`, `nipples rl,rr` or `follows JOB p1,p2`.
    """

    kind: Literal["full", "nipples", "follows"] = "full"
    names: tuple[str, ...] = ()
    follows: str = ""

    def __str__(self) -> str:
        return " ".join(part for part in (self.kind, self.follows, ",".join(self.names)) if part)


FULL = Scope()


def parse_scope(text: str) -> Scope:
    """Read a scope as it is written. Raises InputError saying how one is written."""
    words = text.split()
    names = tuple(name for name in words[-1].split(",") if name) if len(words) > 1 else ()
    match words:
        case ["full"]:
            return FULL
        case ["nipples", _] if names:
            return Scope("nipples", names)
        case ["follows", job, _] if names:
            return Scope("follows", names, job)
    hint = "write full, nipples ID,ID or follows JOB PASS,PASS"
    raise InputError(f"{text!r} is not understood", place="scope", hint=hint)


def followed(text: str) -> str:
    """Return the job that a scope, as it is written, comes back to; empty for a scope of its own."""
    kind, *rest = text.split() or ["full"]
    return rest[0] if kind == "follows" and rest else ""


def plan(procedure: Procedure, scope: Scope = FULL) -> tuple[Pass, ...]:
    """Return the passes of `scope` in the procedure's order. Raises InputError for a name that is not known."""
    if scope.kind == "full":
        return procedure.passes
    known = [one.id for one in (procedure.nipples if scope.kind == "nipples" else procedure.passes)]
    for name in scope.names:
        if name not in known:
            noun = "nipple" if scope.kind == "nipples" else "pass"
            raise InputError(f"{noun} {name!r} is not known", place="scope", hint=nearest(name, known))
    wanted = set(scope.names)
    if scope.kind == "nipples":
        return tuple(one for one in procedure.passes if wanted & set(one.nipples))
    return tuple(one for one in procedure.passes if one.id in wanted)


def grown(procedure: Procedure, planned: Iterable[str], again: Iterable[str]) -> tuple[Pass, ...]:
    """Return the passes of a job as it stands: those planned, then each that was left out and is to be done again.

    That is one that a mend opened: whoever has it bled takes it into the job, and then all is asked of it.
    """
    passes = {one.id: one for one in procedure.passes}
    return tuple(passes[name] for name in dict.fromkeys((*planned, *(one for one in again if one in passes))))


def asks_a_vehicle(procedure: Procedure) -> bool:
    """Whether anything of the procedure is sent to a vehicle or read from it."""
    steps = (*procedure.steps_before, *procedure.steps_before_each_pass)
    steps = (*steps, *procedure.steps_after_each_pass, *procedure.steps_after)
    return any(one.wire_command for one in procedure.passes) or any(step.act in MACHINE_ACTS for step in steps)
