"""ISO 15765-2 on a live bus, our link and conversation on one side, can-isotp 2.0.7 (`CanStack`) on the other.

Payloads, block sizes, STmin and padding are drawn from a fixed seed; a message of the other side comes whole or not at
all. Identifiers by ISO 15765-4.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from typing import Any

import can
import isotp
import pytest

from witnessmark.clock import NS, SystemClock
from witnessmark.host.plugins import open_link
from witnessmark.link.frame import Frame, Peer
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.talk.conversation import Conversation
from witnessmark.wire.isotp import Address, Endpoint, Failed, Received, Sent, Settings

ELEVEN = Peer(0x7E0, 0x7E8)
TWENTY_NINE = Peer(0x18DA10F1, 0x18DAF110, extended=True)
PATIENCE_S = 20.0
_NAMES = count(1)

Case = tuple[Peer, bytes, bytes, dict[str, Any], Settings]


def cases(number: int) -> list[Case]:
    """Return so many: the unit, a request, an answer, how their side is set and how ours is."""
    draw = random.Random(number)
    drawn: list[Case] = []
    for index in range(number):
        sizes = [draw.choice([1, 6, 7, 8, 13, 14, 62, 200, draw.randint(1, 1500)]) for _ in range(2)]
        theirs_gap, ours_gap = draw.choice([0, 1, 2, 0xF1, 0xF9]), draw.choice([0, 1, 2, 0xF3])
        padding = draw.choice([None, 0x00, 0xCC, 0xAA])
        params = {
            "blocksize": draw.choice([0, 1, 2, 8, 255]),
            "stmin": theirs_gap,
            "tx_padding": padding,
            "tx_data_min_length": None if padding is None else 8,
            "max_frame_size": 5000,
        }
        settings = Settings(
            block_size=draw.choice([0, 1, 3, 16]), st_min=ours_gap, padding=draw.choice([None, 0x55, 0xCC])
        )
        request = b"\x22" + draw.randbytes(max(sizes[0], 3) - 1)
        answer = b"\x62" + request[1:3] + draw.randbytes(sizes[1])
        drawn.append(((ELEVEN, TWENTY_NINE)[index % 2], request, answer, params, settings))
    return drawn


@contextmanager
def live(peer: Peer, params: dict[str, Any]) -> Iterator[tuple[FrameLink, isotp.CanStack, list[Exception]]]:
    """A bus of software with our link on it and a control unit of can-isotp, which runs in threads of its own."""
    name = f"isotp-{next(_NAMES)}"
    errors: list[Exception] = []
    bus = can.Bus(interface="virtual", channel=name)
    mode = isotp.AddressingMode.Normal_29bits if peer.extended else isotp.AddressingMode.Normal_11bits
    stack = isotp.CanStack(
        bus,
        address=isotp.Address(mode, txid=peer.source, rxid=peer.target),
        params=params,
        error_handler=errors.append,
    )
    link = open_link(f"canbus:virtual/{name}", SystemClock())
    assert not isinstance(link, MessageLink)
    stack.start()
    try:
        yield link, stack, errors
    finally:
        stack.stop()
        link.close()
        bus.shutdown()


@pytest.mark.parametrize("case", cases(40), ids=map(str, count(1)))
def test_a_conversation_with_a_unit_of_can_isotp(case: Case) -> None:
    peer, request_, answer, params, _ = case
    clock = SystemClock()
    with live(peer, params) as (link, unit, errors):
        talk = Conversation(link, clock)
        talk.expect(peer)
        exchange = talk.begin(peer, request_)
        end_ns = clock.mono_ns() + round(PATIENCE_S * NS)
        heard: list[bytes] = []
        while exchange.open and clock.mono_ns() < end_ns:
            talk.pump(0.005)
            if (came := unit.recv(block=False)) is not None:
                heard.append(bytes(came))
                unit.send(answer)
        assert heard == [request_]
        assert exchange.result == "positive" and exchange.answer is not None
        assert exchange.answer.payload == answer
        assert errors == []


@pytest.mark.parametrize("case", cases(30), ids=map(str, count(1)))
def test_our_flow_control_is_kept_by_can_isotp_and_theirs_by_us(case: Case) -> None:
    peer, request_, answer, params, ours = case
    clock = SystemClock()
    assert peer.source is not None
    with live(peer, params) as (link, unit, errors):
        endpoint = Endpoint(Address(peer.target, peer.source, peer.extended), ours)
        endpoint.send(request_, clock.mono_ns())
        end_ns = clock.mono_ns() + round(PATIENCE_S * NS)
        told: list[Any] = []
        asked = False
        while clock.mono_ns() < end_ns and not any(isinstance(one, Received | Failed) for one in told):
            for data in endpoint.outgoing(clock.mono_ns()):
                link.send(Frame(peer.target, data, clock.stamp(), "sent", peer.extended))
            told += endpoint.tick(clock.mono_ns())
            for frame in link.receive(0.001):
                if isinstance(frame, Frame) and frame.can_id == peer.source:
                    told += endpoint.receive(frame.data, clock.mono_ns())
            if not asked and (came := unit.recv(block=False)) is not None:
                asked = True
                assert bytes(came) == request_
                unit.send(answer)
        assert [type(one) for one in told if isinstance(one, Sent | Received | Failed)] == [Sent, Received]
        assert [one.payload for one in told if isinstance(one, Received)] == [answer]
        assert errors == []
