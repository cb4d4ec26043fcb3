"""ISO 13400-2 messages. Layouts: three general-purpose libraries agree on them; see also the oracle tests."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import LocalError, PeerError
from witnessmark.wire import doip

ADDRESS = st.integers(0, 0xFFFF)
BYTE = st.integers(0, 0xFF)
WORD = st.integers(0, 0xFFFFFFFF)
DATA = st.binary(max_size=40)
OEM = st.none() | WORD


def fixed(size: int) -> st.SearchStrategy[bytes]:
    return st.binary(min_size=size, max_size=size)


PAYLOADS = st.one_of(
    st.builds(doip.NegativeAcknowledge, BYTE),
    st.builds(doip.IdentificationRequest),
    st.builds(doip.IdentificationRequestEid, fixed(6)),
    st.builds(doip.IdentificationRequestVin, fixed(17)),
    st.builds(doip.Announcement, fixed(17), ADDRESS, fixed(6), fixed(6), BYTE, st.none() | BYTE),
    st.builds(doip.RoutingActivationRequest, ADDRESS, BYTE, WORD, OEM),
    st.builds(doip.RoutingActivationResponse, ADDRESS, ADDRESS, BYTE, WORD, OEM),
    st.builds(doip.AliveCheckRequest),
    st.builds(doip.AliveCheckResponse, ADDRESS),
    st.builds(doip.EntityStatusRequest),
    st.builds(doip.EntityStatusResponse, BYTE, BYTE, BYTE, OEM),
    st.builds(doip.PowerModeRequest),
    st.builds(doip.PowerModeResponse, BYTE),
    st.builds(doip.DiagnosticMessage, ADDRESS, ADDRESS, DATA),
    st.builds(doip.DiagnosticAck, ADDRESS, ADDRESS, BYTE, DATA),
    st.builds(doip.DiagnosticNack, ADDRESS, ADDRESS, BYTE, DATA),
    st.builds(doip.Unknown, st.just(0x7777), DATA),
)


@given(PAYLOADS, st.sampled_from([0x01, 0x02, 0x03, 0xFF]))
def test_a_payload_written_reads_back(payload: doip.Payload, version: int) -> None:
    raw = doip.encode(payload, version)
    assert doip.decode(raw) == doip.Message(version, doip.payload_type_of(payload), payload, raw)


def test_a_diagnostic_message_is_laid_out_as_in_the_standard() -> None:
    raw = doip.encode(doip.DiagnosticMessage(0x0E80, 0x4010, b"\x10\x03"))
    assert raw.hex(" ", 1) == "02 fd 80 01 00 00 00 06 0e 80 40 10 10 03"


def test_a_payload_of_unknown_type_stays_raw() -> None:
    assert doip.decode(bytes.fromhex("02fd777700000002abcd")).payload == doip.Unknown(0x7777, b"\xab\xcd")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("02fd0001000000", "header_short"),
        ("0202000100000000", "inverse_version"),
        ("02fd000100000001", "datagram_length"),
        ("02fd00010000000000", "datagram_length"),
        ("02fd000200000005 0102030405", "payload_length"),
        ("02fd800100000003 0e8040", "payload_length"),
        ("02fd000500000009 0e8000000000000000", "payload_length"),
    ],
)
def test_a_datagram_that_breaks_the_standard_has_a_reason_of_its_own(text: str, reason: str) -> None:
    raw = bytes.fromhex(text)
    with pytest.raises(PeerError) as caught:
        doip.decode(raw)
    assert (caught.value.reason, caught.value.raw) == (reason, raw)


WRONG_INVERSE = bytes.fromhex("0202000100000000")
WRONG_LENGTH = bytes.fromhex("02fd0008000000010e")
GOOD = doip.encode(doip.DiagnosticMessage(0x0E80, 0x4010, b"\x3e\x00"))


@given(st.lists(PAYLOADS.map(doip.encode) | st.sampled_from([WRONG_INVERSE, WRONG_LENGTH]), max_size=6), st.data())
def test_a_stream_gives_the_same_messages_in_any_chunks_and_keeps_the_rest(
    raws: list[bytes], data: st.DataObject
) -> None:
    sent = b"".join(raws) + GOOD[:-1]
    cuts = sorted(data.draw(st.sets(st.integers(0, len(sent)), max_size=8)))
    whole, chunked, bytewise = doip.Stream(), doip.Stream(), doip.Stream()
    want = whole.feed(sent)
    assert [one.raw for one in want] == raws
    assert [isinstance(one, doip.Refused) for one in want] == [raw in (WRONG_INVERSE, WRONG_LENGTH) for raw in raws]
    edges = [0, *cuts, len(sent)]
    assert [one for a, b in pairwise(edges) for one in chunked.feed(sent[a:b])] == want
    assert [one for byte in sent for one in bytewise.feed(bytes((byte,)))] == want
    assert whole.rest == chunked.rest == bytewise.rest == GOOD[:-1]


def test_refusals_say_what_answers_them_and_whether_the_connection_closes() -> None:
    assert doip.Stream().feed(WRONG_INVERSE + WRONG_LENGTH) == [
        doip.Refused("inverse_version", 0x00, True, WRONG_INVERSE),
        doip.Refused("payload_length", 0x04, True, WRONG_LENGTH),
    ]


@pytest.mark.parametrize("chunk", [1, 7, 100])
def test_a_message_beyond_our_room_is_stepped_over(chunk: int) -> None:
    stream = doip.Stream(max_length=10)
    large = doip.encode(doip.DiagnosticMessage(1, 2, bytes(50)))
    sent = large + GOOD
    found = [one for at in range(0, len(sent), chunk) for one in stream.feed(sent[at : at + chunk])]
    assert found == [doip.Refused("too_large", 0x02, False, large[:8]), doip.decode(GOOD)]


def test_a_message_that_just_fits_our_room_is_taken() -> None:
    assert doip.Stream(max_length=len(GOOD) - 8).feed(GOOD) == [doip.decode(GOOD)]


def test_the_port_and_the_defaults_of_a_request_are_those_of_the_standard() -> None:
    assert doip.PORT == 13400
    assert doip.encode(doip.IdentificationRequest(), doip.VERSION_ANY).hex() == "ff00000100000000"
    assert doip.ACTIVATION_TYPES.keys() == {0x00, 0x01, 0xE0}
    assert doip.encode(doip.RoutingActivationRequest(0x0E80, 0)).hex() == "02fd0005000000070e800000000000"


@pytest.mark.parametrize(
    "payload",
    [
        doip.IdentificationRequestVin(bytes(16)),
        doip.Announcement(bytes(17), 0, bytes(7), bytes(6), 0),
        doip.AliveCheckResponse(0x10000),
        doip.PowerModeResponse(-1),
    ],
)
def test_a_value_that_its_field_cannot_hold_is_refused(payload: doip.Payload) -> None:
    with pytest.raises(LocalError):
        doip.encode(payload)


def test_a_version_that_is_no_byte_is_refused() -> None:
    with pytest.raises(LocalError):
        doip.encode(doip.AliveCheckRequest(), version=0x100)


@given(st.binary(max_size=60))
def test_arbitrary_bytes_read_or_are_refused_by_name(data: bytes) -> None:
    try:
        assert doip.encode(doip.decode(data).payload, data[0]) == data
    except PeerError as error:
        assert error.reason and error.raw == data
    stream = doip.Stream(max_length=100)
    found = stream.feed(data)
    assert all(one.raw in data for one in found)
