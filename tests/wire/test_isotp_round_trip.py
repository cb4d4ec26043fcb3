"""Whole messages between two endpoints."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.wire.isotp_pair import ADDRESSES, pair

from witnessmark.wire.isotp import FirstFrameSeen, Received, Sent, Settings


@given(
    payload=st.one_of(
        st.binary(min_size=1, max_size=80), st.integers(1, 6000).map(lambda n: bytes(i % 251 for i in range(n)))
    ),
    name=st.sampled_from(sorted(ADDRESSES)),
    block_size=st.integers(0, 255),
    st_min=st.integers(0, 255),
    padding=st.sampled_from([None, 0x00, 0xCC, 0xFF]),
    tx_dl=st.sampled_from([8, 12, 16, 20, 24, 32, 48, 64]),
)
def test_any_message_arrives_unchanged_under_any_setting(
    payload: bytes, name: str, block_size: int, st_min: int, padding: int | None, tx_dl: int
) -> None:
    wire = pair(
        ADDRESSES[name],
        Settings(padding=padding, tx_dl=tx_dl, fd=True),
        Settings(block_size=block_size, st_min=st_min, fd=True),
    )
    wire.near.send(payload, 0)
    wire.run()
    received = [told for told in wire.far_told if isinstance(told, Received)]
    assert [told.payload for told in received] == [payload]
    assert received[0].frames == tuple(data for _, who, data in wire.frames if who == "near")
    assert [type(told) for told in wire.near_told] == [Sent]
    assert [type(told) for told in wire.far_told if told not in received] in ([], [FirstFrameSeen])


@pytest.mark.parametrize("length", [4095, 4096, 100_000])
def test_the_first_frame_takes_the_escape_length_above_4095_bytes(length: int) -> None:
    wire = pair()
    wire.near.send(bytes(length), 0)
    wire.run()
    first = wire.frames[0][2]
    assert first[:6] == (b"\x1f\xff" + bytes(4) if length == 4095 else b"\x10\x00" + length.to_bytes(4, "big"))
    assert wire.far_told[-1].payload == bytes(length)


def test_both_sides_send_at_the_same_time() -> None:
    wire = pair(far=Settings(block_size=2, st_min=1))
    wire.near.send(bytes(range(200)), 0)
    wire.far.send(bytes(range(100)), 0)
    wire.run()
    assert [told.payload for told in wire.far_told if isinstance(told, Received)] == [bytes(range(200))]
    assert [told.payload for told in wire.near_told if isinstance(told, Received)] == [bytes(range(100))]
