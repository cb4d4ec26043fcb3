"""What a reading can be at all: outside of it a person is asked once more, and nothing is refused.

What is read and its unit flow in, two bounds flow out: wide enough for any road vehicle; common sense, no source.
"""

from __future__ import annotations

BOUNDS: dict[tuple[str, str], tuple[str, str]] = {
    ("boiling-point", "degC"): ("60", "330"),
    ("feed-pressure", "bar"): ("0", "10"),
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
ANY, ANY_TEMPERATURE = ("0", "100000"), ("-60", "1000")


def bounds(what: str, unit: str) -> tuple[str, str]:
    """Return the least and the most that a reading can be, in its unit."""
    return BOUNDS.get((what, unit), ANY_TEMPERATURE if unit.startswith("deg") else ANY)
