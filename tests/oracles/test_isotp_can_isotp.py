"""ISO 15765-2 against can-isotp 2.0.7 (`TransportLayerLogic`), both directions; and where it leaves the standard.

Each place where can-isotp is known to differ has a test of its own that names the clause of ISO 15765-2:2016. The
wording of clauses 9.6.2 and 9.6.3 is from memory.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.oracles.can_isotp_peer import MODES, Duel, shared_clock

from witnessmark.wire.isotp import Failed, Ignored, Received, Sent, Settings

PAYLOADS = st.one_of(
    st.binary(min_size=1, max_size=100),
    st.builds(lambda n, k: bytes((i * k) & 0xFF for i in range(n)), st.integers(1, 4095), st.integers(1, 255)),
)
SIZES = st.sampled_from([8, 64])
NAMES = st.sampled_from(sorted(MODES))
BLOCKS = st.integers(0, 255)
GAPS = st.one_of(st.integers(0, 0x7F), st.integers(0xF1, 0xF9))
PADDING = st.sampled_from([None, 0x00, 0xCC])


def params(tx_dl: int, padding: int | None, block_size: int = 0, st_min: int = 0) -> dict[str, Any]:
    """The parameters of theirs that mean the same as settings of ours."""
    return {
        "tx_data_length": tx_dl,
        "can_fd": tx_dl > 8,
        "tx_padding": padding,
        "tx_data_min_length": None if padding is None else 8,
        "blocksize": block_size,
        "stmin": st_min,
    }


@given(PAYLOADS, NAMES, SIZES, BLOCKS, GAPS, PADDING)
def test_it_receives_what_we_send(
    payload: bytes, name: str, size: int, block_size: int, st_min: int, padding: int | None
) -> None:
    with shared_clock() as clock:
        settings = Settings(tx_dl=size, fd=size > 8, padding=padding)
        duel = Duel(clock, name, settings, params(size, padding, block_size, st_min))
        duel.ours.send(payload, 0)
        duel.run()
        assert duel.received() == [payload]
        assert [type(told) for told in duel.told] == [Sent]
        assert duel.errors == []


@given(PAYLOADS, NAMES, SIZES, BLOCKS, GAPS, PADDING)
def test_we_receive_what_it_sends_and_send_the_same_frames_ourselves(
    payload: bytes, name: str, size: int, block_size: int, st_min: int, padding: int | None
) -> None:
    with shared_clock() as clock:
        settings = Settings(tx_dl=size, fd=size > 8, padding=padding, block_size=block_size, st_min=st_min)
        duel = Duel(clock, name, settings, params(size, padding, block_size, st_min))
        duel.theirs.send(payload)
        duel.run()
        assert [told.payload for told in duel.told if isinstance(told, Received)] == [payload]
        assert not any(isinstance(told, Failed | Ignored) for told in duel.told)
        assert duel.errors == []
    with shared_clock() as clock:
        mirrored = Duel(clock, name, settings, params(size, padding, block_size, st_min))
        mirrored.ours.send(payload, 0)
        mirrored.run()
    swap = {"ours": "theirs", "theirs": "ours"}
    prefix = 0 if mirrored.ours.address.tx_ext is None else 1
    assert [(swap[who], data[prefix:]) for who, data in mirrored.frames] == [
        (who, data[prefix:]) for who, data in duel.frames
    ]


@pytest.mark.parametrize("length", [4096, 9000])
@pytest.mark.parametrize("size", [8, 64])
def test_messages_above_4095_bytes_go_both_ways(length: int, size: int) -> None:
    payload = bytes(i % 251 for i in range(length))
    with shared_clock() as clock:
        duel = Duel(clock, settings=Settings(tx_dl=size, fd=size > 8), params=params(size, 0xCC))
        duel.ours.send(payload, 0)
        duel.run()
        duel.theirs.send(payload)
        duel.run()
        assert duel.received() == [payload]
        assert duel.told[-1].payload == payload


FIRST = bytes.fromhex("1014010203040506")
FRAMES = [
    FIRST,
    bytes.fromhex("100a313233343536"),
    *(bytes((0x20 | n, *range(7))) for n in range(1, 5)),
    bytes.fromhex("023e00"),
    bytes.fromhex("0722f190f191f192"),
    bytes.fromhex("300000"),
]


@given(st.lists(st.sampled_from(FRAMES), max_size=14), st.sampled_from([0, 1, 2]))
def test_valid_frames_in_any_order_come_to_the_same_messages(frames: list[bytes], block_size: int) -> None:
    with shared_clock() as clock:
        duel = Duel(clock, params={"blocksize": block_size})
        judge = Duel(clock, settings=Settings(padding=None, block_size=block_size))
        ours: list[bytes] = []
        for data in frames:
            judge.told += judge.ours.receive(data, 0)
            judge.ours.outgoing(0)
            duel.give(data)
        ours = [told.payload for told in judge.told if isinstance(told, Received)]
        assert ours == duel.received()


def test_a_reception_whose_consecutive_frame_does_not_come_ends_on_both_sides() -> None:
    with shared_clock() as clock:
        duel = Duel(clock)
        duel.give(FIRST)
        duel.ours.receive(FIRST, 0)
        duel.ours.outgoing(0)
        clock.now_ns = 1_000_000_001  # N_Cr 1000 ms; can-isotp wants it exceeded
        duel.theirs.process()
        assert [type(error).__name__ for error in duel.errors] == ["ConsecutiveFrameTimeoutError"]
        assert [told.reason for told in duel.ours.tick(clock.now_ns)] == ["n_timeout_cr"]


# Where can-isotp leaves the standard.


def both(*frames: str) -> tuple[list[bytes], list[Any]]:
    """What can-isotp receives from these frames, and what we tell of them."""
    with shared_clock() as clock:
        duel = Duel(clock)
        for text in frames:
            data = bytes.fromhex(text)
            duel.told += duel.ours.receive(data, 0)
            duel.ours.outgoing(0)
            duel.give(data)
        return duel.received(), duel.told


def test_it_takes_the_escape_length_in_eight_bytes_which_9_6_2_has_only_above_eight() -> None:
    theirs, ours = both("00 05 01 02 03 04 05 00")
    assert theirs == [bytes.fromhex("0102030405")]
    assert [told.reason for told in ours] == ["sf_length_zero"]


def test_it_takes_a_first_frame_that_fits_a_single_frame_which_9_6_3_ignores() -> None:
    theirs, ours = both("10 07 01 02 03 04 05 06", "21 07")
    assert theirs == [bytes(range(1, 8))]
    assert [told.reason for told in ours] == ["ff_fits_single", "unexpected_cf"]


def test_it_takes_a_needless_escape_in_a_first_frame_which_9_6_3_ignores() -> None:
    theirs, ours = both("10 00 00 00 00 08 01 02", "21 03 04 05 06 07 08 00")
    assert theirs == [bytes(range(1, 9))]
    assert [told.reason for told in ours] == ["ff_needless_escape", "unexpected_cf"]


def test_it_splices_a_short_middle_frame_which_9_6_4_ignores() -> None:
    theirs, ours = both("10 14 01 02 03 04 05 06", "21 07 08", "22 09 0a 0b 0c 0d 0e 0f", "23 10 11 12 13 14")
    assert theirs == [bytes(range(1, 21))]
    assert [getattr(told, "reason", "") for told in ours] == ["", "cf_length", "wrong_sn", "unexpected_cf"]


def test_it_ends_a_reception_at_an_unknown_frame_type_which_9_8_3_ignores() -> None:
    theirs, ours = both("10 0a 01 02 03 04 05 06", "40 00", "21 07 08 09 0a")
    assert theirs == []
    assert ours[-1].payload == bytes(range(1, 11))


def test_it_ends_a_transmission_at_a_reserved_stmin_which_9_6_5_5_reads_as_127_ms() -> None:
    with shared_clock() as clock:
        duel = Duel(clock)
        duel.theirs.send(bytes(20))
        duel.theirs.process()
        duel.give(bytes.fromhex("300080"))
        assert [type(error).__name__ for error in duel.errors] == ["InvalidCanDataError"]
        duel.ours.send(bytes(20), 0)
        duel.ours.outgoing(0)
        assert duel.ours.receive(bytes.fromhex("300080"), 0) == []
        assert len(duel.ours.outgoing(0)) == 1
        assert duel.ours.deadline_ns() == 127_000_000
