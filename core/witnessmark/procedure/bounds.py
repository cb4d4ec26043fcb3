"""What a figure of the work can be at all: wide enough for any road vehicle; common sense, no source."""

from __future__ import annotations

BOUNDS: dict[tuple[str, str], tuple[str, str]] = {
    ("boiling-point", "degC"): ("60", "330"),
    ("feed-pressure", "bar"): ("0", "10"),
    ("stored-pressure", "bar"): ("0", "400"),
    ("torque", "N.m"): ("0", "60"),
    ("wheel-torque", "N.m"): ("0", "900"),
    ("container-age", "d"): ("0", "366"),
    ("level", "mL"): ("0", "5000"),
    ("volume", "mL"): ("0", "5000"),
    ("volume-in", "mL"): ("0", "5000"),
    ("volume-removed", "mL"): ("0", "5000"),
    ("volume-drawn", "mL"): ("0", "5000"),
    ("waste", "mL"): ("0", "20000"),
}
"""The least and the most of each reading, in one of its units."""
MOST_LEFT = "20 bar"
"""How much of a stored pressure may be left where a nipple opens, as a procedure may ask. A unit holds several times
that: this project's choice, no source."""
MOST_TURNS = 5
"""How many turns a nipple is opened at most: before that it comes out of its thread."""
MOST_OF = {
    "reservoir": "5 L", "line_volume": "5 L", "caliper_volume": "5 L", "bore": "30 mm", "length": "50 m", "rest": "1 h",
}  # fmt: skip
"""The most that a key of the whole, of a nipple or of the pump can be: a choice of this project, no source."""
LONGEST_STEP = "24 h"
"""How long a step may take at least, as one that stands overnight does: this project's choice, no source."""
