"""The fluid as it was tested: its boiling point against the wet minimum of the grade, with the table's source.

Readings flow in, one line for each flows out. Rules that hold here: a test is recorded as read, with its instrument;
nothing is inferred from age; below the minimum is said, and what follows from it is the lead's to say.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark import quantity
from witnessmark.audit.case import Case
from witnessmark.audit.fluid.containers import LAST, filled
from witnessmark.procedure.fluid import Fluid, fluid_class, grade
from witnessmark.procedure.words import DIMENSIONS

BOILING_POINT = "boiling-point"
GRADE_SOURCE = "49 CFR 571.116, read in a secondary page that quotes it"
CLASS_SOURCE = "ISO 4925:2020, from memory"


@dataclass(frozen=True, slots=True)
class FluidTest:
    """One reading of a boiling point. `least_c` is the wet minimum in degrees Celsius, `source` where it stands.

    `old`: it was read before anything was filled in or opened, so of the fluid that came out, not of what went in.
    """

    seq: int
    amount: quantity.Quantity
    instrument: str
    fluid: str
    least_c: int | None
    source: str
    old: bool = False

    @property
    def of(self) -> str:
        """Which fluid it was, in words."""
        return "the old fluid, tested before the work," if self.old else "the fluid as it was tested"

    @property
    def above(self) -> bool | None:
        """Whether it boils no earlier than the minimum; None when there is none, or it was read in no temperature."""
        if self.least_c is None or self.amount.unit not in DIMENSIONS["temperature"]:
            return None
        return quantity.compare(self.amount, quantity.parse(f"{self.least_c} degC", place="table")) >= 0

    @property
    def text(self) -> str:
        """What was read and how it stands, in words."""
        read = f"boils at {self.amount}" + (f", read with {self.instrument}" if self.instrument else "")
        if self.least_c is None:
            return f"{read}; no wet minimum is known for {self.fluid or 'a fluid that the procedure does not name'}"
        if self.above is None:
            return f"{read}; that is no temperature, so nothing follows from it"
        word = "not below" if self.above else "BELOW"
        return f"{read}; {word} the wet minimum of {self.fluid}, {self.least_c} degC ({self.source})"


def tests(case: Case) -> tuple[FluidTest, ...]:
    """Return every test of the fluid in the job, against the grade that the procedure names, else its class."""
    name, fluid, source = _asked(case)
    began = min((*filled(case), *(min(one.cites) for one in case.timeline.openings)), default=LAST)
    return tuple(
        FluidTest(one.seq, one.amount, one.instrument, name, fluid.wet_c if fluid else None, source, one.seq < began)
        for one in case.timeline.readings(BOILING_POINT)
    )


def _asked(case: Case) -> tuple[str, Fluid | None, str]:
    if case.procedure.fluid:
        return case.procedure.fluid, grade(case.procedure.fluid), GRADE_SOURCE
    return case.procedure.fluid_class, fluid_class(case.procedure.fluid_class), CLASS_SOURCE
