"""`witnessmark procedure new FILE`: a procedure to fill in, one that `check` already accepts."""

from __future__ import annotations

from pathlib import Path

import click

from witnessmark.cli.options import write_file

TEMPLATE = """# Fill in from what the maker publishes. Order, limits and times are data: nothing here is a default.
format = "witnessmark-procedure/1"
id = "{name}"
title = "Say what this procedure does"
source = "name the document and page it comes from"
vehicle = "say for which vehicle"
fluid = "DOT 4"

[[nipples]]
id = "rear-right"
name = "rear right"
circuit = "rear"

[[steps_before]]
id = "make-safe"
text = "Lift at the lift points, set rated supports"
affects = "made-safe"
caution = "Never work under a vehicle that stands on a jack alone."

[[steps_before]]
id = "fluid-grade"
text = "What does the container say?"
act = "check"
affects = "fluid-grade"
choices = ["DOT 3", "DOT 4", "DOT 5.1"]

[[passes]]
id = "p1"
nipples = ["rear-right"]

[[steps_after_each_pass]]
id = "clear"
text = "Did it run clear and without bubbles at the end?"
act = "check"
affects = "clear"

[[steps_after]]
id = "pedal"
text = "Pump the pedal until it is firm; it holds, nothing is wet"
act = "check"
affects = "pedal-pumped"
also = ["leak-check", "pedal-check"]

[[steps_after]]
id = "road-test"
text = "Drive and brake from walking pace first"
affects = "road-test"
caution = "Only with a firm pedal."
"""


@click.command("new")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def new(file: Path) -> None:
    """Begin a procedure in a new file."""
    from witnessmark.errors import InputError

    if file.exists():
        raise InputError("it is there already", place=str(file), hint="name a file that is not there yet")
    write_file(file, TEMPLATE.format(name=file.stem).encode(), "name a file in a folder that you may write in")
    click.echo(f"{file}: fill it in, then: witnessmark procedure check {file}")
