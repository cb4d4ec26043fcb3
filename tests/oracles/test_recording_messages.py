"""Messages heard in recordings against can-isotp (a listening layer for each identifier) and scapy's message builder.

Traps: scapy 2.8.0 splices an answer whose consecutive frames were lost with the one after it (against ISO 15765-2:2016,
9.6.4.4: a wrong sequence number ends the reception, and 9.8.3: so does a first frame); can-isotp warns of flow control
in listen mode and reads on. Both read any identifier, diagnostic or not.
"""

import json
import logging
from collections import deque
from pathlib import Path

import isotp
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scapy.contrib.isotp import ISOTPMessageBuilder
from scapy.layers.can import CAN
from tests.recording.traffic import Bus, segments

from witnessmark.link.frame import Frame
from witnessmark.recording.file import open_recording
from witnessmark.recording.reading import read_frames

CAPTURES = Path(__file__).parents[1] / "captures"
Messages = dict[int, list[bytes]]


def ours(frames: list[Frame]) -> Messages:
    found: dict[int, list[tuple[int, bytes]]] = {}
    for one in read_frames(frames).conversations:
        for part in one.parts():
            if part not in one.lost:
                found.setdefault(part.key.number, []).append((part.last_ns, part.payload))
    return {number: [payload for _, payload in sorted(said, key=lambda one: one[0])] for number, said in found.items()}


def can_isotp(frames: list[Frame], number: int) -> list[bytes]:
    logging.getLogger("isotp").setLevel(logging.CRITICAL)
    waiting = deque(
        isotp.CanMessage(arbitration_id=number, data=frame.data) for frame in frames if frame.can_id == number
    )
    layer = isotp.TransportLayerLogic(
        rxfn=lambda timeout: waiting.popleft() if waiting else None,
        txfn=lambda message: None,
        address=isotp.Address(isotp.AddressingMode.Normal_11bits, rxid=number, txid=number ^ 8),
        params={"listen_mode": True, "rx_consecutive_frame_timeout": 1_000_000},
    )
    found = []
    while waiting:
        layer.process()
        while (payload := layer.recv()) is not None:
            found.append(bytes(payload))
    return found


def scapy(frames: list[Frame], number: int) -> list[bytes]:
    builder = ISOTPMessageBuilder(use_ext_address=False, rx_id=number)
    builder.feed([CAN(identifier=frame.can_id, data=frame.data) for frame in frames if frame.can_id == number])
    return [bytes(message.data) for message in builder]


@pytest.mark.parametrize("name", ["fault-scan", "battery-polling", "answers-only"])
def test_each_recording_gives_the_messages_that_they_find(name):
    frames = list(open_recording(CAPTURES / f"{name}.log").frames())
    found = ours(frames)
    assert sum(map(len, found.values())) == {"fault-scan": 636, "battery-polling": 52, "answers-only": 270}[name]
    for number, messages in found.items():
        assert messages == can_isotp(frames, number), f"{number:X}"
        assert messages == scapy(frames, number), f"{number:X}"


def test_they_take_ordinary_traffic_for_messages_and_we_do_not():
    frames = list(open_recording(CAPTURES / "no-diagnostics.log").frames())
    assert ours(frames) == {}
    naive = sum(len(scapy(frames, number)) for number in {frame.can_id for frame in frames})
    entry = json.loads((CAPTURES / "manifest.json").read_text())["files"][3]
    assert entry["file"] == "no-diagnostics.log" and naive > 0 < entry["expected"]["naive_all_ids"]["scapy"]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_interleaved_units_are_put_together_as_they_do_it(data):
    bus = Bus()
    queues: dict[int, list[bytes]] = {}
    for unit in range(data.draw(st.integers(1, 4))):
        for _ in range(data.draw(st.integers(1, 3))):
            identifier = data.draw(st.binary(min_size=2, max_size=2))
            body = data.draw(st.binary(max_size=data.draw(st.sampled_from((4, 200)))))
            pad = data.draw(st.sampled_from((b"\xaa", b"")))
            queues.setdefault(0x7E0 + unit, []).extend(segments(b"\x22" + identifier, pad=pad))
            queues.setdefault(0x7E8 + unit, []).extend(segments(b"\x62" + identifier + body, pad=pad))
    while queues:
        number = data.draw(st.sampled_from(sorted(queues)))
        bus.put(number, queues[number].pop(0))
        if not queues[number]:
            del queues[number]
    found = ours(bus.frames)
    for number in {frame.can_id for frame in bus.frames}:
        assert found[number] == can_isotp(bus.frames, number) == scapy(bus.frames, number)


def test_lost_frames_are_lost_where_scapy_splices():
    bus = Bus()
    first, second = (bytes([0x62, 0xF1, which]) + bytes([which]) * 30 for which in (0x90, 0x91))
    bus.say(0x7E8, first, lose=(2,))
    bus.say(0x7E8, second, lose=(1,))
    (spliced,) = scapy(bus.frames, 0x7E8)
    assert spliced[:3] == first[:3] and spliced[-1:] == second[-1:]
    assert can_isotp(bus.frames, 0x7E8) == []
    assert ours(bus.frames) == {}
    reasons = [lost.reason for one in read_frames(bus.frames).conversations for lost in one.lost]
    assert reasons == ["wrong_sn", "wrong_sn"]
