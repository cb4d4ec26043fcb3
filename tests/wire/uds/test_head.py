"""The head of a message: the facts that pair requests and answers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import PeerError
from witnessmark.wire.uds.head import Head, head


@pytest.mark.parametrize(
    ("payload", "expected"),
    [
        ("3E80", Head(0x3E, sub_function=0, suppress=True)),
        ("1003", Head(0x10, sub_function=3)),
        ("5003003201F4", Head(0x10, is_response=True, sub_function=3)),
        ("22F190F187", Head(0x22, identifier=0xF190)),
        ("62F19041", Head(0x22, is_response=True, identifier=0xF190)),
        ("3181020301", Head(0x31, sub_function=1, suppress=True, identifier=0x0203)),
        ("71010203", Head(0x31, is_response=True, sub_function=1, identifier=0x0203)),
        ("2FD00103", Head(0x2F, identifier=0xD001)),
        ("2C83F300", Head(0x2C, sub_function=3, suppress=True, identifier=0xF300)),
        ("8783", Head(0x87, sub_function=3, suppress=True)),
        ("C703", Head(0x87, is_response=True, sub_function=3)),
        ("A9", Head(0xA9)),
        ("2903", Head(0x29, sub_function=3)),
        ("14FFFFFF", Head(0x14)),
        ("54", Head(0x14, is_response=True)),
        ("C502", Head(0x85, is_response=True, sub_function=2)),
        ("7F3178", Head(0x31, is_response=True, negative=True, response_code=0x78)),
        ("7F317800", Head(0x31, is_response=True, negative=True, response_code=0x78)),
        ("0902", Head(0x09, identifier=2)),
        ("2101", Head(0x21, identifier=1)),
    ],
)
def test_a_head_holds_the_facts_by_which_messages_are_paired(payload, expected):
    assert head(bytes.fromhex(payload)) == expected


@pytest.mark.parametrize("payload", ["10", "19", "31", "22", "22F1", "3101", "310102", "62F1"])
def test_a_message_that_ends_early_has_no_identifier_and_raises_nothing(payload):
    read = head(bytes.fromhex(payload))
    assert read.identifier is None
    assert read.service == bytes.fromhex(payload)[0] & 0xBF


@pytest.mark.parametrize(("payload", "reason"), [("", "empty"), ("7F", "short_negative"), ("7F31", "short_negative")])
def test_bytes_that_cannot_be_read_raise_with_their_reason_and_are_kept(payload, reason):
    with pytest.raises(PeerError) as caught:
        head(bytes.fromhex(payload))
    assert caught.value.reason == reason
    assert caught.value.raw == bytes.fromhex(payload)


@given(st.binary(max_size=12))
def test_any_bytes_give_a_head_or_a_peer_error(payload):
    try:
        read = head(payload)
    except PeerError as error:
        assert error.raw == payload
        return
    assert read.is_response == bool(payload[0] & 0x40)
    assert not (read.is_response and read.suppress)
