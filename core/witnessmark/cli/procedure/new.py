"""`witnessmark procedure new FILE`: a procedure to fill in. Its structure is right; `check` names what is left."""

from __future__ import annotations

from pathlib import Path

import click

from witnessmark.cli.options import write_file

TEMPLATE = """# Fill in from what the maker publishes. Order, limits and times are data: nothing here is a default.
# Every FILL IN says what belongs there; `witnessmark procedure check` names each, and no job opens while one is left.
# Every key is told in docs/procedure.md. What the procedure does not ask for is taken out; a nipple, a pass or a step
# more is one more block.
# Practice data says so: source = "invented" and, in a line of its own, invented = true.
# may_repeat = true lets a step be done again at any later time with a key of its own; each time is recorded by itself.
# takes_at_least = "1 min" says how long a step takes at least: the screen counts, and one answered sooner is no proof.
format = "witnessmark-procedure/1"
id = "{name}"
title = "FILL IN: what this procedure does, in a few words"
source = "FILL IN: the document and page all figures come from"
vehicle = "FILL IN: for which vehicle"
fluid = "FILL IN: the grade that the vehicle asks for, like DOT 4"
reservoir = "FILL IN: what it holds between full and where it draws air, like 400 mL"

[[nipples]]
id = "rear-right"
name = "FILL IN: where it is, as people say it, like rear right"
circuit = "FILL IN: the hydraulic circuit it belongs to, like rear"
torque = {{ low = "FILL IN: the least torque, like 7 N.m", high = "FILL IN: the greatest torque, like 9 N.m" }}
opening = "FILL IN: how far it is opened, like half a turn"

[[steps_before]]
id = "make-safe"
text = "FILL IN: where it is lifted and supported, and what else makes it safe to work on"
affects = "made-safe"
caution = "Never work under a vehicle that stands on a jack alone."

# The vehicle's number and its codes are only read, over a link or off another tester. Where neither is at hand, the
# steps with act = "identify" and act = "scan" are taken out, that which clears the codes too, and this is put in:
# [[leaves_out]]
# question = "1"
# why = "why nothing reads the number, like: it has no control unit"
[[steps_before]]
id = "vehicle-number"
text = "The number of the vehicle, from its control unit"
act = "identify"

[[steps_before]]
id = "codes-before"
text = "The trouble codes before the work"
act = "scan"

[[steps_before]]
id = "fluid-in-vehicle"
text = "What is in the vehicle, as its cap or label says?"
act = "check"
affects = "fluid-in-vehicle"
choices = ["DOT 3", "DOT 4", "DOT 5.1", "DOT 5 (silicone)", "mineral", "not known"]

[[steps_before]]
id = "fluid-grade"
text = "What does the container say?"
act = "check"
affects = "fluid-grade"
choices = ["DOT 3", "DOT 4", "DOT 5.1"]

[[steps_before]]
id = "filled"
text = "Fill the reservoir to its upper mark and read how much went in"
act = "volume"
what = "volume-in"
unit = "mL"
affects = "refill"
may_repeat = true

[[passes]]
id = "p1"
nipples = ["rear-right"]

[[steps_after_each_pass]]
id = "clear"
text = "Did it run clear and without bubbles at the end?"
act = "check"
affects = "clear"

[[steps_after_each_pass]]
id = "torque"
text = "Tighten the nipple, wipe it dry, cap on. Read the torque"
act = "read"
what = "torque"
unit = "N.m"
also = ["torqued", "capped"]
instrument = "torque wrench"

[[steps_after_each_pass]]
id = "bottle"
text = "Read how much is in the bottle, then empty it"
act = "volume"
what = "volume"
unit = "mL"
whole_pass = true

[[steps_after]]
id = "pedal"
text = "Pump the pedal until it is firm; it holds, nothing is wet"
act = "check"
affects = "pedal-pumped"
also = ["leak-check", "pedal-check"]
may_repeat = true

[[steps_after]]
id = "level"
text = "Read the level"
act = "read"
what = "level"
unit = "mL"
may_repeat = true
limit = {{ low = "FILL IN: the lowest level, like 300 mL", high = "FILL IN: the highest level, like 400 mL" }}

[[steps_after]]
id = "codes-after"
text = "The trouble codes after the work"
act = "scan"

[[steps_after]]
id = "codes-cleared"
text = "Clear the trouble codes with the maker's own means, as the maker says"
affects = "codes-cleared"
may_skip = true

[[steps_after]]
id = "codes-again"
text = "The trouble codes that are left or have come back"
act = "scan"

[[steps_after]]
id = "road-test"
text = "FILL IN: how it is driven and braked, from walking pace first"
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
