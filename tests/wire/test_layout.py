"""Layouts: read as far as the bytes go, say what is wrong, build back."""

import construct
import pytest
from construct import Bytes, Int8ub, Int16ub, this
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.wire.kwp import layouts as kwp
from witnessmark.wire.layout import Layout
from witnessmark.wire.uds import authentication_layouts, layouts, report_layouts

FIXED = Layout("kind" / Int8ub, "number" / Int16ub)
WITH_TAIL = Layout("kind" / Int8ub, tail="record")
WITH_RECORDS = Layout("kind" / Int8ub, records=("code" / Int16ub, "status" / Int8ub))
MEASURED = Layout("length" / Int8ub, "blob" / Bytes(this.length), "after" / Int8ub)
OPTIONAL = Layout("kind" / Int8ub, "number" / Int16ub, optional=1)


@pytest.mark.parametrize(
    ("layout", "body", "parts", "rest", "problem"),
    [
        (FIXED, "01 0203", [("kind", "01", 1), ("number", "0203", 0x0203)], "", ""),
        (FIXED, "01 0203 04", [("kind", "01", 1), ("number", "0203", 0x0203)], "04", "long"),
        (FIXED, "01 02", [("kind", "01", 1)], "02", "short"),
        (FIXED, "", [], "", "short"),
        (WITH_TAIL, "01", [("kind", "01", 1)], "", ""),
        (WITH_TAIL, "01 AA BB", [("kind", "01", 1), ("record", "AABB", b"\xaa\xbb")], "", ""),
        (WITH_RECORDS, "01", [("kind", "01", 1)], "", ""),
        (
            WITH_RECORDS,
            "01 0203 04 0506 07",
            [
                ("kind", "01", 1),
                ("code", "0203", 0x0203),
                ("status", "04", 4),
                ("code", "0506", 0x0506),
                ("status", "07", 7),
            ],
            "",
            "",
        ),
        (
            WITH_RECORDS,
            "01 0203 04 05",
            [("kind", "01", 1), ("code", "0203", 0x0203), ("status", "04", 4)],
            "05",
            "short",
        ),
        (MEASURED, "02 AABB 01", [("length", "02", 2), ("blob", "AABB", b"\xaa\xbb"), ("after", "01", 1)], "", ""),
        (MEASURED, "02 AA", [("length", "02", 2)], "AA", "short"),
        (MEASURED, "00 01", [("length", "00", 0), ("blob", "", b""), ("after", "01", 1)], "", ""),
        (OPTIONAL, "01", [("kind", "01", 1)], "", ""),
        (OPTIONAL, "01 02", [("kind", "01", 1)], "02", "short"),
        (OPTIONAL, "01 0203", [("kind", "01", 1), ("number", "0203", 0x0203)], "", ""),
    ],
)
def test_a_body_is_read_as_far_as_it_goes(layout, body, parts, rest, problem):
    read = layout.read(bytes.fromhex(body))
    assert read == ([(name, bytes.fromhex(raw), value) for name, raw, value in parts], bytes.fromhex(rest), problem)


def test_a_body_is_built_from_named_values():
    assert FIXED.build({"kind": 1, "number": 0x0203}) == bytes.fromhex("010203")
    assert WITH_TAIL.build({"kind": 1}, tail=b"\xaa") == bytes.fromhex("01AA")
    assert WITH_RECORDS.build({"kind": 1}, records=[{"code": 2, "status": 3}]) == bytes.fromhex("01000203")
    assert OPTIONAL.build({"kind": 1}) == b"\x01"


def test_a_required_value_that_is_missing_is_an_error_and_not_a_short_message():
    with pytest.raises(KeyError):
        FIXED.build({"kind": 1})


EVERY = [
    layout
    for family in (layouts, report_layouts, authentication_layouts, kwp)
    for table in (family.REQUESTS, family.ANSWERS)
    for layout in table.values()
]


@given(st.sampled_from(EVERY), st.binary(min_size=64, max_size=64))
def test_fixed_parameters_are_read_as_construct_itself_reads_them(layout, body):
    try:
        expected = construct.Struct(*layout.fields).parse(body)
    except construct.StreamError:
        return  # a length in the random bytes asks for more than there is
    parts, _, _ = layout.read(body)
    assert [(name, value) for name, _, value in parts[: len(layout.fields)]] == [
        (field.name, expected[field.name]) for field in layout.fields
    ]
    if layout.records:
        at = sum(len(raw) for _, raw, _ in parts[: len(layout.fields)])
        record = construct.Struct(*layout.records).parse(body[at:])
        first = parts[len(layout.fields) : len(layout.fields) + len(layout.records)]
        assert {name: value for name, _, value in first} == {field.name: record[field.name] for field in layout.records}
