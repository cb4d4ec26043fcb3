"""Two jobs side by side on one time axis.

The facts of two jobs flow in, the text of an HTML file flows out. Rules that hold here: both drawings have the same
scale and each begins with its own first entry; a question that both answer alike is printed after those they do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from witnessmark.report.drawing.timeline_svg import moments, overview
from witnessmark.report.sheet import environment


def called(facts: dict[str, Any], file: str) -> str:
    """Return a job's name that tells it from one with the same id: with its journal's, else with its file's."""
    job = facts["job"]
    return f"job {job['id']} of {job['shop'] or file}"


def scope(facts: dict[str, Any]) -> str:
    """Return what a job was asked to do, on which vehicle, and where it stands: its answers are of no more."""
    vehicle = facts["vehicle"].get("id", "")
    return "; ".join(one for one in (facts["job"]["asked"], vehicle, facts["job"]["state"]) if one)


def caution(one: dict[str, Any], other: dict[str, Any]) -> str:
    """Return in words that two jobs were not asked the same, empty where they were."""
    if one["job"]["asked"] == other["job"]["asked"]:
        return ""
    return "They were not asked to do the same: each answer is of that job's own scope, and of its own passes alone."


def comparison(one: dict[str, Any], other: dict[str, Any], names: Sequence[str]) -> str:
    """Return the HTML of the page that compares two jobs, called by `names`."""
    common = [*moments(one["timeline"]), *moments(other["timeline"])]
    drawings = [overview(one, common=common), overview(other, common=common, hatching=False)]
    template = environment().get_template("comparison.html.j2")
    return template.render(
        jobs=[one, other], drawings=drawings, rows=_rows(one, other), passes=_passes(one, other), names=names,
        scopes=[scope(one), scope(other)], caution=caution(one, other),
    )  # fmt: skip


def _rows(one: dict[str, Any], other: dict[str, Any]) -> list[dict[str, Any]]:
    """Each question that either answers, with both answers; those that differ first, each part in its order."""
    asked = {finding["number"]: finding for facts in (other, one) for finding in facts["findings"]}
    answers = [{finding["number"]: finding for finding in facts["findings"]} for facts in (one, other)]
    rows = [
        {"number": number, "title": asked[number]["title"], "both": [found.get(number) for found in answers]}
        for number in sorted(asked)
    ]
    for row in rows:
        row["differs"] = len({found["answer"] if found else "" for found in row["both"]}) > 1
    return sorted(rows, key=lambda row: (not row["differs"], row["number"]))


def _passes(one: dict[str, Any], other: dict[str, Any]) -> list[dict[str, Any]]:
    """Each visit that either has, with what was done in both."""
    known = [{visit["id"]: visit for visit in facts["passes"]} for facts in (one, other)]
    names = dict.fromkeys([*known[0], *known[1]])
    return [{"id": name, "both": [visits.get(name) for visits in known]} for name in names]
