from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from tests.mapping.maps import MAP, TEXT, edited

from witnessmark.errors import InputError
from witnessmark.mapping.load import digest, from_document, from_text, load, to_document, vehicle_from_text


def test_a_map_is_read_and_its_plain_form_gives_the_same_map(tmp_path: Path) -> None:
    path = tmp_path / "unit.json"
    path.write_text(TEXT, encoding="utf-8")
    found = load(path)
    assert found.wire_commands[0].longest_s == 20 and found.conditions[1].denominator == 10
    assert from_document(to_document(found)) == found


def test_layout_does_not_change_the_digest_but_content_does() -> None:
    compact = from_text(json.dumps(MAP, separators=(",", ":"), sort_keys=True))
    assert digest(compact) == digest(from_text(TEXT))
    assert digest(from_text(edited('"longest_s": 20', '"longest_s": 21'))) != digest(compact)


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ('"longest_s": 20', '"longest_s": "20"', "wire_commands[0].longest_s", "int"),
        ('"longest_s": 20', '"longest_s": 0', "wire_commands[0].longest_s", "cannot be"),
        ('"31020301"', '"3102 0301"', "wire_commands[0].stop", "not bytes"),
        ('"31010301{seconds}"', '"310103{seconds}{seconds}"', "wire_commands[0].start", "more than one hole"),
        ('"31010301{seconds}"', '"31010301{bar}"', "wire_commands[0].start", "not bytes"),
        ('"31010301{seconds}"', '"310103010{seconds}0"', "wire_commands[0].start", "middle of a byte"),
        ('"7A0"', '"8A0"', "address.request", "11 bits"),
        ('"7001"', '"701"', "conditions[1].identifier", "no identifier"),
        ('"denominator": 10', '"denominator": 0', "conditions[1].denominator", "divide"),
        ('"unit": "km/h"', '"numerator": 0', "conditions[0].numerator", "every value 0"),
        ('"name": "gear"', '"name": "speed"', "conditions[2].name", "stands twice"),
        ('"words"', '"word"', "wire_commands[0].word", "unknown field `word`"),
        ('"identification"', '"identity": 3, "identification"', "identity", "unknown field `identity`"),
        ('"witnessmark-map/1"', '"witnessmark-map/9"', "format", "witnessmark-map/9"),
    ],
)
def test_a_mistake_is_named_with_its_line_and_key(old: str, new: str, key: str, says: str) -> None:
    text = edited(old, new)
    with pytest.raises(InputError) as caught:
        from_text(text, file="unit.json")
    line = 1 + TEXT[: TEXT.index(old)].count("\n")
    where, _, named = caught.value.place.partition(", ")
    assert named == key and says in caught.value.what and caught.value.hint
    assert where == f"unit.json line {line}"


def test_a_missing_key_is_named_with_the_line_of_its_object() -> None:
    with pytest.raises(InputError, match="missing required field `longest_s`") as caught:
        from_text(edited('"longest_s": 20,', ""), file="unit.json")
    line = TEXT[: TEXT.index('"id": "pump"')].count("\n")
    assert caught.value.place == f"unit.json line {line}, wire_commands[0]"


def test_what_was_heard_from_another_tester_is_not_called_published() -> None:
    for heard in ('"observed": {"runs": 1, "ended": 1}', '"evidence": {"how": "heard"}'):
        with pytest.raises(InputError, match="called published"):
            from_text(edited('"cool_down_s": 15', f'"cool_down_s": 15, {heard}'))
        from_text(edited('"cool_down_s": 15', f'"cool_down_s": 15, "origin": "learned", {heard}'))


def test_what_keeps_a_session_is_tester_present_or_a_request_that_reads() -> None:
    timing = '"timing": {"keep_alive": "%s"}, "identification"'
    assert from_text(edited('"identification"', timing % "3E02")).timing.keep_alive == "3E02"
    for bad in ("31010301", "3e02", "0104"):
        with pytest.raises(InputError, match="keeps a session") as caught:
            from_text(edited('"identification"', timing % bad))
        assert caught.value.place.endswith("timing.keep_alive") and "3E80" in caught.value.hint


def test_text_that_is_not_json_names_its_line() -> None:
    with pytest.raises(InputError, match="not JSON") as caught:
        from_text(edited('"id": "unit",', '"id": "unit"'), file="unit.json")
    assert caught.value.place == "unit.json line 4"


def test_a_key_that_stands_twice_is_refused() -> None:
    with pytest.raises(InputError, match="stands twice"):
        from_text(edited('"id": "unit",', '"id": "unit", "id": "other",'))


@pytest.mark.parametrize("document", ["[]", '"x"', "12", "null", "{}", "[" * 5000])
def test_anything_else_is_refused_with_a_hint(document: str) -> None:
    with pytest.raises(InputError) as caught:
        from_text(document)
    assert caught.value.hint


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        load(tmp_path / "none.json")


