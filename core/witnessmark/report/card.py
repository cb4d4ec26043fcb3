"""The blank card: a procedure on paper, for when every screen is dead.

A procedure as a plain document (see `procedure.load.to_document`) and the passes of a scope flow in, the text of an
HTML file flows out. What is written on it is keyed in later as entered afterwards; the card says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from witnessmark.audit.limits import band
from witnessmark.procedure.model import MACHINE_ACTS
from witnessmark.report.sheet import environment

STEPS = ("steps_before", "steps_before_each_pass", "steps_after_each_pass", "steps_after")


def card(procedure: dict[str, Any], plan: Sequence[str], digest: str) -> str:
    """Return the HTML of the card for the passes named in `plan`; `digest` is the procedure's."""
    nipples = {one["id"]: one for one in procedure["nipples"]}
    each = [*procedure.get("steps_before_each_pass", ()), *procedure.get("steps_after_each_pass", ())]
    passes = [_pass(one, nipples, each) for one in procedure["passes"] if one["id"] in plan]
    groups = {
        name: [_step(step) for step in procedure.get(name, ()) if step.get("act") not in MACHINE_ACTS] for name in STEPS
    }
    return (
        environment()
        .get_template("card.html.j2")
        .render(
            procedure={"cautions": (), "physical_fallback": "", "wake": None, **procedure},
            passes=passes,
            digest=digest,
            repeated=[
                {"caution": "", **step} for name in STEPS for step in procedure.get(name, ()) if step.get("may_repeat")
            ],
            invented=procedure.get("invented", False),
            **groups,
        )
    )


def _step(step: dict[str, Any]) -> dict[str, Any]:
    return {
        "text": step["text"],
        "caution": step.get("caution", ""),
        "reads": step.get("act", "do") in ("read", "volume"),
        "unit": step.get("unit", ""),
        "asked": _limit(step.get("limit")),
        "second": step.get("person") == "second",
        "choices": list(step.get("choices", ())),
    }


def _reads(one: dict[str, Any], each: Sequence[dict[str, Any]]) -> list[dict[str, str]]:
    """What is read once on this visit: what the steps of each pass read, and what the pass itself asks for."""
    own = {"feed-pressure": one.get("pressure"), "volume": one.get("volume")}
    asked = {step["what"]: step.get("limit") for step in each if step.get("what") not in (None, "", "torque")}
    if one.get("bottle_with"):
        asked.pop("volume", None)
    asked |= {what: limit for what, limit in own.items() if limit or what in asked}
    units = {step["what"]: step.get("unit", "") for step in each if step.get("what")}
    return [
        {"what": what.replace("-", " "), "unit": "" if limit else units.get(what, ""), "asked": _limit(limit)}
        for what, limit in asked.items()
    ]


def _pass(one: dict[str, Any], nipples: dict[str, Any], each: Sequence[dict[str, Any]]) -> dict[str, Any]:
    mine = [nipples[name] for name in one["nipples"] if name in nipples]
    return {
        "id": one["id"],
        "nipples": [
            {
                "name": nipple["name"],
                "opening": nipple.get("opening", ""),
                "torque": _limit(nipple.get("torque")),
                "asks_clear": one.get("clear", True),
            }
            for nipple in mine
        ],
        "wire_command": one.get("wire_command", ""),
        "seconds": one.get("seconds", ""),
        "order": one.get("order", ""),
        "reads": _reads(one, each),
        "note": one.get("note", ""),
    }


def _limit(limit: dict[str, Any] | None) -> str:
    return "" if not limit else band(limit.get("low", ""), limit.get("high", ""))
