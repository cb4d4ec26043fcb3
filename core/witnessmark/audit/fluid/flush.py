"""How far each hydraulic circuit was flushed: what was collected at its nipples against what its lines hold.

A case flows in, one line for each circuit flows out. Rules that hold here: what a line holds is given by its maker, or
is its bore and length (a cylinder) and its caliper's volume; where one nipple of a circuit says nothing, the circuit's
whole is not known, nor where one bottle took in what ran out at passes of another circuit too; that new fluid came
through is a computation, not something anybody saw.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from witnessmark import quantity
from witnessmark.audit.case import Case
from witnessmark.audit.fluid.bottles import read_with, was_read
from witnessmark.audit.fluid.volumes import in_ml, mixed, through
from witnessmark.audit.say import listing
from witnessmark.procedure.model import Nipple
from witnessmark.procedure.words import DIMENSIONS


@dataclass(frozen=True, slots=True)
class Flush:
    """One hydraulic circuit. `holds_ml` is None where the procedure does not say, `collected_ml` where nobody read."""

    circuit: str
    nipples: tuple[str, ...]
    holds_ml: float | None
    collected_ml: float | None
    cites: tuple[int, ...]
    why: str = ""
    """Why nobody knows what was collected at this circuit, where its fluid ran into one bottle with another's."""

    @property
    def times(self) -> float | None:
        """How often its lines were filled by what was collected."""
        if not self.holds_ml or self.collected_ml is None:
            return None
        return self.collected_ml / self.holds_ml

    @property
    def text(self) -> str:
        """How far it was flushed, in words."""
        if self.why:
            return f"no proof of how much was collected: {self.why}"
        if self.collected_ml is None:
            return "how much was collected is not recorded"
        if self.times is None:
            return f"{self.collected_ml:.0f} mL collected; what its lines hold is not given"
        held = f"{self.times:.1f} times what its lines hold ({self.holds_ml:.0f} mL)"
        return f"{self.collected_ml:.0f} mL collected, {held}"


def line_ml(nipple: Nipple) -> float | None:
    """Return what must be filled before new fluid is at a nipple, in mL; None when the procedure does not say."""
    if nipple.line_volume:
        line = _ml(nipple.line_volume)
    elif nipple.bore and nipple.length:
        bore_cm, length_cm = (
            quantity.convert(quantity.parse(text, place=nipple.id), "cm") for text in (nipple.bore, nipple.length)
        )
        line = math.pi / 4 * bore_cm**2 * length_cm
    else:
        return None
    return line + (_ml(nipple.caliper_volume) if nipple.caliper_volume else 0.0)


def flushed(case: Case) -> tuple[Flush, ...]:
    """Return how far each circuit that the plan visits was flushed."""
    planned = dict.fromkeys(name for one in case.plan for name in one.nipples)
    circuits: dict[str, list[Nipple]] = {}
    for name in planned:
        circuits.setdefault(case.nipple(name).circuit, []).append(case.nipple(name))
    return tuple(_circuit(case, circuit, nipples) for circuit, nipples in circuits.items())


def _circuit(case: Case, circuit: str, nipples: list[Nipple]) -> Flush:
    held = [line_ml(one) for one in nipples]
    names = {one.id for one in nipples}
    visits = [one for one in case.plan if names & set(one.nipples)]
    places = dict.fromkeys(read_with(case, one.id) for one in visits)
    read = [gauge for place in places for gauge in through(case, place) if gauge.nipple in ("", *names)]
    why = _mixed(case, circuit, {one.id for one in visits})
    openings = [opening for one in visits for opening in case.timeline.openings_at(one.id)]
    known = all(through(case, place) for place in places) and all(was_read(case, one) for one in openings)
    known = known and not why and all(names >= set(one.nipples) for one in visits)
    known = known and all(one.amount.unit in DIMENSIONS["volume"] for one in read)
    return Flush(
        circuit,
        tuple(one.name for one in nipples),
        None if None in held else sum(one for one in held if one is not None),
        in_ml(read) if known else None,
        tuple(gauge.seq for gauge in read),
        why,
    )


def _mixed(case: Case, circuit: str, visits: set[str]) -> str:
    """Return which bottle holds what ran out at visits of this circuit and of another, in words; empty where none."""
    said = []
    for one in case.plan:
        names = mixed(case, one.id)
        circuits = {case.nipple(nipple).circuit for name in names for nipple in case.nipples_of(name)}
        if circuits - {circuit} and visits & set(names):
            others = listing(name for name in names if name != one.id)
            said.append(f"the bottle that was read at {one.id} holds what ran out at {others} too")
    return "; ".join(said)


def _ml(text: str) -> float:
    return quantity.convert(quantity.parse(text, place="procedure"), "mL")


def spell(flush: Flush) -> str:
    """Return a circuit and how far it was flushed in one line."""
    return f"circuit {flush.circuit} ({listing(flush.nipples)}): {flush.text}"
