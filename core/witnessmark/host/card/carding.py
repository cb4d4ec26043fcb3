"""The blank card of a procedure and a scope: the same places that `job enter` asks for, in the same order.

A procedure and its passes flow in, the text of an HTML file flows out. Rule that holds here: a line of the card is a
point of the walk; what can be written there is what `job.places` says, and nothing else.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from witnessmark.audit.limits import band
from witnessmark.host.card.card_beside import may_draw, places_beside
from witnessmark.host.card.card_mend import KINDS, MADE_SAFE, NOT_MADE_SAFE
from witnessmark.job.fluid.feed import puts_on
from witnessmark.job.questions import looks
from witnessmark.job.walk.places import places
from witnessmark.job.walk.reopening import makes_safe
from witnessmark.job.walk.steps import Point, begun, once_more, visit, vouches
from witnessmark.procedure import load
from witnessmark.procedure.mending import circuits
from witnessmark.procedure.model import Pass, Procedure
from witnessmark.procedure.repeated import repeated
from witnessmark.procedure.steps import in_words, words_of
from witnessmark.procedure.words import FINAL_CHECKS
from witnessmark.report import card as paper
from witnessmark.report.card import Line

LONGEST = 64
"""Letters of a step's text where the card has it once more; a choice of this project."""
ORDERS = {"before": "nipple open before it", "with": "nipple opens with it", "after": "nipple opens after its start"}


def card(procedure: Procedure, passes: Sequence[Pass], earlier: Sequence[str] = ()) -> str:
    """Return the HTML of the card for these passes; `earlier` is what the job before left open."""
    points = begun(procedure, passes, earlier)
    ids = [point.pass_id for point in points]
    first = next((at for at, one in enumerate(ids) if one), len(ids))
    last = max((at for at, one in enumerate(ids) if one), default=first - 1)
    blocks = [_block(procedure, one, [point for point in points if point.pass_id == one.id]) for one in passes]
    again = {step.id for step in repeated(procedure)}
    seen: dict[str, Point] = {}
    for point in points:
        if point.step is not None and point.step.id in again:
            seen.setdefault(point.step.id, point)
    return paper.card(
        load.to_document(procedure),
        load.digest(procedure),
        before=[_line(procedure, point) for point in points[:first]],
        passes=blocks,
        after=[_line(procedure, point) for point in points[last + 1 :]],
        looks=looks(procedure),
        again=[_line(procedure, point, "again") for point in seen.values()],
        spare=_spare([_block(procedure, one, [*visit(procedure, one)]) for one in procedure.passes]),
        kept=any(point.limit is not None for point in points),
        mended=_mended(procedure, points),
    )


def _mended(procedure: Procedure, points: Sequence[Point]) -> dict[str, Any] | None:
    """Return the places of a mend at a check that was not right, and what is said again after it, or once a pass was
    bled again there; None for no check."""
    last = [one for one in points if not one.pass_id and one.step in procedure.steps_after]
    checks = [one for one in last if one.step is not None and not {*FINAL_CHECKS}.isdisjoint(words_of(one.step))]
    if not checks:
        return None
    fed = (one for one in points if puts_on(one) and not one.pass_id)
    again = {point.id: _line(procedure, point, "mended") for point in (*makes_safe(procedure, points), *fed)}
    for point in (once_more(one) for one in points if one.pass_id and vouches(one)):
        line = _line(procedure, point, "mended")
        again.setdefault(
            line["step"], {**line, "nipple": "", "text": line["text"] if line["unit"] is None else line["what"]}
        )
    for point in last:
        again.setdefault(point.id, _line(procedure, point, "mended"))
    for line in again.values():  # it stands in full where it is done first
        line["text"] = _begun(line["text"])
    return {
        "kinds": tuple(KINDS),
        "safe": (MADE_SAFE, NOT_MADE_SAFE),
        "circuits": circuits(procedure),
        "lines": list(again.values()),
    }


def _begun(text: str) -> str:
    """Return the beginning of what a step says, so that it is known again."""
    return text if len(text) <= LONGEST else f"{text[:LONGEST].rpartition(' ')[0].rstrip(',;:.')} ..."


def _spare(blocks: Sequence[dict[str, Any]]) -> list[Line]:
    """Return each kind of place that any of these has, once, for a pass that is done again, or taken in."""
    found: dict[tuple[str, str], Line] = {}
    for block in sorted(blocks, key=lambda block: -len(block["lines"])):
        for line in block["lines"]:
            bare = {**line, "where": "spare", "asked": "", "nipple": ""}
            words = {"open": "Open it", "run": "the run"}.get(line["kind"], line["text"])
            key = line["kind"], line["step"]
            if key not in found or len(line["times"]) > len(found[key]["times"]):
                found[key] = {**bare, "text": words}
    return list(found.values())


def _block(procedure: Procedure, one: Pass, points: Sequence[Point]) -> dict[str, Any]:
    names = {nipple.id: nipple.name for nipple in procedure.nipples}
    beside = places_beside(procedure)
    return {
        "id": one.id,
        "beside": {"unit": beside.unit, "fed": beside.fed, "fills": beside.fills},
        "nipples": [names.get(name, name) for name in one.nipples],
        "two": one.two_people,
        "note": one.note,
        "lines": [_line(procedure, point) for point in points],
    }


def _line(procedure: Procedure, point: Point, where: str = "") -> Line:
    one = next((one for one in procedure.passes if one.id == point.pass_id), None)
    at = places(point, one)
    step, nipple = point.step, next((one for one in procedure.nipples if one.id == point.nipple), None)
    several = one is not None and len(one.nipples) > 1 and nipple is not None
    limit = point.limit
    return {
        "point": point.id,
        "kind": point.kind,
        "where": where,
        "step": step.id if step else "",
        "text": in_words(step) if step else _act(one, point, nipple.opening if nipple else ""),
        "what": (step.what or step.id).replace("-", " ") if step else "",
        "caution": step.caution if step else "",
        "second": step is not None and step.person == "second",
        "nipple": nipple.name if several and nipple else "",
        "asked": band(limit.low, limit.high) if limit else "",
        "times": at.times,
        "unit": at.unit,
        "boxes": at.boxes,
        "words": at.words,
        "by": at.by,
        "tool": at.tool,
        "draws": not where and may_draw(procedure, point),
    }


def _act(one: Pass | None, point: Point, opening: str) -> str:
    if point.kind != "run" or one is None:
        return f"Open it {opening}".rstrip() if point.kind == "open" else "Close it"
    return ", ".join(part for part in (one.wire_command, one.seconds, ORDERS.get(one.order, "")) if part)
