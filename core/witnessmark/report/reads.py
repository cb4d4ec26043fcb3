"""What was only read from the control unit, in a few lines: each request once, with all that it was answered.

Exchanges as facts flow in, lines flow out. Rules that hold here: only a plain reading (22) with one positive answer is
put together with others like it; whatever else happened on the wire stands by itself; `--json` keeps each exchange.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

READING = ("condition", "identification")


def plain_read(exchange: Mapping[str, Any]) -> bool:
    """Say whether an exchange is a reading with its one positive answer and nothing else."""
    answers = exchange["answers"]
    whole = len(answers) == 1 and answers[0]["verdict"] == "positive" and exchange["shows_pending"]
    return exchange["purpose"] in READING and exchange["result"] == "positive" and whole


def reads(exchanges: Sequence[Mapping[str, Any]], found: Mapping[int, tuple[str, str]]) -> list[dict[str, Any]]:
    """Return one line for each request. `found` is what an exchange told: name and value, by its entry."""
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for one in exchanges:
        if plain_read(one):
            groups.setdefault(one["bytes"], []).append(one)
    return [_line(group, found) for group in groups.values()]


def _line(group: Sequence[Mapping[str, Any]], found: Mapping[int, tuple[str, str]]) -> dict[str, Any]:
    first, last = group[0], group[-1]
    told = [found[one["seq"]] for one in group if one["seq"] in found]
    waits = [one["answers"][0]["after_ms"] for one in group]
    return {
        "passes": list(dict.fromkeys(one["pass"] for one in group if one["pass"])),
        "what": told[0][0].replace("-", " ") if told else first["meaning"].partition(" ")[2],
        "bytes": first["bytes"],
        "count": len(group),
        "from": first["at"],
        "to": last["at"],
        "values": _counted([value for _, value in told]),
        "answers": _counted([one["answers"][0]["bytes"] for one in group]),
        "slowest_ms": max((wait for wait in waits if wait is not None), default=None),
        "cites": [one["seq"] for one in group],
    }


def _counted(texts: Sequence[str]) -> list[dict[str, Any]]:
    """Return each text once, in the order it was first seen, with how often it was."""
    counts: dict[str, int] = {}
    for text in texts:
        counts[text] = counts.get(text, 0) + 1
    return [{"text": text, "count": count} for text, count in counts.items()]
