"""Segmentation at frame size 8 against scapy's `ISOTP(...).fragment()`, which writes the shortest frames."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scapy.config import conf

conf.contribs["ISOTP"] = {"use-can-isotp-kernel-module": False}  # said before the import, or it warns
from scapy.contrib.isotp import ISOTP, ISOTPMessageBuilder  # noqa: E402
from scapy.layers.can import CAN  # noqa: E402
from tests.wire.isotp_pair import pair  # noqa: E402

from witnessmark.wire.isotp import Message, PassiveReassembler, Settings  # noqa: E402


def our_frames(payload: bytes) -> list[bytes]:
    wire = pair(near=Settings(padding=None))
    wire.near.send(payload, 0)
    wire.run()
    return [data for _, who, data in wire.frames if who == "near"]


def their_frames(payload: bytes) -> list[bytes]:
    return [bytes(frame.data) for frame in ISOTP(payload, tx_id=0x7E0, rx_id=0x7E8).fragment()]


@given(st.binary(min_size=1, max_size=300))
def test_any_short_message_has_the_same_frames(payload: bytes) -> None:
    assert our_frames(payload) == their_frames(payload)


@pytest.mark.parametrize("length", [1, 7, 8, 13, 14, 1000, 4094, 4095, 4096, 5000])
def test_lengths_at_the_edges_have_the_same_frames(length: int) -> None:
    payload = bytes(i % 253 for i in range(length))
    assert our_frames(payload) == their_frames(payload)


@given(st.lists(st.binary(min_size=1, max_size=60), min_size=1, max_size=5))
def test_what_we_read_passively_is_what_its_builder_reads(payloads: list[bytes]) -> None:
    builder, reassembler, ours = ISOTPMessageBuilder(use_ext_address=False), PassiveReassembler(), []
    for stamp_ns, data in enumerate(data for payload in payloads for data in our_frames(payload)):
        builder.feed(CAN(identifier=0x7E0, data=data))
        ours += [one.payload for one in reassembler.feed(0x7E0, data, stamp_ns) if isinstance(one, Message)]
    theirs = [bytes(builder.pop().data) for _ in range(len(builder))]
    assert ours == theirs == payloads


def test_its_builder_splices_frames_of_two_messages_where_9_8_3_ends_the_first() -> None:
    begun = our_frames(bytes(range(20)))[:2]
    later = our_frames(bytes(range(100, 120)))[2]  # the frames before it are lost
    builder, reassembler, ours = ISOTPMessageBuilder(use_ext_address=False), PassiveReassembler(), []
    for data in [*begun, bytes.fromhex("023e00"), later]:
        builder.feed(CAN(identifier=0x7E0, data=data))
        ours += reassembler.feed(0x7E0, data, 0)
    assert [getattr(one, "reason", "whole") for one in ours] == ["interrupted_by_sf", "whole"]
    theirs = [bytes(builder.pop().data) for _ in range(len(builder))]
    assert theirs == [b"\x3e\x00", bytes(range(13)) + bytes(range(113, 120))]
