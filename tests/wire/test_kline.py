"""K-line headers, lengths and sums."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import LocalError, PeerError
from witnessmark.wire.kline import (
    Broken,
    KeyBytes,
    Message,
    Stream,
    checksum,
    decode,
    encode,
    encode_exception,
    read_key_bytes,
)

START = bytes.fromhex("c133f18166")  # published: start of communication after fast initialisation
ANSWERS = [bytes.fromhex("83f111c18fefc4"), bytes.fromhex("83f110c1e98fbd")]  # published
BYTE = st.integers(0, 255)
DATA = st.binary(min_size=1, max_size=255)
ADDRESSES = st.none() | st.tuples(BYTE, BYTE, st.booleans())


def build(data: bytes, addresses: tuple[int, int, bool] | None, length_byte: bool) -> bytes:
    if addresses is None:
        return encode(data, length_byte=length_byte)
    target, source, functional = addresses
    return encode(data, target=target, source=source, functional=functional, length_byte=length_byte)


MESSAGES = st.builds(build, DATA, ADDRESSES, st.booleans())


def test_published_messages_read_and_write() -> None:
    assert decode(START) == Message(0xC1, 0x33, 0xF1, b"\x81", START)
    assert encode(b"\x81", target=0x33, source=0xF1, functional=True) == START
    assert [decode(raw).data.hex() for raw in ANSWERS] == ["c18fef", "c1e98f"]
    assert encode(bytes.fromhex("c18fef"), target=0xF1, source=0x11) == ANSWERS[0]


@pytest.mark.parametrize(
    ("raw", "form"), [("01 3e 3f", "none"), ("81 10 f1 3e c0", "physical"), ("c1 33 f1 81 66", "functional")]
)
def test_the_form_of_the_header_is_told(raw: str, form: str) -> None:
    assert decode(bytes.fromhex(raw)).form == form


def test_the_four_header_forms_are_those_of_the_standard() -> None:
    assert encode(b"\x3e").hex(" ") == "01 3e 3f"
    assert encode(b"\x3e", length_byte=True).hex(" ") == "00 01 3e 3f"
    assert encode(b"\x3e", target=0x10, source=0xF1).hex(" ") == "81 10 f1 3e c0"
    assert encode(b"\x3e", target=0x10, source=0xF1, length_byte=True).hex(" ") == "80 10 f1 01 3e c0"
    assert encode(bytes(63))[0] == 63
    assert encode(bytes(64))[:2] == bytes((0, 64))


@given(DATA, ADDRESSES, st.booleans())
def test_a_message_written_reads_back(data: bytes, addresses: Any, length_byte: bool) -> None:
    raw = build(data, addresses, length_byte)
    message = decode(raw)
    assert (message.data, message.raw) == (data, raw)
    assert (message.target, message.source) == (addresses[:2] if addresses else (None, None))


@given(st.lists(MESSAGES, max_size=5), MESSAGES, st.data())
def test_any_chunks_give_the_same_messages_and_keep_the_rest(
    raws: list[bytes], last: bytes, data: st.DataObject
) -> None:
    sent = b"".join(raws) + last[:-1]
    cuts = sorted(data.draw(st.sets(st.integers(0, len(sent)), max_size=8)))
    whole, chunked, bytewise = Stream(), Stream(), Stream()
    want = [decode(raw) for raw in raws]
    assert whole.feed(sent) == want
    assert [one for a, b in pairwise([0, *cuts, len(sent)]) for one in chunked.feed(sent[a:b])] == want
    assert [one for byte in sent for one in bytewise.feed(bytes((byte,)))] == want
    assert whole.rest == chunked.rest == bytewise.rest == last[:-1]
    assert whole.idle() == [Broken("incomplete", last[:-1])]
    assert whole.feed(START) == [decode(START)]


@given(MESSAGES, st.data())
def test_a_disturbed_byte_never_passes_as_another_message_of_the_same_length(raw: bytes, data: st.DataObject) -> None:
    at = data.draw(st.integers(1, len(raw) - 1))
    spoilt = bytearray(raw)
    spoilt[at] ^= data.draw(st.integers(1, 255))
    stream = Stream()
    found = [*stream.feed(bytes(spoilt)), *stream.idle()]
    assert not any(isinstance(one, Message) and one.raw == bytes(spoilt) for one in found)
    assert b"".join(one.raw for one in found) == bytes(spoilt)


def test_the_exception_form_ends_when_the_line_is_idle() -> None:
    request = bytes.fromhex("686af10100c4")  # ISO 9141-2, from memory
    assert encode_exception(0x68, 0x6A, 0xF1, b"\x01\x00") == request
    stream = Stream()
    assert [stream.feed(bytes((byte,))) for byte in request] == [[]] * 6
    assert stream.idle() == [Message(0x68, 0x6A, 0xF1, b"\x01\x00", request)]
    assert decode(request).form == "exception"
    assert stream.idle() == []


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "incomplete"),
        ("c133f181", "incomplete"),
        ("c133f18167", "checksum"),
        ("000000", "length_zero"),
        ("686af1c3", "exception_length"),
        ("486b10" + "00" * 8 + "c3", "exception_length"),  # eight bytes of data; seven are the most (from memory)
        ("686af10100c5", "checksum"),
        ("c133f1816600", "trailing"),
    ],
)
def test_what_is_no_message_has_a_reason_of_its_own(text: str, reason: str) -> None:
    raw = bytes.fromhex(text)
    with pytest.raises(PeerError) as caught:
        decode(raw)
    assert (caught.value.reason, caught.value.raw) == (reason, raw)


@pytest.mark.parametrize(
    "wrong",
    [
        {"data": b""},
        {"data": bytes(256)},
        {"data": b"\x3e", "target": 0x10},
        {"data": b"\x3e", "functional": True},
        {"data": b"\x3e", "target": 0x100, "source": 0xF1},
    ],
)
def test_a_message_that_cannot_be_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(LocalError):
        encode(wrong.pop("data"), **wrong)


@pytest.mark.parametrize(("header", "data"), [(0x81, b"\x01"), (0x68, b""), (0x68, bytes(8))])
def test_an_exception_message_that_cannot_be_is_refused(header: int, data: bytes) -> None:
    with pytest.raises(LocalError):
        encode_exception(header, 0x6A, 0xF1, data)


def test_key_bytes_say_which_headers_are_understood_in_either_order() -> None:
    every = KeyBytes(True, True, True, True, True)
    assert read_key_bytes(0xEF, 0x8F) == read_key_bytes(0x8F, 0xEF) == every
    assert read_key_bytes(0xE9, 0x8F) == KeyBytes(True, False, False, True, True)
    assert read_key_bytes(0x08, 0x08) is None


@pytest.mark.parametrize(("low", "normal"), [(0xD0, False), (0xE0, True), (0xF0, False), (0x80, False)])
def test_normal_timing_is_one_of_two_bits_that_exclude_each_other(low: int, normal: bool) -> None:
    # ISO 14230-2, 5.2.4.1, from memory: TP1 alone is normal timing, TP0 alone the extended one.
    assert read_key_bytes(low, 0x8F) == KeyBytes(False, False, False, False, normal)


@given(st.lists(st.binary(max_size=30), max_size=8))
def test_arbitrary_bytes_are_told_once_each(chunks: list[bytes]) -> None:
    stream = Stream()
    found = [one for chunk in chunks for one in stream.feed(chunk)]
    found += stream.idle()
    assert b"".join(one.raw for one in found) == b"".join(chunks)
    assert all(checksum(one.raw[:-1]) == one.raw[-1] for one in found if isinstance(one, Message))
