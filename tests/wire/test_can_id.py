"""Identifiers of ISO 15765-4 and of the 29-bit forms of ISO 15765-2."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.wire.can_id import (
    FUNCTIONAL_11,
    FUNCTIONAL_29,
    FixedId,
    is_answer_to_functional,
    is_functional,
    partner,
    standard_requests,
    take_apart,
)
from witnessmark.wire.isotp import Address


@pytest.mark.parametrize(
    ("request_id", "answer_id", "extended"),
    [  # ISO 15765-4: secondary page for 11 bits, from memory for 29
        (0x7E0, 0x7E8, False),
        (0x7E7, 0x7EF, False),
        (0x18DA10F1, 0x18DAF110, True),
        (0x18DAFFF1, 0x18DAF1FF, True),
        (0x18CE28F1, 0x18CEF128, True),
    ],
)
def test_request_and_answer_are_partners(request_id: int, answer_id: int, extended: bool) -> None:
    assert partner(request_id, extended) == answer_id
    assert partner(answer_id, extended) == request_id


@pytest.mark.parametrize(
    ("can_id", "extended"),
    [(0x7DF, False), (0x79B, False), (0x7F0, False), (0x7E0, True), (0x18DB33F1, True), (0x19DA10F1, True)],
)
def test_an_identifier_that_no_standard_pairs_has_no_partner(can_id: int, extended: bool) -> None:
    assert partner(can_id, extended) is None


def test_functional_identifiers_are_known_by_their_length_too() -> None:
    assert is_functional(FUNCTIONAL_11) and is_functional(FUNCTIONAL_29, extended=True)
    assert not is_functional(FUNCTIONAL_29) and not is_functional(FUNCTIONAL_11, extended=True)
    assert not is_functional(0x18DA33F1, extended=True)


def test_many_may_answer_a_functional_request() -> None:
    assert [can_id for can_id in range(0x800) if is_answer_to_functional(0x7DF, can_id)] == list(range(0x7E8, 0x7F0))
    assert is_answer_to_functional(FUNCTIONAL_29, 0x18DAF128, extended=True)
    assert not is_answer_to_functional(FUNCTIONAL_29, 0x18DAF228, extended=True)
    assert not is_answer_to_functional(FUNCTIONAL_29, 0x18CEF128, extended=True)
    assert not is_answer_to_functional(FUNCTIONAL_29, 0x123, extended=True)
    assert not is_answer_to_functional(0x7E0, 0x7E8)


@given(st.integers(0, 255), st.integers(0, 255), st.booleans(), st.booleans())
def test_an_identifier_comes_apart_into_what_it_was_made_of(
    target: int, source: int, functional: bool, mixed: bool
) -> None:
    if mixed:
        address = Address.mixed_29(target, source, 0x99, functional=functional)
    else:
        address = Address.normal_fixed(target, source, functional=functional)
    assert take_apart(address.tx_id) == FixedId(6, target, source, functional, mixed)
    assert partner(address.tx_id, extended=True) == (None if functional else address.rx_id)


def test_the_standard_requests_all_have_an_answer() -> None:
    assert standard_requests() == tuple(range(0x7E0, 0x7E8))
    assert len({partner(can_id, True) for can_id in standard_requests(extended=True)} - {None}) == 256
