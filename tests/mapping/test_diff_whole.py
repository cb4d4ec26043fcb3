"""Whatever one key of a map says otherwise, the difference is named: every key of the document, one at a time."""

from __future__ import annotations

import json
import typing
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest

from witnessmark.errors import InputError
from witnessmark.mapping import facts, model
from witnessmark.mapping.diff import Difference, differences
from witnessmark.mapping.labels import LABELS
from witnessmark.mapping.load import to_text, vehicle_from_text
from witnessmark.mapping.matrix import matrix
from witnessmark.mapping.show import tables

EVIDENCE = {"how": "heard", "source": "bay.log", "digest": "ab" * 32, "first_ns": "1", "last_ns": "9", "count": 3}
SPREAD = {"count": 5, "least_us": 100, "median_us": 200, "p95_us": 300, "most_us": 400}
OBSERVED = {
    "runs": 3, "ended": 2, "shortest_ms": 4000, "longest_ms": 9000, "seconds": [5, 8], "rest_ms": 15000,
    "refused_rest_ms": 3000, "session": 3, "functional": True, "needs": ["27"], "varied": ["byte 5 varied"],
    "refusals": {"22": 2}, "pending_ms": 700,
}  # fmt: skip
UNIT: dict[str, Any] = {
    "format": "witnessmark-map/1", "id": "unit", "title": "a unit", "source": "tests", "invented": True,
    "address": {"request": "7A0", "answer": "7A8", "bits": 11, "functional": "7DF", "transport": "iso15765-2",
                "extension": "F1", "request_extension": "12"},
    "timing": {"p2_ms": 60, "p2_star_ms": 5100, "s3_ms": 5200, "keep_alive": "3E80"},
    "identification": [{"identifier": "F189", "value": "0102"}],
    "conditions": [{"name": "speed", "identifier": "7002", "offset": 1, "length": 2, "numerator": 3, "denominator": 4,
                    "unit": "km/h", "names": {"0": "none"}}],
    "wire_commands": [{
        "id": "pump", "words": "runs the pump", "start": "31010301{seconds}", "stop": "31020301",
        "results": "31030301", "session": 3, "longest_s": 9, "cool_down_s": 15, "budget_ms": 6000,
        "on_stop": "it stands", "on_lost_session": "it goes on", "on_lost_supply": "it falls", "origin": "learned",
        "preconditions": ["speed"], "observed": OBSERVED, "evidence": EVIDENCE,
    }],
    "sessions": [{"session": 3, "name": "extended", "answer": "positive", "code": "22", "p2_ms": 50,
                  "p2_star_ms": 5000, "evidence": EVIDENCE}],
    "services": [{"service": "22", "name": "read", "asked": 9, "positive": 3, "codes": {"31": 2}, "silent": 1,
                  "sub_functions": ["01"], "evidence": EVIDENCE}],
    "identifiers": [
        {"service": "22", "identifier": "F190", "name": "VIN", "value": "3041", "length": 2, "values": 1, "text": "0A",
         "unit": "", "evidence": EVIDENCE},
        {"service": "22", "identifier": "0100", "name": "other", "code": "31", "evidence": EVIDENCE},
    ],
    "codes": [{"request": "1902FF", "bytes_per_code": 3, "availability": "7F", "codes": ["C1B41-54 2F"],
               "evidence": EVIDENCE}],
    "habits": {"answer": SPREAD, "pending": 4, "pending_most": 2, "pending_gap": SPREAD, "kept_alive": "3E80",
               "kept_alive_ms": 2000, "longest_pause_ms": 2100},
    "candidates": [{"id": "31-7310", "start": "31017310", "stop": "31027310", "results": "31037310",
                    "observed": OBSERVED, "runs": [{"start_ns": "7", "request": "31017310", "ms": 4000}],
                    "refused_ns": ["8"], "said": ["pump"], "never": ["it needs"], "evidence": EVIDENCE}],
    "evidence": EVIDENCE,
}  # fmt: skip
NODE: dict[str, Any] = {
    "format": "witnessmark-map/1",
    "id": "node",
    "title": "a node of a K-line",
    "source": "tests",
    "address": {"request": "10", "answer": "10", "bits": 8, "transport": "iso14230", "header": "addresses"},
    "identification": [{"identifier": "F189", "value": "0102"}],
}
MAP: dict[str, Any] = {
    "format": "witnessmark-vehicle-map/1", "id": "v", "title": "truck", "source": "tests", "invented": True,
    "units": [UNIT, NODE], "silent": ["7E1-7E7"],
    "functional": [{"request": "7DF", "bits": 11, "extension": "12", "asked": {"3E": 5}}],
    "evidence": EVIDENCE,
}  # fmt: skip
OTHER: dict[str, Any] = {
    "how": "told", "digest": "cd" * 32, "transport": "iso13400", "keep_alive": "3E00", "origin": "published",
    "answer": "refused", "functional": "6FF", "header": "none",
}  # fmt: skip
"""What else a key may say that holds only certain words."""
ONE_MORE: dict[str, Any] = {
    "seconds": 9, "sub_functions": "02", "needs": "28", "codes": "C1B52-16 2C", "refused_ns": "9",
}  # fmt: skip
NAMED_BY = ("F189", "speed", "pump", "31-7310", "03 extended", "22 read", "F190", "0100", "1902FF", "7DF", "habits",
            "map", "7A8", "states", "keeps a session", "asked with all", "headers", "silent",
            "its address")  # fmt: skip


