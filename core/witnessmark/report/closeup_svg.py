"""One visit close up: nipple, wire command and pressure to the second, times by hand with their uncertainty."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from witnessmark.report.axis import Axis, Section
from witnessmark.report.places import SMALL_LETTER, Spot, Taken, width
from witnessmark.report.svg import bar, edges, label, lane_name, middle, patterns, placed, tag, whisker
from witnessmark.report.timeline_svg import clock, manner

WIDTH, LEFT, RIGHT = 370.0, 86.0, 362.0
LANE, BAR = 24.0, 13.0
BEFORE_MS, AFTER_MS, LONGEST_MS = 60_000, 5_000, 10 * 60_000
STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120)


def closeup(facts: dict[str, Any], index: int) -> Markup | None:
    """Return the drawing of the planned pass at `index`; None when nothing of it is recorded."""
    line, one = facts["timeline"], facts["passes"][index]
    openings = [span for span in line["openings"] if span["pass"] == one["id"] and placed(span["from"])]
    runs = [{**run, **run["ran"]} for run in line["runs"] if run["pass"] == one["id"] and run["ran"]]
    runs = [run for run in runs if placed(run["from"])]
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
    return placed(point["at"]) and point["pass"] in ("", pass_id) and low - BEFORE_MS <= middle(point["at"]) <= high


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
    yield lane_name(LEFT - 6, y + 15, name)
    taken = _with_bars(scale, y + 15, spans)
    for span in spans:
        drawn = manner(kind, span)
        yield bar(scale, span, y + 5, BAR, drawn, drawing, RIGHT, f"{span['from']['text']} to {span['to']['text']}")
        if span["to"]["high_ms"] is not None:
            yield _lasted(scale, y + 15, span, drawn, taken)


def _with_bars(scale: Axis, y: float, spans: list[dict[str, Any]]) -> Taken:
    taken = Taken(LEFT, RIGHT)
    for span in spans:
        taken.take(y, *edges(scale, span, RIGHT))
    return taken


def _lasted(scale: Axis, y: float, span: dict[str, Any], drawn: str, taken: Taken) -> Markup:
    """Return how long it lasted: in the bar where there is room, else after it, else before it, else nowhere."""
    words = span["lasted"] + (f" {span['grade']}" if span.get("grade", "sent") != "sent" else "")
    left, right = scale(span["from"]["high_ms"]), scale(span["to"]["low_ms"])
    start, end = edges(scale, span, RIGHT)
    spots = [Spot(end + 4, "start", y), Spot(start - 4, "end", y)]
    if right - left > width(words):
        spots.insert(0, Spot((left + right) / 2, "middle", y, inside=True))
    spot = taken.first(words, spots)
    if spot is None:
        return Markup("")
    return label(spot.x, y, words, f"t small {'on-' + drawn if spot.inside else 'halo'}", spot.anchor)


def _readings(scale: Axis, y: float, readings: list[dict[str, Any]]) -> Iterator[Markup]:
    yield tag("path", d=f"M{LEFT},{y + LANE:.1f} H{RIGHT}", class_="lane")
    yield lane_name(LEFT - 6, y + 15, "pressure")
    taken = Taken(LEFT, RIGHT)
    rows = (y + 16, y + 7)
    for point in readings:
        x = scale(middle(point["at"]))
        for row in rows:
            taken.take(row, x - 5, max(x + 5, scale(point["at"]["high_ms"] or middle(point["at"]))))
    for point in readings:
        x, at = scale(middle(point["at"])), y + 12
        yield whisker(scale, point["at"], at)
        yield tag("path", d=f"M{x:.1f},{at - 4:.1f} l4,4 l-4,4 l-4,-4 z", class_="point")
        edge = scale(point["at"]["high_ms"] or middle(point["at"]))
        after, before = max(x + 5, edge) + 4, x - 9
        spots = [spot for row in rows for spot in (Spot(after, "start", row), Spot(before, "end", row))]
        spot = taken.first(point["text"], spots)
        if spot is not None:
            yield label(spot.x, spot.y, point["text"], "t small halo", spot.anchor)


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
        inside = WIDTH - 1 - x > SMALL_LETTER * len(words) / 2
        yield label(x if inside else WIDTH - 1, y + 15, words, "t small", "middle" if inside else "end")
        if at == 0:
            yield label(x, y + 27, clock(start_clock, ms), "t small faint", "middle")
