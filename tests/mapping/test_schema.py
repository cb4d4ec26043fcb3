"""The published schemas say what the typed documents say, and the page tells every key."""

from __future__ import annotations

import copy
import json
from importlib import resources
from pathlib import Path
from typing import Any

import msgspec
import pytest
from tests.mapping.maps import MAP
from tests.mapping.test_listen_captures import vehicle

import witnessmark_practice
from witnessmark.mapping import facts, model
from witnessmark.mapping.load import to_document
from witnessmark.mapping.schema import SCHEMAS, generate

FOLDER = resources.files("witnessmark.mapping.schema")
PAGE = Path(__file__).parents[2] / "docs" / "protocol-map.md"
PRACTICE = json.loads((Path(witnessmark_practice.__file__).parent / "data" / "map.json").read_text(encoding="utf-8"))
TYPES: dict[str, tuple[type, ...]] = {
    "object": (dict,),
    "array": (list, tuple),
    "string": (str,),
    "integer": (int,),
    "boolean": (bool,),
    "null": (type(None),),
}
WORDS = {
    "$schema", "$id", "$defs", "$ref", "title", "description", "type", "properties", "required", "default", "items",
    "additionalProperties", "anyOf", "enum",
}  # fmt: skip


def schema(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((FOLDER / name).read_text(encoding="utf-8"))
    return found


def errors(value: Any, one: dict[str, Any], whole: dict[str, Any], place: str = "") -> list[str]:
    """Return where a value breaks a schema that keeps to WORDS."""
    assert set(one) <= WORDS, set(one) - WORDS
    if "$ref" in one:
        return errors(value, whole["$defs"][one["$ref"].rpartition("/")[2]], whole, place)
    if "anyOf" in one:
        return [] if any(not errors(value, choice, whole, place) for choice in one["anyOf"]) else [place]
    if "enum" in one:
        return [] if value in one["enum"] else [place]
    right = isinstance(value, TYPES[one["type"]]) and not (one["type"] == "integer" and isinstance(value, bool))
    if not right:
        return [place]
    if one["type"] == "array":
        return [bad for at, item in enumerate(value) for bad in errors(item, one["items"], whole, f"{place}[{at}]")]
    if one["type"] != "object":
        return []
    found = [f"{place}.{name}" for name in one.get("required", ()) if name not in value]
    for name, item in value.items():
        inner = one.get("properties", {}).get(name, one.get("additionalProperties", True))
        if inner is False:
            found.append(f"{place}.{name}")
        elif isinstance(inner, dict):
            found += errors(item, inner, whole, f"{place}.{name}")
    return found


@pytest.mark.parametrize("name", SCHEMAS)
def test_a_published_schema_is_the_one_that_the_typed_document_gives(name: str) -> None:
    assert (FOLDER / name).read_text(encoding="utf-8") == generate(name)


@pytest.mark.parametrize("document", [MAP, PRACTICE])
def test_maps_that_are_shipped_keep_to_the_schema(document: dict[str, Any]) -> None:
    assert errors(document, schema("map.schema.json"), schema("map.schema.json")) == []


@pytest.mark.parametrize("name", ["fault-scan.log", "battery-polling.log", "answers-only.log", "no-diagnostics.log"])
def test_maps_that_were_learned_keep_to_the_schema(name: str) -> None:
    whole = schema("vehicle-map.schema.json")
    assert errors(to_document(vehicle(name)), whole, whole) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [(("address", "port"), 1), (("timing", "p2_ms"), "50"), (("format",), "witnessmark-map/2"), (("invented",), 1),
     (("wire_commands", 0, "origin"), "guessed"), (("conditions",), {})],
)  # fmt: skip
def test_the_schema_refuses_what_the_reader_refuses(path: tuple[Any, ...], value: Any) -> None:
    document = copy.deepcopy(PRACTICE)
    at = document
    for step in path[:-1]:
        at = at.setdefault(step, {}) if isinstance(at, dict) else at[step]
    at[path[-1]] = value
    assert errors(document, schema("map.schema.json"), schema("map.schema.json"))
    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(document, model.ProtocolMap)


def test_the_page_tells_every_key_of_the_document() -> None:
    text = PAGE.read_text(encoding="utf-8")
    structs = {
        one
        for module in (facts, model)
        for one in vars(module).values()
        if isinstance(one, type) and issubclass(one, facts.Strict) and one is not facts.Strict
    }
    missing = {
        f"{one.__name__}.{field}" for one in structs for field in one.__struct_fields__ if f"`{field}`" not in text
    }
    assert len(structs) > 15 and missing == set()
