"""The blank card: a procedure on paper, for when every screen is dead.

A procedure as a plain document (see `procedure.load.to_document`) and its lines (see `host.carding`) flow in, the text
of an HTML file flows out. What is written on it is keyed in later as entered afterwards; the card says so. Rule that
holds here: every place to write on stands at its point and is named, in the order in which it is keyed in, so that a
test can hold the card against what is keyed in; what the bay's screen asks before a run stands there to be looked at,
and has no place.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from witnessmark.procedure.model import MACHINE_ACTS
from witnessmark.report.sheet import environment

Line = dict[str, Any]


def card(
    procedure: dict[str, Any],
    digest: str,
    *,
    before: Sequence[Line],
    passes: Sequence[dict[str, Any]],
    after: Sequence[Line],
    looks: Sequence[str],
    again: Sequence[Line] = (),
    spare: Sequence[Line] = (),
    kept: bool = False,
    mended: dict[str, Any] | None = None,
) -> str:
    """Return the HTML of the card; `digest` is the procedure's.

    `looks` is what is looked at before a run, `again` are the steps that may be done again, `spare` the places of a
    pass that is done again, `kept` asks why a value outside its limits stays so, `mended` what was mended at a check
    that was not right.
    """
    return (
        environment()
        .get_template("card.html.j2")
        .render(
            procedure={
                "cautions": (),
                "physical_fallback": "",
                "wake": None,
                "fluid": "",
                "fluid_class": "",
                **procedure,
            },
            looks=looks,
            digest=digest,
            invented=procedure.get("invented", False),
            before=before,
            before_each=_each(procedure, "steps_before_each_pass"),
            passes=passes,
            after_each=_each(procedure, "steps_after_each_pass"),
            after=after,
            again=again,
            spare=spare,
            kept=kept,
            mended=mended,
        )
    )


def _each(procedure: dict[str, Any], group: str) -> list[dict[str, Any]]:
    """Return what is done at each pass, in its own words: the places for it stand at the passes."""
    steps = (step for step in procedure.get(group, ()) if step.get("act") not in MACHINE_ACTS)
    return [{"caution": "", "person": "", "takes_at_least": "", **step} for step in steps]
