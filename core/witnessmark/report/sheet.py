"""The sheet: one self-contained HTML file that prints on A4 and Letter and reads on a phone.

Facts flow in, the text of the file flows out. Rules that hold here: no script, nothing fetched from anywhere; all text
from entries is escaped; the templates see the facts alone, so that sheet and `--json` cannot differ, and the photos
that the facts name.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, partial
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from witnessmark import quantity
from witnessmark.audit import cited
from witnessmark.report.drawing.closeup_svg import below, closeup
from witnessmark.report.drawing.qr import qr
from witnessmark.report.drawing.strips_svg import strips
from witnessmark.report.drawing.timeline_svg import overview
from witnessmark.report.kept import Photo
from witnessmark.report.listed import listed
from witnessmark.report.reads import plain_read
from witnessmark.report.witness import TIMED

if TYPE_CHECKING:
    from jinja2 import Environment


def sheet(facts: dict[str, Any], photos: Mapping[str, Photo] = MappingProxyType({})) -> str:
    """Return the HTML of the sheet for the facts of one job (see `report.facts`); `photos` by their SHA-256."""
    drawings = [(closeup(facts, index), below(facts, index)) for index in range(len(facts["passes"]))]
    sealed = facts["record"]["seal"]
    code = qr(sealed["note"]) if sealed else ""
    template = environment().get_template("sheet.html.j2")
    drawn = {"overview": overview(facts), "closeups": drawings, "strips": strips(facts), "qr": code}
    return template.render(facts, **drawn, wire=_wire(facts), timed=TIMED, photos=photos, listed=listed(facts))


def _wire(facts: dict[str, Any]) -> list[dict[str, Any]]:
    """The exchanges that stand by themselves: all but those whose readings `reads` puts together."""
    return [one for one in facts["exchanges"] if not plain_read(one)]


@cache
def environment() -> Environment:
    """Return the templates, ready to be filled; anything they ask for that is not there is an error."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(
        loader=PackageLoader("witnessmark.report"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=shown,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["grouped"] = grouped
    made.filters["cited"] = partial(cited.first, most=cited.MOST_ON_PAPER)
    made.filters["deciding"] = deciding
    return made


def shown(value: Any) -> Any:
    """Return what a template prints: a unit with its sign; the bytes of a photo, and what is no text, as they are."""
    if not isinstance(value, str) or value.startswith("data:"):
        return value
    text = quantity.printed(value)
    return value if text == value else type(value)(text)


def deciding(finding: dict[str, Any]) -> list[int]:
    """Return the entries that a finding's answer rests on: those of the parts that decide, else all of them."""
    parts = [set(one["cites"]) for one in finding["details"] if one["answer"] == finding["answer"]]
    return sorted(set().union(*parts)) if parts else list(finding["cites"])


def grouped(digest: str, size: int = 8) -> str:
    """Return hex text in groups, so that a person can compare it."""
    return " ".join(digest[at : at + size] for at in range(0, len(digest), size))
