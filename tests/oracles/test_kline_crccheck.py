"""The K-line sum against crccheck's Checksum8 (sum modulo 256). No library at hand frames ISO 14230."""

from __future__ import annotations

from crccheck.checksum import Checksum8
from hypothesis import given
from hypothesis import strategies as st
from tests.wire.test_kline import ANSWERS, MESSAGES, START

from witnessmark.wire.kline import checksum


@given(st.binary(max_size=300))
def test_the_sum_is_that_of_crccheck(data: bytes) -> None:
    assert checksum(data) == Checksum8.calc(data)


@given(MESSAGES)
def test_a_whole_message_of_ours_has_the_sum_that_crccheck_finds(raw: bytes) -> None:
    assert Checksum8.calc(raw[:-1]) == raw[-1]


def test_the_published_messages_have_the_sum_that_crccheck_finds() -> None:
    assert [Checksum8.calc(raw[:-1]) for raw in (START, *ANSWERS)] == [0x66, 0xC4, 0xBD]
