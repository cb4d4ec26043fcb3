"""An invented protocol map, for tests."""

from __future__ import annotations

import json
from typing import Any

MAP: dict[str, Any] = {
    "format": "witnessmark-map/1",
    "id": "unit",
    "title": "Brake control unit of an invented truck",
    "source": "invented for tests",
    "invented": True,
    "address": {"request": "7A0", "answer": "7A8", "functional": "7DF"},
    "identification": [{"identifier": "F189", "value": "0102"}],
    "conditions": [
        {"name": "speed", "identifier": "7002", "unit": "km/h"},
        {"name": "voltage", "identifier": "7001", "denominator": 10, "unit": "V"},
        {"name": "gear", "identifier": "7003", "names": {"2": "neutral", "3": "park"}},
    ],
    "wire_commands": [
        {
            "id": "pump",
            "words": "runs the pump",
            "start": "31010301{seconds}",
            "stop": "31020301",
            "longest_s": 20,
            "cool_down_s": 15,
        }
    ],
}

TEXT = json.dumps(MAP, indent=1)


def edited(old: str, new: str) -> str:
    """Return the map's text with `old` exchanged for `new`; it must be there once."""
    assert TEXT.count(old) == 1, old
    return TEXT.replace(old, new)
