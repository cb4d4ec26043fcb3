"""One visit close up: nipple, wire command and pressure to the second, times by hand with their uncertainty.

The facts flow in, a drawing and what is to be said below it flow out. Rules that hold here: what is drawn is the
attempt that page one gives times of, with the start of its run as 0 s; an opening or a run that does not count is drawn
as such where it lies beside that one, and named below where it does not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from witnessmark.audit import say
from witnessmark.report.drawing.axis import Axis, Section
from witnessmark.report.drawing.svg import bar, edges, label, lane_name, middle, patterns, placed, tag, whisker
from witnessmark.report.drawing.timeline_svg import clock, manner
from witnessmark.report.places import SMALL_LETTER, Spot, Taken, width

WIDTH, LEFT, RIGHT = 370.0, 86.0, 362.0
LANE, BAR = 24.0, 13.0
BEFORE_MS, AFTER_MS, LONGEST_MS = 60_000, 5_000, 10 * 60_000
STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120)
MOST_NAMED = 3
"""So many runs that are not drawn are named one by one."""
Span = dict[str, Any]
"""An opening or a run, as the facts have it; a run has a grade."""


@dataclass(frozen=True, slots=True)
class Window:
    """The first and the last moment that are shown, and the one counted from; what lies between, and what does not."""

    low: int
    high: int
    zero: int
    openings: tuple[Span, ...]
    runs: tuple[Span, ...]
    outside: tuple[Span, ...]
    cut: bool


def closeup(facts: dict[str, Any], index: int) -> Markup | None:
    """Return the drawing of the planned pass at `index`; None when nothing of it is recorded."""
    line, one = facts["timeline"], facts["passes"][index]
    window = _window(facts, index)
    if window is None:
        return None
    low, high, zero, openings, runs = window.low, window.high, window.zero, window.openings, window.runs
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


def _window(facts: dict[str, Any], index: int) -> Window | None:
    """Return what a close-up shows: from the start of what counts to its end, its run in any case; None for nothing."""
    line, name = facts["timeline"], facts["passes"][index]["id"]
    runs = [{**run, **run["ran"]} for run in line["runs"] if run["pass"] == name and run["ran"]]
    spans = [one for one in (*line["openings"], *runs) if one["pass"] == name and placed(one["from"])]
    if not spans:
        return None
    some = any(one["counts"] for one in spans)
    spans = [{**one, "counts": one["counts"] or not some} for one in spans]
    mine = [one for one in spans if one["counts"]]
    zero = middle(next((one for one in mine if "grade" in one), mine[0])["from"])
    start, end = min(map(_start, mine)), max(map(_end, mine))
    low = max(start, zero - LONGEST_MS // 2) if end - start > LONGEST_MS else start
    high = min(end, low + LONGEST_MS)
    shown = [one for one in spans if one["counts"] or (_start(one) <= high and low <= _end(one))]
    return Window(
        low,
        high,
        zero,
        tuple(one for one in shown if "grade" not in one),
        tuple(one for one in shown if "grade" in one),
        tuple(one for one in spans if one not in shown),
        cut=start < low or high < end,
    )


def _start(span: Span) -> int:
    low, high = span["from"]["low_ms"], span["from"]["high_ms"]
    return int(high if low is None else low)


def _end(span: Span) -> int:
    """Return the latest moment that is known of a span."""
    known = [span["to"][key] for key in ("low_ms", "high_ms") if span["to"][key] is not None]
    return max(middle(span["from"]), *map(int, known))


def below(facts: dict[str, Any], index: int) -> str:
    """Return what is said below the close-up of a pass: what of it is not drawn there, empty for nothing."""
    window = _window(facts, index)
    if window is None:
        return ""
    runs = [one for one in window.outside if "grade" in one]
    said = [f"a run of {one['lasted']} at {one['from']['text']}" for one in runs]
    said = said if len(said) <= MOST_NAMED else [f"{len(said)} runs"]
    if opened := len(window.outside) - len(runs):
        said.append("an opening" if opened == 1 else f"{opened} openings")
    lines = [f"Not drawn, not counted: {say.listing(said)}."] if said else []
    return " ".join([*lines, *(["What counts lasted longer than is drawn."] if window.cut else [])])


def _lane(scale: Axis, y: float, name: str, spans: Iterable[Span], kind: str, drawing: str) -> Iterator[Markup]:
    yield tag("path", d=f"M{LEFT},{y + LANE:.1f} H{RIGHT}", class_="lane")
    yield lane_name(LEFT - 6, y + 15, name)
    taken = _with_bars(scale, y + 15, spans)
    for span in spans:
        drawn = manner(kind, span) if span["counts"] else "not-counted"
        yield bar(scale, span, y + 5, BAR, drawn, drawing, RIGHT, f"{span['from']['text']} to {span['to']['text']}")
        if span["to"]["high_ms"] is not None:
            yield _lasted(scale, y + 15, span, drawn, taken)


def _with_bars(scale: Axis, y: float, spans: Iterable[Span]) -> Taken:
    taken = Taken(LEFT, RIGHT)
    for span in spans:
        taken.take(y, *edges(scale, span, RIGHT))
    return taken


def _lasted(scale: Axis, y: float, span: dict[str, Any], drawn: str, taken: Taken) -> Markup:
    """Return how long it lasted: in the bar where there is room, else after it, else before it, else nowhere."""
    words = span["lasted"] + (f" {span['grade']}" if span.get("grade", "sent") != "sent" else "")
    words += "" if span["counts"] else ", not counted"
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
