"""Requests and answers built."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError, PeerError
from witnessmark.wire.obd import messages
from witnessmark.wire.obd.decode import decode
from witnessmark.wire.obd.services import Mode

VIN = "1M8GDM9AXKP042788"


def test_requests_are_the_bytes_of_the_standard():
    # SAE J1979, from memory.
    assert messages.current_data(0x0C, 0x0D) == bytes.fromhex("010C0D")
    assert messages.freeze_frame(0x0C) == bytes.fromhex("020C00")
    assert messages.codes() == b"\x03"
    assert messages.codes(Mode.PENDING_CODES) == b"\x07"
    assert messages.codes(Mode.PERMANENT_CODES) == b"\x0a"
    assert messages.clear() == b"\x04"
    assert messages.monitor_tests(0x01) == bytes.fromhex("0601")
    assert messages.vin() == bytes.fromhex("0902")


@pytest.mark.parametrize(
    "build",
    [
        lambda: messages.current_data(),
        lambda: messages.current_data(*range(7)),
        lambda: messages.current_data(0x100),
        lambda: messages.codes(0x01),
        lambda: messages.codes_answer([b"\x01\x02\x03"]),
        lambda: messages.vin_answer("short"),
    ],
)
def test_a_value_out_of_range_is_refused(build):
    with pytest.raises(InputError):
        build()


@given(st.lists(st.binary(min_size=2, max_size=2), max_size=20), st.sampled_from(messages.CODE_MODES))
def test_codes_are_read_back(codes, mode):
    read = decode(messages.codes_answer(codes, mode))
    assert read.values("DTC") == tuple(int.from_bytes(code, "big") for code in codes)
    assert (read.value("numberOfDTC"), read.problem) == (len(codes), "")


def test_parameters_are_read_back():
    read = decode(messages.current_data_answer({0x0C: b"\x1a\xf8", 0x0D: b"\x32"}))
    assert read.values("data") == (1726.0, 50.0)


def test_the_vin_is_read_from_one_message_or_from_five_in_any_order():
    assert messages.read_vin([messages.vin_answer(VIN)]) == VIN
    # ISO 14230 and ISO 9141 (SAE J1979, from memory): five messages of four bytes, three zeros before the first letter.
    padded = b"\0\0\0" + VIN.encode()
    parts = [b"\x49\x02" + bytes((n + 1,)) + padded[4 * n : 4 * n + 4] for n in range(5)]
    assert messages.read_vin(parts) == VIN
    assert messages.read_vin(reversed(parts)) == VIN


@pytest.mark.parametrize("answers", [[], ["4902"], ["7F0912"], ["490201414243"], ["490201FF"]])
def test_what_is_no_vin_is_said_to_be_none(answers):
    with pytest.raises(PeerError) as caught:
        messages.read_vin([bytes.fromhex(answer) for answer in answers])
    assert caught.value.reason == "not_a_vin"


def test_codes_are_read_back_from_the_answer_that_carries_them() -> None:
    codes = (b"\x01\x28", b"\xc1\x00")
    assert messages.read_codes(messages.codes_answer(codes)) == codes
    assert messages.read_codes(b"\x43\x00") == ()


@pytest.mark.parametrize("answer", ["", "43", "4301", "430101", "43020128", "4301012800", "7F0311", "42000128"])
def test_an_answer_whose_count_is_not_that_of_its_codes_is_refused(answer: str) -> None:
    with pytest.raises(PeerError, match="trouble codes"):
        messages.read_codes(bytes.fromhex(answer))
