"""What a reading can be at all: outside of it a person is asked once more, and nothing is refused.

What is read and its unit flow in, two bounds flow out.
"""

from __future__ import annotations

from witnessmark.procedure.bounds import BOUNDS

ANY, ANY_TEMPERATURE = ("0", "100000"), ("-60", "1000")


def bounds(what: str, unit: str) -> tuple[str, str]:
    """Return the least and the most that a reading can be, in its unit."""
    return BOUNDS.get((what, unit), ANY_TEMPERATURE if unit.startswith("deg") else ANY)
