"""The matrix of a vehicle: control units against services, as one HTML page that prints and reads on a phone.

A map flows in, HTML flows out; it holds no script and fetches nothing.
"""

from __future__ import annotations

from importlib import resources
from typing import TYPE_CHECKING

from witnessmark.mapping import words
from witnessmark.mapping.facts import ServiceFact
from witnessmark.mapping.model import VehicleMap
from witnessmark.mapping.show import tables
from witnessmark.mapping.unit import name_of

if TYPE_CHECKING:
    from markupsafe import Markup

MOST_SERVICES = 20
"""So many columns stand side by side on A4; more services go into a further table."""

PIECE = 16


def matrix(vehicle: VehicleMap) -> str:
    """Return the page."""
    from jinja2 import Environment, StrictUndefined

    source = resources.files("witnessmark.mapping").joinpath("templates/matrix.html.j2").read_text(encoding="utf-8")
    page = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    page.filters["soft"] = soft
    services = sorted({one.service for unit in vehicle.units for one in unit.services})
    known = [(words.address(unit.address), {one.service: one for one in unit.services}) for unit in vehicle.units]
    parts = [services[at : at + MOST_SERVICES] for at in range(0, len(services), MOST_SERVICES)]
    return page.from_string(source).render(
        vehicle=vehicle,
        parts=[
            (part, [(unit, [mark(facts.get(service)) for service in part]) for unit, facts in known]) for part in parts
        ],
        names=[(service, name_of(int(service, 16))) for service in services],
        details=[(words.unit(one), tables(one)) for one in vehicle.units],
    )


def soft(cell: str) -> Markup:
    """Let a long word be broken, which no copy of it shows: a record of 200 bytes would run out of the page."""
    from markupsafe import Markup, escape

    def word(text: str) -> Markup:
        pieces = [escape(text[at : at + PIECE]) for at in range(0, len(text), PIECE)]
        return Markup("<wbr>").join(pieces) if len(text) > 2 * PIECE else escape(text)

    return Markup(" ").join(map(word, cell.split(" ")))


def mark(fact: ServiceFact | None) -> tuple[str, str]:
    """Return the kind of a cell and the few letters in it: never colour alone."""
    state = words.service(fact)
    if fact is None or not words.is_known(state):
        return "unknown", "?"
    if fact.positive:
        return "yes", "yes"
    refused = words.refusals(fact)
    return "no", "no" if state == words.MISSING else " ".join(refused) or state
