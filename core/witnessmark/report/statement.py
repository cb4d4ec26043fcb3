"""The dispute statement and the key tag: two small papers made of the same facts as the sheet.

The statement says on one page what the record shows, what it gives no proof of, who said what, and what no record of
this kind can prove. The tag hangs on the key while the vehicle must not be driven, and lists what is open.
"""

from __future__ import annotations

from typing import Any

from witnessmark.report.sheet import environment

LIMITS = (
    "A count and a head show that entries were changed or removed since printing. They do not make an entry true.",
    "When a nipple was opened or closed, and what a gauge showed, is what a person entered. No machine saw it.",
    "An answer of the control unit says what the control unit answered. It does not say what the fluid did.",
    "What was done without an entry is not in the record; what is not in the record may still have been done.",
)
"""What no record of this kind can prove."""


def statement(facts: dict[str, Any]) -> str:
    """Return the HTML of the dispute statement for the facts of one job."""
    told = [one for one in facts["people"] if one["what"] == "person"]
    seen = sum(one["entries"] for one in facts["people"] if one["what"] == "machine")
    return environment().get_template("statement.html.j2").render(facts, told=told, seen=seen, limits=LIMITS)


def tag(facts: dict[str, Any]) -> str:
    """Return the HTML of the key tag: NOT RELEASED and what is open, or that the job is released and by whom."""
    return environment().get_template("tag.html.j2").render(facts)
