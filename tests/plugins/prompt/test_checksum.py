"""Check sums against known values."""

from __future__ import annotations

import pytest
from crccheck.checksum import Checksum8, ChecksumXor8
from hypothesis import given
from hypothesis import strategies as st

from witnessmark_prompt.checksum import checksum


@given(st.binary(max_size=40))
def test_sums_agree_with_crccheck(data: bytes) -> None:
    # oracle: crccheck's Checksum8 and ChecksumXor8
    assert checksum("sum8", data) == Checksum8.calc(data)
    assert checksum("xor8", data) == ChecksumXor8.calc(data)
    assert (checksum("sum8", data) + checksum("twos8", data)) & 0xFF == 0


@pytest.mark.parametrize(("data", "value"), [(b"123456789", 0x29B1), (b"", 0xFFFF)])
def test_the_crc_gives_the_catalogues_check_value(data: bytes, value: int) -> None:
    # CRC-16 with polynomial 1021, start FFFF, not reflected: check value 29B1 (from memory)
    assert checksum("crc16", data) == value
