"""All entries as a sheet lists them: each number once, and what only says the same twice in one line.

Entries and exchanges as facts flow in, lines flow out. Rules that hold here: no number is left out; only a plain
reading of the control unit (see `reads`) is put together with the condition that rests on it, or with other plain
readings right before it; whatever was corrected, or came late, stands by itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from witnessmark.report.reads import plain_read

LATE_MS = 1000
"""From how late on a sheet says when an entry was made."""


def listed(facts: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the lines: an entry each, with `seqs` for its numbers."""
    plain = {one["seq"]: one for one in facts["exchanges"] if plain_read(one)}
    lines: list[dict[str, Any]] = []
    for one in facts["entries"]:
        last = lines[-1] if lines else None
        if last is not None and _goes_on(last, one, plain):
            lines[-1] = {**one, "seqs": [*last["seqs"], one["seq"]], "text": _both(last, one, plain)}
        else:
            lines.append({**one, "seqs": [one["seq"]]})
    return lines


def _goes_on(last: Mapping[str, Any], one: Mapping[str, Any], plain: Mapping[int, Any]) -> bool:
    """Say whether the line before holds nothing but readings that this entry goes on with, or rests on."""
    if last["seqs"][-1] not in plain or one["seq"] != last["seq"] + 1 or last["corrected"] or one["corrected"]:
        return False
    same = all(last[key] == one[key] for key in ("at", "by", "entered_by"))
    if not same or max(last["late_ms"], one["late_ms"]) > LATE_MS:
        return False
    if one["rests_on"] is not None:
        return bool(one["rests_on"] == last["seq"] and len(last["seqs"]) == 1)
    before = plain[last["seqs"][-1]]
    return one["seq"] in plain and before["purpose"] == plain[one["seq"]]["purpose"] == "identification"


def _both(last: Mapping[str, Any], one: Mapping[str, Any], plain: Mapping[int, Any]) -> str:
    if one["rests_on"] is not None:
        return f"{one['text']} ({plain[last['seq']]['bytes'].replace(' ', '')})"
    return f"{last['text']}; {plain[one['seq']]['bytes'].replace(' ', '')}: positive"
