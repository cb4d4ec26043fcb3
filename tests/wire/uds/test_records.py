"""Several records in one answer: told apart when only one way exists."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from witnessmark.wire.uds.records import split_records


def all_ways(body, identifiers):
    """Every way to split, the slow way: choose the places of all identifiers but the first."""
    marks = [number.to_bytes(2, "big") for number in identifiers]
    ways = []
    for places in combinations(range(1, len(body)), len(marks) - 1):
        starts = [0, *places]
        ends = [*places, len(body)]
        if all(
            body[start : start + 2] == mark and end - start >= 3
            for start, end, mark in zip(starts, ends, marks, strict=True)
        ):
            ways.append([(n, body[s + 2 : e]) for n, s, e in zip(identifiers, starts, ends, strict=True)])
    return ways


def test_records_between_their_identifiers_are_found():
    body = bytes.fromhex("F190 4142 1234 01")
    assert split_records(body, [0xF190, 0x1234]) == [(0xF190, b"\x41\x42"), (0x1234, b"\x01")]


def test_an_identifier_that_also_stands_in_a_record_leaves_nobody_sure():
    assert split_records(bytes.fromhex("F190 AA 1234 1234 01"), [0xF190, 0x1234]) is None


def test_an_identifier_left_out_by_the_control_unit_is_not_guessed():
    assert split_records(bytes.fromhex("F190 4142"), [0xF190, 0x1234]) is None
    assert split_records(bytes.fromhex("1234 4142"), [0xF190, 0x1234]) is None
    assert split_records(b"", [0xF190]) is None
    assert split_records(b"\xf1\x90\x41", []) is None


@given(
    st.lists(st.sampled_from([0, 1, 0x0101]), min_size=1, max_size=4), st.lists(st.sampled_from([0, 1]), max_size=14)
)
def test_the_quick_way_agrees_with_trying_every_way(identifiers, body):
    body = bytes(body)
    ways = all_ways(body, identifiers)
    assert split_records(body, identifiers) == (ways[0] if len(ways) == 1 else None)


def test_a_record_of_no_byte_is_no_record():
    assert split_records(bytes.fromhex("F190 1234 01"), [0xF190, 0x1234]) is None
    assert split_records(bytes.fromhex("F190 AA 1234"), [0xF190, 0x1234]) is None
