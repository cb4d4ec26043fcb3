"""One visit close up: nipple, wire command and pressure to the second, times by hand with their uncertainty."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from witnessmark.report.axis import Axis, Section
from witnessmark.report.svg import bar, label, middle, patterns, tag, whisker
from witnessmark.report.timeline_svg import clock, manner

WIDTH, LEFT, RIGHT = 370.0, 86.0, 362.0
LANE, BAR = 24.0, 13.0
BEFORE_MS, AFTER_MS, LONGEST_MS = 60_000, 5_000, 10 * 60_000
LETTER = 4.9
"""About how wide a letter of a label is."""
STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120)


def closeup(facts: dict[str, Any], index: int) -> Markup | None:
    """Return the drawing of the planned pass at `index`; None when nothing of it is recorded."""
    line, one = facts["timeline"], facts["passes"][index]
    openings = [span for span in line["openings"] if span["pass"] == one["id"]]
    runs = [{**run, **run["ran"]} for run in line["runs"] if run["pass"] == one["id"] and run["ran"]]
    if not openings and not runs:
        return None
    low, high, zero = _window([*openings, *runs], runs)
    points = (line["pressure"] or {"points": []})["points"]
    readings = [point for point in points if _near(point, one["id"], low, high)]
    low = min([low, *(point["at"]["low_ms"] for point in readings if point["at"]["low_ms"] is not None)])
    scale = Axis((Section(low - AFTER_MS, high + AFTER_MS, LEFT, RIGHT),))
    name = f"c{index}"
    names = {nipple["id"]: nipple["name"] for nipple in line["nipples"]}
    pieces: list[Markup] = [patterns(name)]
    y = 4.0
    for nipple in dict.fromkeys(span["nipple"] for span in openings):
        spans = [span for span in openings if span["nipple"] == nipple]
        pieces += _lane(scale, y, names.get(nipple, nipple), spans, "nipple", name)
        y += LANE
    if runs:
        pieces += _lane(scale, y, one["wire_command"], runs, "run", name)
        y += LANE
    if readings:
        pieces += _readings(scale, y, readings)
        y += LANE
    pieces += _axis(scale, y, zero, line["start_clock"])
    box = f"0 0 {WIDTH:.0f} {y + 32:.0f}"
    title = tag("title", f"Pass {one['id']} close up")
    return tag("svg", title, *pieces, viewBox=box, class_="closeup", role="img", xmlns="http://www.w3.org/2000/svg")


def _near(point: dict[str, Any], pass_id: str, low: int, high: int) -> bool:
    return point["pass"] in ("", pass_id) and low - BEFORE_MS <= middle(point["at"]) <= high


def _window(spans: list[dict[str, Any]], runs: list[dict[str, Any]]) -> tuple[int, int, int]:
    """Return the first and last moment to show, and the one counted from: the start of the run, else of the opening."""
    starts = [span["from"]["high_ms"] if span["from"]["low_ms"] is None else span["from"]["low_ms"] for span in spans]
    ends = [span["to"][key] for span in spans for key in ("low_ms", "high_ms") if span["to"][key] is not None]
    low = min(starts)
    high = min(max([*ends, *(middle(span["from"]) for span in spans)]), low + LONGEST_MS)
    zero = middle((runs or spans)[0]["from"])
    return low, high, zero


def _lane(scale: Axis, y: float, name: str, spans: list[dict[str, Any]], kind: str, drawing: str) -> Iterator[Markup]:
    yield tag("path", d=f"M{LEFT},{y + LANE:.1f} H{RIGHT}", class_="lane")
    yield label(LEFT - 6, y + 15, name, "t", "end")
    for span in spans:
        drawn = manner(kind, span)
        yield bar(scale, span, y + 5, BAR, drawn, drawing, RIGHT, f"{span['from']['text']} to {span['to']['text']}")
        if span["to"]["high_ms"] is not None:
            yield _lasted(scale, y + 15, span, drawn)


def _lasted(scale: Axis, y: float, span: dict[str, Any], drawn: str) -> Markup:
    """Return how long it lasted: in the bar where there is room, else after it, else before it."""
    words = span["lasted"] + (f" {span['grade']}" if span.get("grade", "sent") != "sent" else "")
    width = LETTER * len(words)
    left, right = scale(span["from"]["high_ms"]), scale(span["to"]["low_ms"])
    after = scale(span["to"]["high_ms"]) + 4
    if right - left > width:
        return label((left + right) / 2, y, words, f"t small on-{drawn}", "middle")
    if after + width < RIGHT:
        return label(after, y, words, "t small")
    low = span["from"]["low_ms"]
    return label(scale(span["from"]["high_ms"] if low is None else low) - 4, y, words, "t small halo", "end")


def _readings(scale: Axis, y: float, readings: list[dict[str, Any]]) -> Iterator[Markup]:
    yield tag("path", d=f"M{LEFT},{y + LANE:.1f} H{RIGHT}", class_="lane")
    yield label(LEFT - 6, y + 15, "pressure", "t", "end")
    for point in readings:
        x, at = scale(middle(point["at"])), y + 12
        yield whisker(scale, point["at"], at)
        yield tag("path", d=f"M{x:.1f},{at - 4:.1f} l4,4 l-4,4 l-4,-4 z", class_="point")
        edge = scale(point["at"]["high_ms"] or middle(point["at"]))
        yield label(max(x + 5, edge) + 4, at + 4, point["text"], "t small halo")


def _axis(scale: Axis, y: float, zero: int, start_clock: str) -> Iterator[Markup]:
    section = scale.sections[0]
    yield tag("path", d=f"M{LEFT},{y:.1f} H{RIGHT}", class_="axis")
    length_s = (section.high_ms - section.low_ms) / 1000
    step = next((one for one in STEPS_S if length_s / one <= 8), STEPS_S[-1]) * 1000
    for ms in range(zero - (zero - section.low_ms) // step * step, section.high_ms + 1, step):
        x = scale(ms)
        yield tag("path", d=f"M{x:.1f},{y:.1f} v4", class_="axis")
        at = round((ms - zero) / 1000)
        words = f"{at} s" if at <= 0 else f"+{at} s"
        inside = WIDTH - 1 - x > LETTER * len(words) / 2
        yield label(x if inside else WIDTH - 1, y + 15, words, "t small", "middle" if inside else "end")
        if at == 0:
            yield label(x, y + 27, clock(start_clock, ms), "t small faint", "middle")
