"""What hands can do to the practice truck, one line each: `python -m witnessmark_practice.acts` prints it.

Nothing flows here: it is a table. `hands` does what it says; a test compares them.
"""

from __future__ import annotations

import click

ACTS = (
    ("wake", "", "ignition on"),
    ("sleep", "", "ignition off"),
    ("park", "", "stands still, selector in P"),
    ("roll", "[3 km/h]", "rolls, selector in N"),
    ("supply", "on|off", "the charger; the pump needs it; on mends low-voltage"),
    ("traffic", "on|off", "ordinary frames on the bus"),
    ("draw-off", "[100 mL]", "draws fluid out of the reservoir"),
    ("refill", "[100 mL]", "pours fluid in, to the brim where nothing is said"),
    ("fit-feed", "", "puts on the lid with the air"),
    ("remove-feed", "", "takes it off"),
    ("pressurise", "[2.0 bar]", "puts the feed under pressure"),
    ("depressurise", "", "lets it off"),
    ("open", "NIPPLE", "opens a nipple; `read nipples` names them"),
    ("close", "NIPPLE [8 N.m]", "closes it"),
    ("pedal", "[12]", "pumps the pedal once, or so often; how it feels"),
    ("empty-bottle", "", "what ran out at nipples since it was emptied last"),
    ("read", "WHAT", "feed-pressure, level, voltage, pedal, speed, gear"),
    ("read", "WHAT", "nipples, boiling-point, waste, tester (what it was answered)"),
    ("read", "WHAT NIPPLE", "volume, torque, outflow (clear, dark or bubbles)"),
    ("fault", "NAME[@RUN[+SECONDS]]", "a fault strikes, now or in a run; `fault none` mends all"),
    ("software", "[03.20.7]", "the control unit runs this from now on; approvals are void"),
    ("tester", "HEX", "another tester on the bus sends this request"),
    ("tester", "HEX keep", "and keeps the session alive until `tester 1001`"),
    ("elsewhere", "WIRE-COMMAND [10 s]", "another tester runs it for so long, then stops it"),
    ("elsewhere", "stop", "and stops it at once"),
    ("truth", "", "the truck's own record of what truly happened, as JSON"),
)  # fmt: skip
"""Name, what it takes, what it does."""


def listed() -> str:
    """Return the table as lines."""
    usages = [f"{name} {takes}".rstrip() for name, takes, _ in ACTS]
    width = max(map(len, usages)) + 2
    return "\n".join(f"  {usage:{width}}{does}" for usage, (_, _, does) in zip(usages, ACTS, strict=True))


if __name__ == "__main__":
    click.echo(listed())
