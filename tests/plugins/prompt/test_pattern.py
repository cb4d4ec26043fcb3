"""Patterns: what can be written in a profile, read and written back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError
from witnessmark_prompt.pattern import FIELDS, parse_pattern


def read(text: str, line: str, gap: str = "") -> dict[str, str] | None:
    return parse_pattern(text, use="read", place="here", allowed=FIELDS, gap=gap).read(line)


def test_a_line_is_read_into_its_fields() -> None:
    assert read("heard {id:3} of {length}: {data}", "heard 6BB of 2: 0A0b") == {
        "id": "6BB",
        "length": "2",
        "data": "0A0b",
    }


@pytest.mark.parametrize(
    "line", ["heard 6BB of 2: 0A0B ", "Heard 6BB of 2: 0A", "heard 6B of 2: 0A", "heard 6BB of x: 0A"]
)
def test_another_line_is_not_read(line: str) -> None:
    assert read("heard {id:3} of {length}: {data}", line) is None


def test_text_of_a_manual_has_no_special_meaning() -> None:
    assert read("(a|b)* [x]+ . {data}", "(a|b)* [x]+ . FF") == {"data": "FF"}
    assert read("(a|b)* {data}", "aaa FF") is None


def test_a_blank_stands_for_several() -> None:
    assert read("a b {data}", "a   b  FF") == {"data": "FF"}


def test_fields_of_fixed_width_may_touch() -> None:
    assert read("{id:3}{length:1}{data}", "6BB2AABB") == {"id": "6BB", "length": "2", "data": "AABB"}


def test_bytes_may_stand_apart() -> None:
    pattern = parse_pattern("d {data}", use="read", place="here", allowed=FIELDS, gap=" ")
    fields = pattern.read("d 01 02 03")
    assert fields is not None
    assert pattern.payload(fields["data"]) == b"\x01\x02\x03"
    assert pattern.write({"data": b"\x01\x02"}) == "d 01 02"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("{identifier}", "{identifier} is not a field here"),
        ("{id} {id}", "field {id} stands twice"),
        ("{id}{data}", "{id} and {data} run into each other"),
        ("a {data", "a brace without its field"),
        ("{any} {any}", "field {any} stands twice"),
    ],
)
def test_a_wrong_pattern_says_what_is_wrong(text: str, what: str) -> None:
    with pytest.raises(InputError, match=r"^here: ") as error:
        read(text, "")
    assert what in error.value.what
    assert error.value.hint


@given(st.integers(0, 0x7FF), st.binary(max_size=8))
def test_what_is_written_is_read_back(can_id: int, data: bytes) -> None:
    text = "say {id:3} {length:2x}:{data}"
    writer = parse_pattern(text, use="write", place="here", allowed=FIELDS)
    reader = parse_pattern(text, use="read", place="here", allowed=FIELDS)
    fields = reader.read(writer.write({"id": can_id, "length": len(data), "data": data}))
    assert fields is not None
    assert reader.number("id", fields["id"]) == can_id
    assert reader.number("length", fields["length"]) == len(data)
    assert reader.payload(fields["data"]) == data
