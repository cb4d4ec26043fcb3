"""The matrix of a vehicle: services against control units, as one HTML page that prints.

A map flows in, HTML flows out; it holds no script and fetches nothing.
"""

from __future__ import annotations

from importlib import resources

from witnessmark.mapping import words
from witnessmark.mapping.model import VehicleMap
from witnessmark.mapping.show import overview, tables
from witnessmark.mapping.unit import name_of


def matrix(vehicle: VehicleMap) -> str:
    """Return the page."""
    from jinja2 import Environment, StrictUndefined

    source = resources.files("witnessmark.mapping").joinpath("templates/matrix.html.j2").read_text(encoding="utf-8")
    page = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    services = sorted({one.service for unit in vehicle.units for one in unit.services})
    known = [{one.service: one for one in unit.services} for unit in vehicle.units]
    rows = [
        (service, name_of(int(service, 16)), [words.service(facts.get(service)) for facts in known])
        for service in services
    ]
    return page.from_string(source).render(
        vehicle=vehicle,
        units=[words.address(one.address) for one in vehicle.units],
        rows=rows,
        overview=overview(vehicle),
        details=[(words.unit(one), tables(one)) for one in vehicle.units],
    )
