"""A probe can only read: by construction, whatever numbers it is given."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import LocalError
from witnessmark.mapping import read_request
from witnessmark.mapping.read_request import Accepted, ReadRequest, extended_session

ALLOWED = {0x10, 0x3E, 0x22, 0x19, 0x1A, 0x21, 0x01, 0x02, 0x03, 0x07, 0x09, 0x0A}
BUILDERS: list[Callable[..., ReadRequest]] = [
    one
    for name, one in inspect.getmembers(read_request, inspect.isfunction)
    if one.__module__ == read_request.__name__ and name != "extended_session"
]


def test_every_way_to_a_request_is_among_those_tried_here() -> None:
    assert {one.__name__ for one in BUILDERS} == {
        "default_session", "tester_present", "read", "codes", "code_count", "identification", "local", "current_data",
        "freeze_frame", "obd_codes", "vehicle_information",
    }  # fmt: skip


@pytest.mark.parametrize("build", BUILDERS, ids=lambda one: one.__name__)
@given(number=st.integers(-10, 0x1_0010))
def test_whatever_a_builder_is_given_only_a_reading_request_comes_out(
    build: Callable[..., ReadRequest], number: int
) -> None:
    numbers = [one for one in inspect.signature(build).parameters.values() if one.kind is not one.KEYWORD_ONLY]
    try:
        payload = build(*[number for _ in numbers]).payload
    except LocalError:
        return
    assert payload[0] in ALLOWED
    assert payload[0] != 0x10 or payload == b"\x10\x01"


def test_of_all_requests_of_one_and_two_bytes_only_these_exist() -> None:
    made = set()
    for size in (1, 2):
        for numbers in product(range(256), repeat=size):
            try:
                made.add(ReadRequest(bytes(numbers)).payload)
            except LocalError:
                pass
    assert {one for one in made if len(one) == 1} == {b"\x03", b"\x07", b"\x0a"}
    two = {one for one in made if len(one) == 2}
    assert {one for one in two if one[0] == 0x10} == {b"\x10\x01", b"\x10\x03"}
    assert {one for one in two if one[0] == 0x3E} == {b"\x3e\x00", b"\x3e\x80"}
    assert {one for one in two if one[0] == 0x19} == {b"\x19\x0a"}
    assert {one[0] for one in two} == {0x10, 0x3E, 0x19, 0x1A, 0x21, 0x01, 0x09}


@given(st.binary(max_size=12))
def test_bytes_of_any_other_form_are_refused(payload: bytes) -> None:
    try:
        ReadRequest(payload)
    except LocalError:
        return
    assert payload[0] in ALLOWED and len(payload) <= 3
    assert payload[0] != 0x10 or payload[1] in (1, 3)
    assert payload[0] != 0x19 or payload[1] in (1, 2, 0x0A)


@pytest.mark.parametrize(
    "payload",
    ["1002", "1081", "1083", "1101", "14FFFFFF", "2701", "2801", "2EF19001", "2F710103", "31017310", "3400", "3E01",
     "8501", "2C01", "2A01", "23", "22F190F187", "04", "0800", "0500", "0200", "020001", "1904", "1914",
     "20", "30", "3B"],
)  # fmt: skip
def test_what_acts_or_is_not_needed_cannot_be_made(payload: str) -> None:
    with pytest.raises(LocalError, match="only reads"):
        ReadRequest(bytes.fromhex(payload))


def test_the_extended_session_needs_the_caution_accepted_by_somebody() -> None:
    assert extended_session(Accepted("t-otter")).payload == b"\x10\x03"
    for nobody in (None, True, "yes", Accepted("")):
        with pytest.raises(LocalError, match="caution"):
            extended_session(nobody)  # type: ignore[arg-type]


def test_a_request_cannot_be_changed_afterwards() -> None:
    one = read_request.read(0xF190)
    with pytest.raises(AttributeError):
        one.payload = b"\x11\x01"  # type: ignore[misc]