def leaves(part: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    if isinstance(part, dict) and part:
        for key, inner in part.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(part, list) and part and isinstance(part[0], dict):
        for index, inner in enumerate(part):
            yield from leaves(inner, (*path, index))
    elif path[-1] != "format":
        yield path


def otherwise(path: tuple[Any, ...], value: Any) -> Any:
    """Another value that this key may have."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return 29 if path[-1] == "bits" else value + 1 if path[-1] not in ("least_us", "shortest_ms") else value - 1
    if isinstance(value, list):
        return [
            *value,
            {"seconds": 9, "sub_functions": "02", "needs": "28", "codes": "C1B52-16 2C", "refused_ns": "9"}.get(
                path[-1], "x"
            ),
        ]
    if path[-1] in OTHER and path[-2:] != ("address", "answer"):
        return OTHER[path[-1]]
    if path[-1] in ("first_ns", "last_ns", "start_ns"):
        return value + "0"
    if path[-1] == "start":
        return value[:-1] + "1" if value.endswith("0") else value.replace("0301", "0302")
    if value and set(value) <= set("0123456789ABCDEF"):
        return value[:-1] + ("2" if value[-1] != "2" else "3")
    return value + "x"


def named(path: tuple[Any, ...], value: Any) -> list[Difference]:
    """What is told when the key at `path` says `value`."""
    return differences(read(MAP), read(changed_at(path, value)))


def changed_at(path: tuple[Any, ...], value: Any) -> dict[str, Any]:
    """The map with another value at one key; no part of it is shared with another."""
    after: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(MAP))
    part: Any = after
    for step in path[:-1]:
        part = part[step]
    part[path[-1]] = value
    return after


def read(document: dict[str, Any]) -> model.VehicleMap:
    return msgspec.convert(document, model.VehicleMap)


def at(path: tuple[Any, ...]) -> Any:
    part: Any = MAP
    for step in path:
        part = part[step]
    return part


LEAVES = list(leaves(MAP))


@pytest.mark.parametrize("path", LEAVES, ids=lambda path: ".".join(map(str, path)))
def test_one_key_that_says_otherwise_is_named(path: tuple[Any, ...]) -> None:
    found = named(path, otherwise(path, at(path)))
    assert found, "nothing was said"
    assert any(mark in f"{one.unit}: {one.text}" for one in found for mark in NAMED_BY), found


def test_no_two_keys_give_the_same_sentence() -> None:
    said = {path: tuple(sorted(named(path, otherwise(path, at(path))))) for path in LEAVES}
    same = {path: [other for other in said if other != path and said[other] == said[path]] for path in said}
    assert {path: others for path, others in same.items() if others} == {}


def test_the_map_that_is_tried_here_says_something_at_every_key_of_the_document() -> None:
    """Else a key could be added that no difference names."""
    kinds: dict[type, Any] = {}

    def walk(kind: type[msgspec.Struct], part: dict[str, Any]) -> None:
        kinds.setdefault(kind, set()).update(part)
        hints = typing.get_type_hints(kind)
        for key, value in part.items():
            inner = [one for one in (hints[key], *typing.get_args(hints[key])) if one in LABELS]
            for one in value if isinstance(value, list) else [value]:
                if inner and isinstance(one, dict):
                    walk(inner[0], one)

    walk(model.VehicleMap, MAP)
    assert kinds == {kind: set(kind.__struct_fields__) for kind in LABELS}
    assert {kind: set(labels) for kind, labels in LABELS.items()} == kinds
    structs = {one for module in (facts, model) for one in vars(module).values()
               if isinstance(one, type) and issubclass(one, facts.Strict) and one is not facts.Strict}  # fmt: skip
    assert structs == set(LABELS)


def test_the_map_that_is_tried_here_is_one_that_is_read() -> None:
    assert vehicle_from_text(msgspec.json.encode(MAP).decode()) == read(MAP)


GARBAGE: tuple[Any, ...] = (
    "zz", "", "0", "7" * 400, "\U0001f600", "\ud800", "7f", "..", "{seconds}", -1, 0, 255, 256, 10**30, [], ["zz"],
    [-1], {}, {"zz": 1}, {"zz": "y"}, {"22": -1}, None, True, 1.5,
)  # fmt: skip


FREE = [path[:-1] for path in LEAVES if path[-2:-1] and path[-2] in ("codes", "refusals", "asked", "names")]
"""Objects whose keys are free."""


@pytest.mark.parametrize("path", LEAVES + FREE, ids=lambda path: ".".join(map(str, path)))
def test_whatever_a_key_holds_it_is_refused_with_its_place_or_can_be_shown(path: tuple[Any, ...]) -> None:
    for value in GARBAGE:
        text = json.dumps(changed_at(path, value))
        try:
            found = vehicle_from_text(text, file="v.json")
        except InputError as error:
            assert error.place.startswith("v.json line ") and error.hint, (value, error.place)
            continue
        differences(found, read(MAP)), differences(read(MAP), found)
        assert matrix(found) and [tables(unit) for unit in found.units]
        assert vehicle_from_text(to_text(found)) == found


def test_units_on_one_address_of_two_buses_are_each_compared() -> None:
    two = {**MAP, "units": [UNIT, UNIT]}
    other = {**MAP, "units": [UNIT, {**UNIT, "timing": {**UNIT["timing"], "p2_ms": 61}}]}
    assert [one.text for one in differences(read(two), read(other))] == ["it states P2 61 ms; it was 60 ms"]


def test_identifiers_that_follow_each_other_are_told_as_a_range() -> None:
    def reading(numbers: list[int]) -> dict[str, Any]:
        known = [{"service": "22", "identifier": f"{number:04X}", "code": "31", "evidence": EVIDENCE}
                 for number in numbers]  # fmt: skip
        return {**MAP, "units": [{**UNIT, "identifiers": known}]}

    told = differences(read(reading([])), read(reading([0xF180, 0xF181, 0xF182, 0xF190, 0xF191, 0xF1A0])))
    assert [one.text for one in told] == [
        "only the second map knows identifiers 22 F180-F182, 22 F190, 22 F191, 22 F1A0"
    ]
