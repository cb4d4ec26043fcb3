"""The published schemas say what the strict reader says, and the page on the format lists every kind.

The schemas keep to a few words of JSON Schema 2020-12; `errors` below reads just those and refuses any other.
"""

from __future__ import annotations

import importlib.resources
import json
import re
from pathlib import Path
from typing import Any

import pytest
from tests.journal.shop import Shop
from tests.journal.test_entry import PLAIN, changed
from tests.tampered.test_tampered import EXPECTED, stored

from witnessmark.errors import InputError
from witnessmark.journal import entry, sealing
from witnessmark.journal.kinds import KINDS

FOLDER = importlib.resources.files("witnessmark.journal.schema")
SCHEMAS = {
    schema["$id"]: schema
    for name in ("entry", "evidence")
    for schema in [json.loads((FOLDER / f"{name}.schema.json").read_text(encoding="utf-8"))]
}
ENTRY, EVIDENCE = "urn:witnessmark:entry:1", "urn:witnessmark:evidence:1"
TYPES = {"object": dict, "array": list, "string": str, "integer": int, "null": type(None)}
WORDS = {
    "$schema", "$id", "$defs", "title", "description", "type", "const", "pattern", "minimum", "maximum", "properties",
    "required", "additionalProperties", "items", "anyOf", "$ref",
}  # fmt: skip


def errors(value: Any, schema: dict[str, Any], home: str, place: str = "") -> list[str]:
    """Return where `value` breaks `schema`, which stands in the document `home`."""
    assert set(schema) <= WORDS, set(schema) - WORDS
    if "$ref" in schema:
        reference: str = schema["$ref"]
        if reference in SCHEMAS:
            return errors(value, SCHEMAS[reference], reference, place)
        return errors(value, SCHEMAS[home]["$defs"][reference.removeprefix("#/$defs/")], home, place)
    if "anyOf" in schema:
        return [] if any(not errors(value, one, home, place) for one in schema["anyOf"]) else [place]
    if "const" in schema and value != schema["const"]:
        return [place]
    kind = TYPES.get(schema.get("type", ""))
    if kind is not None and (not isinstance(value, kind) or isinstance(value, bool)):
        return [place]
    if isinstance(value, str) and not re.search(schema.get("pattern", ""), value):
        return [place]
    if isinstance(value, int) and not schema.get("minimum", value) <= value <= schema.get("maximum", value):
        return [place]
    found = []
    if isinstance(value, dict):
        known = schema.get("properties", {})
        found += [f"{place}.{name}" for name in schema.get("required", []) if name not in value]
        if schema.get("additionalProperties") is False:
            found += [f"{place}.{name}" for name in value if name not in known]
        for name, item in value.items():
            found += errors(item, known.get(name, {}), home, f"{place}.{name}")
    if isinstance(value, list) and "items" in schema:
        for number, item in enumerate(value):
            found += errors(item, schema["items"], home, f"{place}[{number}]")
    return found


def test_what_the_journal_writes_keeps_to_the_schemas(shop: Shop) -> None:
    for _, text in shop.journal.texts():
        assert errors(json.loads(text), SCHEMAS[ENTRY], ENTRY) == []
    note = sealing.seal_job(shop.journal, shop.key, "J-1", "person:lead", sheet=True, why="printed").note
    shop.work(1)
    now = sealing.seal(shop.journal, shop.key, "machine:shop", "close").note
    assert note != now
    for data in (sealing.unsealed_evidence(shop.journal, "J-1"), sealing.evidence_of(shop.journal, "J-1", now)):
        assert errors(json.loads(data), SCHEMAS[EVIDENCE], EVIDENCE) == []


@pytest.mark.parametrize(
    "fields",
    [
        {"done_by": "p1"},
        {"job": "a b"},
        {"job_seq": -1},
        {"job_seq": 10**15},
        {"job_prev": "AB" * 32},
        {"kind": "Step"},
        {"format": 2},
        {"salt": "0f"},
        {"salt": ...},
        {"seq": None},
        {"extra": 1},
        {"body": []},
        {"occurred": {"basis": "touch", "from": "01", "to": "2"}},
        {"recorded": {"boot": None, "boot_id": 'b"', "mono": "1", "process": "p", "rate": 1, "wall": "1"}},
        {"recorded": {"boot": None, "boot_id": "b", "mono": "1", "process": "p", "rate": 9, "wall": "1"}},
    ],
)
def test_the_schema_and_the_reader_refuse_the_same(fields: dict[str, Any]) -> None:
    assert errors(json.loads(entry.text(PLAIN)), SCHEMAS[ENTRY], ENTRY) == []
    data = changed(**fields)
    assert errors(json.loads(data), SCHEMAS[ENTRY], ENTRY) != []
    with pytest.raises(InputError):
        entry.parse(data)


def test_the_schema_alone_sees_tampering_with_the_form() -> None:
    seen = {name for name in EXPECTED if not name.startswith("cut_off") and broken(name)}
    assert seen == {"hash_in_capitals", "field_added_to_an_entry", "field_added_to_the_file"}


def broken(name: str) -> list[str]:
    return errors(json.loads(stored(name)), SCHEMAS[EVIDENCE], EVIDENCE)


def test_the_page_on_the_format_lists_every_kind_with_its_meaning() -> None:
    page = (Path(__file__).parents[2] / "docs" / "journal-format.md").read_text(encoding="utf-8")
    for kind, meaning in KINDS.items():
        assert f"| `{kind}` | {meaning} |" in page
    listed = re.findall(r"^\| `([a-z-]+)` \|", page.partition("### Kinds")[2].partition("##")[0], re.MULTILINE)
    assert listed == list(KINDS)