FACTS = {
    "sessions": [{"session": 3, "answer": "refused", "code": "22", "evidence": {"how": "probed"}}],
    "services": [{"service": "22", "codes": {"31": 2}, "sub_functions": ["01"], "evidence": {"how": "probed"}}],
    "identifiers": [
        {"service": "22", "identifier": "F190", "value": "3031", "length": 2, "values": 1,
         "evidence": {"how": "heard", "digest": "ab" * 32, "first_ns": "17"}},
    ],
    "codes": [{"request": "1902FF", "bytes_per_code": 3, "evidence": {"how": "probed"}}],
}  # fmt: skip
WRONG: list[tuple[tuple[str | int, ...], object]] = [
    (("sessions", 0, "session"), 999), (("sessions", 0, "code"), "zz"), (("services", 0, "service"), "?"),
    (("services", 0, "codes"), {"xx": 1}), (("services", 0, "sub_functions"), ["1"]),
    (("identifiers", 0, "service"), "222"), (("identifiers", 0, "identifier"), "F1"),
    (("identifiers", 0, "value"), "303g"), (("identifiers", 0, "length"), 3), (("identifiers", 0, "code"), "x"),
    (("identifiers", 0, "evidence"), {"how": "heard", "digest": "ab"}),
    (("identifiers", 0, "evidence"), {"how": "heard", "last_ns": "soon"}), (("codes", 0, "request"), "190"),
]  # fmt: skip


SPREAD = {"count": 4, "least_us": 900, "median_us": 1000, "p95_us": 1500, "most_us": 1500}
OBSERVED = {"runs": 3, "ended": 2, "shortest_ms": 4000, "longest_ms": 8000, "seconds": [4, 8]}
MEASURED = {
    **FACTS,
    "habits": {"answer": SPREAD, "pending": 2, "pending_most": 1},
    "candidates": [{"id": "31-7310", "start": "31017310{seconds}", "observed": OBSERVED, "evidence": {"how": "heard"}}],
}
UNMEASURABLE: list[tuple[str, object]] = [
    ("services[0].asked", -1), ("services[0].codes.31", -2), ("identifiers[0].values", -1),
    ("codes[0].bytes_per_code", 0), ("habits.pending", -1), ("habits.answer.count", 0),
    ("habits.answer.least_us", 1200), ("candidates[0].observed.runs", -1), ("candidates[0].observed.ended", 4),
    ("candidates[0].observed.shortest_ms", 9000), ("candidates[0].observed.seconds[1]", 256),
    ("wire_commands[0].longest_s", 3601), ("wire_commands[0].cool_down_s", 86_401),
    ("wire_commands[0].observed.ended", 4),
]  # fmt: skip


def measured() -> dict[str, Any]:
    document: dict[str, Any] = json.loads(json.dumps({**MAP, **MEASURED}))
    document["wire_commands"][0] |= {"origin": "learned", "observed": dict(OBSERVED)}
    return document


def test_counts_and_times_that_can_be_measured_are_taken() -> None:
    assert from_text(json.dumps(measured())).habits is not None


@pytest.mark.parametrize(("path", "value"), UNMEASURABLE, ids=[path for path, _ in UNMEASURABLE])
def test_what_nobody_can_have_measured_is_refused_with_its_line_and_key(path: str, value: object) -> None:
    document = measured()
    part: Any = document
    *way, last = [int(one) if one.isdigit() and one != "31" else one for one in re.findall(r"[^.\[\]]+", path)]
    for step in way:
        part = part[step]
    part[last] = value
    with pytest.raises(InputError) as error:
        from_text(json.dumps(document, indent=1), file="unit.json")
    assert str(error.value.place).endswith(path) and "line" in str(error.value.place) and error.value.hint


def test_facts_in_their_form_are_taken() -> None:
    assert from_text(json.dumps({**MAP, **FACTS})).identifiers[0].value == "3031"


@pytest.mark.parametrize(("path", "value"), WRONG, ids=str)
def test_a_fact_that_cannot_be_is_refused_with_its_line_and_key(path: tuple[str | int, ...], value: object) -> None:
    document = json.loads(json.dumps({**MAP, **FACTS}))
    part = document
    for step in path[:-1]:
        part = part[step]
    part[path[-1]] = value
    with pytest.raises(InputError) as error:
        from_text(json.dumps(document, indent=1), file="unit.json")
    assert f"{path[0]}[0].{path[2]}" in str(error.value.place) and "line" in str(error.value.place)


@pytest.mark.parametrize(
    ("functional", "key"),
    [
        ({"request": "7D"}, "request"), ({"request": "7DF", "bits": 5}, "bits"),
        ({"request": "7DF", "asked": {"?": 1}}, "asked"),
    ],
)  # fmt: skip
def test_a_functional_address_that_cannot_be_is_refused(functional: dict[str, object], key: str) -> None:
    document = {
        "format": "witnessmark-vehicle-map/1",
        "id": "a",
        "title": "a",
        "source": "a",
        "functional": [functional],
    }
    with pytest.raises(InputError) as error:
        vehicle_from_text(json.dumps(document))
    assert f"functional[0].{key}" in str(error.value.place)
