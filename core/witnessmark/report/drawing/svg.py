"""Pieces of SVG: elements, and bars whose ends are only known as ranges.

Rule that holds here: what is sure is solid, what is uncertain is hatched with a dashed outline, what has no recorded
end is hatched up to an arrow; so nothing is told by colour alone, and a grey print says the same.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from markupsafe import Markup, escape

from witnessmark.report.places import LETTER, width

Place = Callable[[int], float]
"""Gives the x of a moment in ms."""

LEAST_WIDTH = 1.6


def tag(name: str, *children: str | Markup, **attributes: Any) -> Markup:
    """Return an element; `class_` is `class`, an underscore in a name a hyphen, None leaves an attribute out."""
    listed = ""
    for key, value in attributes.items():
        if value is not None:
            shown = f"{value:.1f}".removesuffix(".0") if isinstance(value, float) else value
            listed += f' {key.rstrip("_").replace("_", "-")}="{escape(shown)}"'
    inside = Markup("").join(escape(child) for child in children)
    return Markup(f"<{name}{listed}>{inside}</{name}>" if inside else f"<{name}{listed}/>")


def label(x: float, y: float, words: str, class_: str = "t", anchor: str | None = None) -> Markup:
    return tag("text", words, x=x, y=y, class_=class_, text_anchor=anchor)


def lane_name(x: float, y: float, words: str) -> Markup:
    """Return the name of a lane, which ends at `x` and is squeezed where it would begin outside of the drawing."""
    squeezed = width(words, LETTER) > x
    room, how = (x, "spacingAndGlyphs") if squeezed else (None, None)
    return tag("text", words, x=x, y=y, class_="t", text_anchor="end", textLength=room, lengthAdjust=how)


def edges(place: Place, span: dict[str, Any], right: float) -> tuple[float, float]:
    """Return where the bar of a span begins and ends with all that is uncertain of it."""
    low, end = span["from"]["low_ms"], span["to"]["high_ms"]
    start = place(0) if low is None else place(low)
    return start, max(start + LEAST_WIDTH, right if end is None else place(end))


def patterns(name: str) -> Markup:
    """Return the hatching for uncertain ends; `name` keeps two drawings on one page apart."""
    stroke = tag("path", d="M-1,1 l2,-2 M0,5 l5,-5 M4,6 l2,-2", class_="hatch")
    pattern = tag("pattern", stroke, id=f"{name}-hatch", width=5, height=5, patternUnits="userSpaceOnUse")
    return tag("defs", pattern)


def placed(at: dict[str, Any]) -> bool:
    """Say whether anything is known of a moment: what nobody knows has no place on an axis."""
    return (at["low_ms"], at["high_ms"]) != (None, None)


def bar(
    place: Place, span: dict[str, Any], y: float, height: float, kind: str, name: str, right: float, hint: str = ""
) -> Markup:
    """Return one bar for a span of the facts; `right` is where a bar without a recorded end stops."""
    start_low, start_high = span["from"]["low_ms"], span["from"]["high_ms"]
    end_low, end_high = span["to"]["low_ms"], span["to"]["high_ms"]
    known_end = end_low if end_low is not None else start_high
    x_start = place(start_high if start_low is None else start_low)
    x_end = right if end_high is None else place(end_high)
    if start_low is None:
        x_start = place(0)
    sure_from, sure_to = place(start_high), place(known_end)
    pieces = [tag("title", hint)] if hint else []
    whole = max(LEAST_WIDTH, x_end - x_start)
    uncertain = start_low != start_high or end_low != end_high
    if uncertain:
        fill = f"url(#{name}-hatch)"
        pieces.append(tag("rect", x=x_start, y=y, width=whole, height=height, fill=fill, class_=f"unsure {kind}-line"))
    if known_end >= start_high:
        width = max(LEAST_WIDTH, sure_to - sure_from)
        pieces.append(tag("rect", x=sure_from, y=y, width=width, height=height, class_=kind))
    if end_high is None:
        middle = y + height / 2
        arrow = f"M{x_end - 5:.1f},{middle - 4:.1f} l5,4 l-5,4"
        pieces += [tag("path", d=arrow, class_="arrow"), label(x_end - 8, middle + 4, "?", "t strong", "end")]
    return tag("g", *pieces)


def whisker(place: Place, at: dict[str, Any], y: float, class_: str = "whisker") -> Markup:
    """Return the line that shows within what time a moment lay."""
    low, high = at["low_ms"], at["high_ms"]
    if low is None or high is None or low == high:
        return Markup("")
    a, b = place(low), place(high)
    return tag("path", d=f"M{a:.1f},{y - 2:.1f} v4 M{a:.1f},{y:.1f} H{b:.1f} M{b:.1f},{y - 2:.1f} v4", class_=class_)


def middle(at: dict[str, Any]) -> int:
    """Return the middle of a moment in ms; the end that is known when the other is not."""
    low, high = at["low_ms"], at["high_ms"]
    if low is None or high is None:
        return int(high if low is None else low) if (low, high) != (None, None) else 0
    return int(low + high) // 2
