"""Readings as small charts: one strip for each thing that was read three times or more, with its band.

Facts flow in, SVG flows out. Rules that hold here: a strip has one unit; a reading outside its band is crossed as well
as coloured; the least and the greatest value are written, so that the strip needs no axis.
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any

from markupsafe import Markup

from witnessmark.quantity import plain
from witnessmark.report.drawing.svg import label, tag

WIDTH, HEIGHT, LEFT, RIGHT, TOP, FOOT = 236.0, 60.0, 4.0, 52.0, 8.0, 14.0
LEAST = 3


def strips(facts: dict[str, Any]) -> list[dict[str, Any]]:
    """Return name and drawing of each strip, in the order in which things were first read."""
    groups: dict[tuple[str, str], list[tuple[Decimal, dict[str, Any]]]] = {}
    for one in facts["timeline"]["readings"]:
        if one["taken_back"]:
            continue
        number, _, unit = one["amount"].partition(" ")
        try:
            groups.setdefault((one["what"], unit), []).append((Decimal(number), one))
        except InvalidOperation:
            continue  # no number: it stands in the table and cannot be drawn
    return [
        {"what": what.replace("-", " "), "unit": unit, "drawing": _strip(points)}
        for (what, unit), points in groups.items()
        if len(points) >= LEAST
    ]


def _strip(points: list[tuple[Decimal, dict[str, Any]]]) -> Markup:
    values = [float(value) for value, _ in points]
    bands = [_ends(one["asked"]) for _, one in points]
    ends = [end for band in bands for end in band if end is not None]
    low, high = min([*values, *ends]), max([*values, *ends])
    room = (high - low) or abs(high) or 1.0
    low, high = low - 0.08 * room, high + 0.08 * room

    def y(value: float) -> float:
        return TOP + (high - value) / (high - low) * (HEIGHT - TOP - FOOT)

    step = (WIDTH - LEFT - RIGHT) / len(points)
    drawn: list[Markup] = [tag("path", d=f"M{LEFT},{HEIGHT - FOOT} H{WIDTH - RIGHT}", class_="lane")]
    for index, ((_, one), value, band) in enumerate(zip(points, values, bands, strict=True)):
        x = LEFT + (index + 0.5) * step
        drawn += _band(x - step / 2, step, band, y)
        drawn.append(_point(x, y(value), value, band, f"{one['amount']} ({one['pass'] or 'no visit'})"))
        if one["pass"] and len(points) <= 12:
            drawn.append(label(x, HEIGHT - 3, one["pass"], "t small faint", "middle"))
    drawn.append(label(WIDTH - RIGHT + 4, TOP + 8, f"most {plain(float(max(values)))}", "t small"))
    drawn.append(label(WIDTH - RIGHT + 4, TOP + 22, f"least {plain(float(min(values)))}", "t small"))
    return tag("svg", *drawn, viewBox=f"0 0 {WIDTH:g} {HEIGHT:g}", class_="strip", role="img")


def _band(x: float, width: float, band: tuple[float | None, float | None], y: Any) -> list[Markup]:
    low, high = band
    if low is None and high is None:
        return []
    top = y(high) if high is not None else TOP
    bottom = y(low) if low is not None else HEIGHT - FOOT
    return [tag("rect", x=x, y=top, width=width, height=max(0.5, bottom - top), class_="band")]


def _point(x: float, y: float, value: float, band: tuple[float | None, float | None], hint: str) -> Markup:
    low, high = band
    outside = (low is not None and value < low) or (high is not None and value > high)
    pieces = [tag("title", hint), tag("path", d=f"M{x:.1f},{y - 4:.1f} l4,4 l-4,4 l-4,-4 z", class_="point")]
    if outside:
        pieces.append(tag("path", d=f"M{x - 6:.1f},{y - 6:.1f} l12,12 m-12,0 l12,-12", class_="cross"))
    return tag("g", *pieces)


def _ends(asked: str) -> tuple[float | None, float | None]:
    """Return the band's ends as they stand in the facts: `1.8 bar to 2.2 bar`, `at least 1 V`, `at most 30 d`."""
    if asked.startswith("at least "):
        return _number(asked[9:]), None
    if asked.startswith("at most "):
        return None, _number(asked[8:])
    low, to, high = asked.partition(" to ")
    return (_number(low), _number(high)) if to else (None, None)


def _number(text: str) -> float | None:
    try:
        return float(Decimal(text.partition(" ")[0]))
    except InvalidOperation:
        return None
