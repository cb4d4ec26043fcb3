"""The whole job in one drawing: a lane for each nipple, for the runs, the feed's pressure and the manual steps.

The facts flow in, SVG text flows out. See `svg` for how uncertainty is drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from markupsafe import Markup

from witnessmark.audit import say
from witnessmark.report.drawing.axis import Axis, axis
from witnessmark.report.drawing.svg import bar, edges, label, lane_name, middle, patterns, placed, tag, whisker
from witnessmark.report.places import Spot, Taken

WIDTH, LEFT, RIGHT = 760.0, 118.0, 748.0
TOP, LANE, BAR = 8.0, 22.0, 12.0
PRESSURE, STEPS = 66.0, 26.0
COUNTED_MS = 10_000 * 60_000
"""Up to here minutes from the start are told; later the clock alone is."""
DIGIT = 6.5
"""About how wide a digit of a label is."""


def overview(facts: dict[str, Any], *, common: Iterable[int] = (), hatching: bool = True) -> Markup:
    """Return the drawing of the whole job.

    `common` are moments of another job to be drawn on the same axis; a second drawing on a page needs no `hatching`
    of its own.
    """
    line = facts["timeline"]
    scale = axis([*moments(line), *common], LEFT, RIGHT)
    numbers = {one["id"]: str(index + 1) for index, one in enumerate(facts["passes"])}
    pieces: list[Markup] = [patterns("o")] if hatching else []
    y = TOP
    for nipple in line["nipples"]:
        spans = [one for one in line["openings"] if one["nipple"] == nipple["id"] and placed(one["from"])]
        pieces += _lane(scale, y, nipple["name"], spans, "nipple", numbers)
        y += LANE
    runs = [{**one, **one["ran"]} for one in line["runs"] if one["ran"] and placed(one["ran"]["from"])]
    pieces += _lane(scale, y, "wire commands", runs, "run", numbers)
    pieces += _never_ran(scale, y, line["runs"])
    y += LANE
    if line["pressure"] or line["pressurised"]:
        pieces += _pressure(scale, y, line)
        y += PRESSURE
    pieces += _ended(scale, y, line["ended"])
    pieces += _steps(scale, y, line["steps"])
    y += STEPS
    pieces += _axis(scale, y, line["start_clock"])
    title = tag("title", "Timeline of the whole job: nipples, wire commands, feed pressure and manual steps")
    box = f"0 0 {WIDTH:.0f} {y + 34:.0f}"
    return tag("svg", title, *pieces, viewBox=box, class_="overview", role="img", xmlns="http://www.w3.org/2000/svg")


def moments(line: dict[str, Any]) -> list[int]:
    """Return every known moment of the timeline in ms: what the axis must hold."""
    found = [0, line["end_ms"]]
    spans = [*line["openings"], *line["pressurised"], *(one["ran"] for one in line["runs"] if one["ran"])]
    points = [end for span in spans for end in (span["from"], span["to"])]
    points += [one["at"] for key in ("readings", "steps", "ended") for one in line[key]]
    points += [one["asked"] for one in line["runs"]]
    found += [ms for point in points for ms in (point["low_ms"], point["high_ms"]) if ms is not None]
    return found


def _lane(
    scale: Axis, y: float, name: str, spans: list[dict[str, Any]], kind: str, numbers: dict[str, str]
) -> Iterator[Markup]:
    yield tag("path", d=f"M{LEFT},{y + LANE:.1f} H{RIGHT}", class_="lane")
    yield lane_name(LEFT - 8, y + 15, name)
    taken = Taken(LEFT, RIGHT)
    for span in spans:
        taken.take(y + 15, *edges(scale, span, RIGHT))
    for span in spans:
        hint = f"{span['pass']}: {span['from']['text']} to {span['to']['text']}, {span['lasted']}"
        yield bar(scale, span, y + 5, BAR, manner(kind, span), "o", RIGHT, hint)
        yield _number(scale, y + 15, span, numbers.get(span["pass"], ""), manner(kind, span), taken)


def _number(scale: Axis, y: float, span: dict[str, Any], number: str, drawn: str, taken: Taken) -> Markup:
    """Return the number of a visit: in its bar where there is room, else before it, else after it, else nowhere."""
    start, end = scale(span["from"]["high_ms"]), span["to"]["low_ms"]
    first, last = edges(scale, span, RIGHT)
    spots = [Spot(first - 3, "end", y), Spot(last + 3, "start", y)]
    if end is not None and scale(end) - start > DIGIT * len(number):
        spots.insert(0, Spot((start + scale(end)) / 2, "middle", y, inside=True))
    spot = taken.first(number, spots)
    if spot is None:
        return Markup("")
    return label(spot.x, y, number, f"t small {'on-' + drawn if spot.inside else 'halo'}", spot.anchor)


def manner(kind: str, span: dict[str, Any]) -> str:
    """Return how a span is drawn: a run in the manner of its grade."""
    return f"run-{span['grade']}" if kind == "run" else kind


def _never_ran(scale: Axis, y: float, runs: list[dict[str, Any]]) -> Iterator[Markup]:
    """Mark what was asked for and refused with a cross, what nobody answered with a question mark."""
    for one in runs:
        if one["ran"] is None and placed(one["asked"]):
            x = scale(middle(one["asked"]))
            if one["began"] == "no":
                yield tag("path", d=f"M{x - 4:.1f},{y + 7:.1f} l8,8 m-8,0 l8,-8", class_="cross")
            else:
                yield label(x, y + 15, "?", "t strong", "middle")


def _pressure(scale: Axis, y: float, line: dict[str, Any]) -> Iterator[Markup]:
    yield tag("path", d=f"M{LEFT},{y + PRESSURE:.1f} H{RIGHT}", class_="lane")
    yield label(LEFT - 8, y + 20, "feed pressure", "t", "end")
    bottom = y + PRESSURE - 14
    for span in (one for one in line["pressurised"] if placed(one["from"])):
        yield bar(scale, span, y + PRESSURE - 9, 5, "pressurised", "o", RIGHT, "under pressure by what was done")
    pressure = line["pressure"]
    if pressure is None:
        return
    ends = [end for end in (pressure["low_milli"], pressure["high_milli"]) if end is not None]
    most = max([*ends, *(one["milli"] for one in pressure["points"])]) * 1.15 or 1.0

    def height(milli: float) -> float:
        return bottom - (bottom - y - 6) * milli / most

    if len(ends) == 2:
        low, high = height(ends[0]), height(ends[1])
        yield tag("rect", x=LEFT, y=high, width=RIGHT - LEFT, height=max(1.0, low - high), class_="band")
    for end in ends:
        yield tag("path", d=f"M{LEFT},{height(end):.1f} H{RIGHT}", class_="limit")
    yield label(LEFT - 8, y + 34, pressure["asked"], "t small", "end")
    for point in filter(lambda one: placed(one["at"]), pressure["points"]):
        x, at = scale(middle(point["at"])), height(point["milli"])
        yield whisker(scale, point["at"], at)
        mark = tag("path", tag("title", point["text"]), d=f"M{x:.1f},{at - 4:.1f} l4,4 l-4,4 l-4,-4 z", class_="point")
        yield mark


def _steps(scale: Axis, y: float, steps: list[dict[str, Any]]) -> Iterator[Markup]:
    yield label(LEFT - 8, y + 16, "manual steps", "t", "end")
    for index, step in enumerate(one for one in steps if placed(one["at"])):
        x, at = scale(middle(step["at"])), y + 8 + (index % 2) * 8
        shape = (
            f"M{x - 3:.1f},{at - 3:.1f} l6,6 m-6,0 l6,-6" if step["act"] == "skipped" else f"M{x:.1f},{at - 5:.1f} v10"
        )
        words = tag("title", f"{step['step']}: {step['how']}, {step['at']['text']}")
        yield tag("path", words, d=shape, class_="cross" if step["act"] == "skipped" else "step")
        yield whisker(scale, step["at"], at)


def _ended(scale: Axis, y: float, ends: list[dict[str, Any]]) -> Iterator[Markup]:
    """Mark where the program ended through all lanes, over all of the time in which it may have."""
    for one in (one for one in ends if placed(one["at"])):
        low, high = scale(one["at"]["low_ms"]), scale(one["at"]["high_ms"])
        words = tag("title", f"{one['text']}, {one['at']['text']}")
        yield tag("path", words, d=f"M{low:.1f},{TOP} V{y + STEPS:.1f}", class_="break")
        if high - low > 1:
            yield tag("path", d=f"M{high:.1f},{TOP} V{y + STEPS:.1f}", class_="break")
            yield label((low + high) / 2, y + 15, "?", "t strong", "middle")


def _axis(scale: Axis, y: float, start_clock: str) -> Iterator[Markup]:
    for section in scale.sections:
        yield tag("path", d=f"M{section.left:.1f},{y:.1f} H{section.right:.1f}", class_="axis")
    edge = -100.0
    for ms in scale.ticks():
        x = scale(ms)
        yield tag("path", d=f"M{x:.1f},{y:.1f} v4", class_="axis")
        if x - edge >= 44 and all(x <= section.left or x - section.left >= 40 for section in scale.sections[1:]):
            if ms < COUNTED_MS and all(abs(x - middle) >= 44 for middle, _ in scale.breaks()):
                yield label(x, y + 15, f"{ms // 60_000} min", "t small", "middle")
            yield label(x, y + 27, clock(start_clock, ms)[:5], "t small faint", "middle")
            edge = x
    for section in scale.sections[1:]:
        yield label(section.left, y + 27, clock(start_clock, section.low_ms)[:5], "t small faint")
    for x, length in scale.breaks():
        yield tag("path", d=f"M{x - 5:.1f},{y + 5:.1f} l4,-10 m2,10 l4,-10", class_="axis")
        yield tag("path", d=f"M{x:.1f},{TOP} V{y - 6:.1f}", class_="break")
        yield label(x, y + 15, say.roughly(length * 1_000_000), "t small strong", "middle")


def clock(start: str, ms: int) -> str:
    """Return the time of day `ms` after `start` (`15:06:40`), empty where `start` is none."""
    if start.count(":") != 2:
        return ""
    hours, minutes, seconds = (int(part) for part in start.split(":"))
    total = (hours * 3600 + minutes * 60 + seconds + round(ms / 1000)) % 86_400
    return f"{total // 3600:02d}:{total % 3600 // 60:02d}:{total % 60:02d}"
