"""One N_PDU at a time. Values of the frame layouts: ISO 15765-2:2016, 9.6, as the Linux kernel's isotp.c has them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import LocalError, PeerError
from witnessmark.wire.isotp.pdu import (
    CAN_LENGTHS,
    ConsecutiveFrame,
    FirstFrame,
    FlowControl,
    Pdu,
    SingleFrame,
    encode,
    fill,
    parse,
    single_room,
    st_min_ns,
)

SEVEN = bytes(range(1, 8))
LAYOUTS: list[tuple[str, Pdu]] = [
    ("02 3e 00", SingleFrame(b"\x3e\x00")),
    ("07 01 02 03 04 05 06 07", SingleFrame(SEVEN)),
    ("10 14 01 02 03 04 05 06", FirstFrame(20, SEVEN[:6])),
    ("1f ff 01 02 03 04 05 06", FirstFrame(4095, SEVEN[:6])),
    ("10 00 00 00 10 00 01 02", FirstFrame(4096, SEVEN[:2])),
    ("21 01 02 03 04 05 06 07", ConsecutiveFrame(1, SEVEN)),
    ("20 01", ConsecutiveFrame(0, b"\x01")),
    ("30 08 14", FlowControl(0, 8, 0x14)),
    ("31 00 00", FlowControl(1, 0, 0)),
    ("32 00 00", FlowControl(2, 0, 0)),
]


@pytest.mark.parametrize(("text", "pdu"), LAYOUTS)
def test_a_frame_reads_and_writes_as_the_standard_lays_it_out(text: str, pdu: Pdu) -> None:
    data = bytes.fromhex(text)
    assert parse(data) == pdu
    assert encode(pdu) == data
    if len(data) < 8:
        assert parse(b"\x99" + data, ext=True) == pdu
        assert encode(pdu, prefix=b"\x99") == b"\x99" + data


def test_a_long_single_frame_has_the_escape_length() -> None:
    pdu = SingleFrame(bytes(range(20)))
    data = bytes.fromhex("00 14") + bytes(range(20)) + b"\xaa\xaa"
    assert encode(pdu, padding=0xAA) == data
    assert parse(data, fd=True) == pdu


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "empty"),
        ("21", "cf_empty"),
        ("30 00", "fc_short"),
        ("40 00", "unknown_pci"),
        ("f1 01 02", "unknown_pci"),
        ("00 05 01 02 03 04 05 00", "sf_length_zero"),  # the escape form exists above 8 bytes only
        ("00", "sf_length_zero"),
        ("05 01 02", "sf_length"),
        ("08 01 02 03 04 05 06 07", "sf_length"),
        ("10 14 01 02", "ff_short"),
        ("10 14 01 02 03 04 05", "ff_short"),
        ("10 07 01 02 03 04 05 06", "ff_fits_single"),
        ("10 00 00 00 0f ff 01 02", "ff_needless_escape"),
        ("02 01 02 00 00 00 00 00 00", "can_length"),  # no CAN frame has 9 bytes
        ("02 01 02 00 00 00 00 00 00 00 00 00", "sf_no_escape"),
        ("00 07 01 02 03 04 05 06 07 00 00 00", "sf_needless_escape"),
        ("00 0b 01 02 03 04 05 06 07 08 09 0a", "sf_length"),
        ("10 0a 01 02 03 04 05 06 07 08 09 0a", "ff_fits_single"),
    ],
)
def test_a_frame_that_a_receiver_has_to_ignore_has_a_reason_of_its_own(text: str, reason: str) -> None:
    data = bytes.fromhex(text)
    with pytest.raises(PeerError) as caught:
        parse(data, fd=True)
    assert (caught.value.reason, caught.value.raw) == (reason, data)


def test_bounds_move_by_one_behind_an_address_byte() -> None:
    assert parse(bytes.fromhex("99 10 07 01 02 03 04 05"), ext=True) == FirstFrame(7, SEVEN[:5])
    with pytest.raises(PeerError, match="fits a single frame"):
        parse(bytes.fromhex("99 10 06 01 02 03 04 05"), ext=True)
    assert parse(bytes.fromhex("99 00 07") + bytes(9), ext=True, fd=True) == SingleFrame(bytes(7))
    with pytest.raises(PeerError, match="escape length"):
        parse(bytes.fromhex("99 00 06") + bytes(9), ext=True, fd=True)
    with pytest.raises(PeerError, match="flow control"):
        parse(bytes.fromhex("99 30 00"), ext=True)


def test_more_than_eight_bytes_need_can_fd() -> None:
    data = encode(SingleFrame(bytes(20)))
    with pytest.raises(PeerError) as caught:
        parse(data)
    assert caught.value.reason == "can_length"


def test_separation_times_are_those_of_9_6_5_5() -> None:
    assert [st_min_ns(raw) for raw in (0x00, 0x01, 0x7F)] == [0, 1_000_000, 127_000_000]
    assert [st_min_ns(raw) for raw in range(0xF1, 0xFA)] == [100_000 * n for n in range(1, 10)]
    assert {st_min_ns(raw) for raw in (*range(0x80, 0xF1), *range(0xFA, 0x100))} == {127_000_000}


def test_padding_fills_to_eight_and_above_that_to_the_next_length_of_can_fd() -> None:
    assert fill(b"\x01\x3e", None) == b"\x01\x3e"
    assert fill(b"\x01\x3e", 0x55) == b"\x01\x3e" + b"\x55" * 6
    assert fill(bytes(9), None) == bytes(9) + b"\xcc" * 3
    assert [len(fill(bytes(size), None)) for size in range(65)] == [
        min(length for length in CAN_LENGTHS if length >= size) for size in range(65)
    ]
    with pytest.raises(LocalError):
        fill(bytes(65), None)


@pytest.mark.parametrize(("size", "ext", "room"), [(8, 0, 7), (8, 1, 6), (12, 0, 10), (64, 0, 62), (64, 1, 61)])
def test_a_single_frame_has_room_for_what_table_12_says(size: int, ext: int, room: int) -> None:
    assert single_room(size, ext) == room


@given(st.binary(max_size=70), st.booleans(), st.booleans())
def test_arbitrary_bytes_read_or_are_refused_by_name(data: bytes, ext: bool, fd: bool) -> None:
    try:
        pdu = parse(data, ext=ext, fd=fd)
    except PeerError as error:
        assert error.reason and error.raw == data
        return
    again = encode(pdu, prefix=data[:1] if ext else b"")
    assert data[: len(again)] == again or data[: len(again.rstrip(b"\xcc"))] == again.rstrip(b"\xcc")
