"""The published JSON schemas of a protocol map and of a vehicle map, told in prose in docs/protocol-map.md.

They are made from the typed documents by `generate`, so that they cannot say something else; what only the reader
checks (hex, ranges, names given once) is in the prose.
"""

from __future__ import annotations

import json
from typing import Any

SCHEMAS = {"map.schema.json": "ProtocolMap", "vehicle-map.schema.json": "VehicleMap"}


def generate(name: str) -> str:
    """Return the text of one of SCHEMAS."""
    import msgspec

    from witnessmark.mapping import model

    kind = getattr(model, SCHEMAS[name])
    (top,), parts = msgspec.json.schema_components([kind], ref_template="#/$defs/{name}")
    document: dict[str, Any] = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:witnessmark:{name.partition('.')[0]}:1",
        **top,
        "$defs": parts,
    }
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"
