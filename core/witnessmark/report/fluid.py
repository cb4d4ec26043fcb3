"""What a sheet says of the fluid: its container, its tests, how far each circuit was flushed, and the waste.

A case flows in, plain values flow out. Rule that holds here: what was read or answered stands as corrected, with what
was first entered.
"""

from __future__ import annotations

from typing import Any

from witnessmark.audit.case import Case
from witnessmark.audit.fluid import fluid_test, flush
from witnessmark.audit.fluid.containers import put_right
from witnessmark.audit.say import listing
from witnessmark.procedure.fluid import mixing
from witnessmark.report.read_now import Now, amount, answers, as_corrected, read_now


def fluid(case: Case) -> dict[str, Any]:
    """The tests of the fluid, how far each hydraulic circuit was flushed, and the waste."""
    now = read_now(case)
    waste = [amount(one, now) for one in case.timeline.readings("waste")]
    return {
        "container": _container(case, now),
        "tests": [
            {
                "of": one.of,
                "text": _tested(one, now),
                "above": one.above,
                "least_c": one.least_c,
                "source": one.source,
                "cites": [one.seq],
            }
            for one in fluid_test.tests(case)
        ],
        "flushed": [
            {
                "circuit": one.circuit,
                "text": flush.spell(one)
                if one.text == again.text
                else f"{flush.spell(one)}; as corrected: {again.text}",
                "holds_ml": None if one.holds_ml is None else round(one.holds_ml),
                "collected_ml": None if one.collected_ml is None else round(one.collected_ml),
                "cites": list(one.cites),
            }
            for one, again in zip(flush.flushed(case), flush.flushed(as_corrected(case)), strict=True)
        ],
        "waste": waste[-1] if waste else "",
    }


def _tested(one: fluid_test.FluidTest, now: Now) -> str:
    return f"{one.text}; corrected later to {now[one.seq]}" if one.seq in now else one.text


def _container(case: Case, now: Now) -> list[str]:
    """What was read off the container that was poured from, and how long it was open, against what is asked."""
    one = case.procedure
    labels = case.timeline.acts_affecting("fluid-grade", "fluid-class")
    first = put_right(case, labels)
    said = [one for one in answers(case, [act for act in labels if act not in first]) if one[1]]
    ages = [amount(gauge, now) for gauge in case.timeline.readings("container-age") if case.read_again(gauge) is None]
    asked = ", ".join(word for word in (one.fluid, one.fluid_class) if word)
    lines = []
    if asked:
        words = listing(dict.fromkeys(text for _, text in said))
        read = f"the container says {words}" if said else "no entry of what the container says"
        lines.append(f"{read}; the procedure asks for {asked}")
    there = answers(case, case.timeline.acts_affecting("fluid-in-vehicle"))
    lines += [f"in the vehicle was {text}, as read off it or tested" for _, text in there if text]
    if one.container_age:
        age = f"open for {listing(ages)}" if ages else "no entry of how long the container had been open"
        lines.append(f"{age}; at most {one.container_age} allowed")
    lines += [f"read as {text} first, and anew before any was poured" for _, text in answers(case, first) if text]
    return lines + mixing(one.fluid, one.fluid_class, [words for words, _ in said])
