"""Fuzz targets of the recording layer: any bytes as a file or a part of one, in; frames, messages and named damage out.

A target swallows only what its reader declares: ValueError for a line, a packet or a frame, InputError for a file.
"""

from __future__ import annotations

from pathlib import Path

from tests.recording import packets as make
from tests.recording.traffic import Bus, candump
from witnessmark.errors import InputError
from witnessmark.recording.bulk.reading import read_text
from witnessmark.recording.candump import is_candump, lines_of, read_candump, read_line
from witnessmark.recording.doip import read_doip
from witnessmark.recording.ethernet import read_part
from witnessmark.recording.file import Recording, find_format
from witnessmark.recording.meaning import describe
from witnessmark.recording.packet import CAN_SOCKETCAN, ETHERNET, LINUX_SLL, LINUX_SLL2, Packet
from witnessmark.recording.reading import read_frames, read_recording
from witnessmark.recording.socketcan import read_frames as read_can
from witnessmark.recording.source import _gunzip
from witnessmark.recording.stream import Direction
from witnessmark.wire import doip

X = Path("x")


def target_candump_line(data: bytes) -> None:
    """One line; what is recognised as candump text is read or refused with a reason."""
    line = data.replace(b"\n", b"")
    try:
        frame = read_line(line)
    except ValueError as error:
        assert str(error)
        return
    assert frame is None or is_candump(line)
    assert frame is None or len(frame.data) <= 64


def target_candump_bulk(data: bytes) -> None:
    """A file, in bulk and frame by frame: the same conversations and the same damage."""
    plain_damage: list[InputError] = []
    bulk_damage: list[InputError] = []
    plain = read_frames(read_candump(lines_of(data), "x", plain_damage.append))
    found = read_text(data, "x", bulk_damage.append)
    if found is not None:
        assert list(found[0].conversations) == list(plain.conversations)
        assert [str(error) for error in bulk_damage] == [str(error) for error in plain_damage]
    for one in plain.conversations:
        for answer in one.answers:
            assert describe(answer.payload, one.request.payload if one.request is not None else None)


def target_file(data: bytes) -> None:
    """A whole file of whatever kind it looks like."""
    try:
        form = find_format(data, X)
        recording = Recording(X, data, form, None)
        read_recording(recording)
    except InputError as error:
        assert error.hint and error.place
        return
    assert all(error.hint and error.place for error in recording.damage)


def target_gzip(data: bytes) -> None:
    """A packed file: what is unpacked, or the place where that ended."""
    content, broken = _gunzip(X, data)
    assert broken is None or str(len(content)) in broken.place


def target_socketcan(data: bytes) -> None:
    """The packets of one capture, cut by length bytes, under each link type."""
    bodies, at = [], 0
    while at < len(data):
        size = data[at] % 100
        bodies.append(data[at + 1 : at + 1 + size])
        at += 1 + size
    for link_type in (CAN_SOCKETCAN, LINUX_SLL, LINUX_SLL2):
        damage: list[InputError] = []
        packets = [Packet(link_type, body, number, 0, "", number) for number, body in enumerate(bodies)]
        frames = list(read_can(packets, "x", damage.append))
        assert len(frames) + len(damage) <= len(bodies)


def target_ethernet(data: bytes) -> None:
    """One packet of a capture, as every link type."""
    for link_type in (ETHERNET, LINUX_SLL, LINUX_SLL2, 101):
        packet = Packet(link_type, data, 0, 0, "", 1)
        try:
            part = read_part(packet)
        except ValueError as error:
            assert str(error)
            continue
        assert part is None or len(part.data) <= len(data)
        list(read_doip([packet], "x", lambda error: None))


def target_stream(data: bytes) -> None:
    """TCP segments with any sequence numbers: no byte comes out that did not go in."""
    direction = Direction()
    given = at = 0
    runs = []
    while at + 2 < len(data):
        sequence, size = data[at] - 128 & 0xFFFFFFFF, data[at + 1] % 32
        part = data[at + 2 : at + 2 + size]
        if data[at + 1] & 0x80:
            runs += direction.open(sequence)
        runs += direction.feed(sequence, part, 0, 0)
        given += len(part)
        at += 2 + size
    runs += direction.finish()
    heard = sum(len(run.data) for run in runs)
    assert heard <= given and all(run.data for run in runs)


def _log() -> bytes:
    bus = Bus()
    bus.say(0x7E0, "22f190")
    bus.say(0x7E8, b"\x62\xf1\x90" + bytes(range(17)))
    bus.say(0x18DA10F1, "3101ff00")
    bus.say(0x18DAF110, "7f3178")
    bus.say(0x18DAF110, "7101ff0000")
    bus.put(0x7E9, b"\x21\x00\x00")
    return candump(bus.frames)


LOG = _log()
ASK = doip.encode(doip.DiagnosticMessage(0x0E80, 0x1010, bytes.fromhex("22f190")))
TCP = make.ethernet(make.ipv4(6, b"\1\2\3\4", b"\5\6\7\x08", make.tcp(50000, 13400, 77, ASK)))
UDP = make.ethernet(make.ipv6(17, bytes(16), bytes(16), make.udp(13400, 13400, ASK)), kind=0x86DD, vlan=b"\x81\0\0\5")
CANS = [make.can(0x7E0, b"\x02\x3e\x00"), make.can(0x18DAF110, b"\x02\x7e\x00", extended=True)]
BODIES = [*CANS, make.sll(CANS[0]), make.sll2(CANS[1])]
SEEDS: dict[str, list[bytes]] = {
    "target_candump_line": [
        *LOG.splitlines(),
        b" (1.5)  can0  RX - -  7E8  [12]  01 02 03 04 05 06 07 08 09 0A 0B 0C",
        b"(2015-07-10 07:50:52.249713)  can0  7E0   [8]  remote request",
        b"(1.0) can0 7E8##10011223344556677889900AABBCCDD",
    ],
    "target_candump_bulk": [LOG, LOG.replace(b"\n", b" R\r\n")],
    "target_file": [
        LOG,
        make.pcap(list(enumerate(CANS))),
        make.pcap([(0, TCP), (1, UDP)], link_type=1, order=">"),
        make.pcapng([(1, make.sll(CANS[0])), (2, make.sll(CANS[1]))], link_type=113),
        b"date Sat Jan 1 00:00:00 2000\nbase hex timestamps absolute\n 0.5 1 7E8 Rx d 3 02 7E 00\n",
        b";$FILEVERSION=1.1\n;$STARTTIME=0\n      1)      2.5  Rx     07E8  3  02 7E 00\n",
        b"timestamp,arbitration_id,extended,remote,error,dlc,data\n1.0,0x7e8,0,0,0,3,An4A\n",
    ],
    "target_gzip": [bytes.fromhex("1f8b0800000000000003 4bcc4b4e494d4b0500 a4b5b9ae 07000000".replace(" ", ""))],
    "target_socketcan": [
        b"".join(bytes((len(body),)) + body for body in (*CANS, make.sll(CANS[0]), make.sll2(CANS[1])))
    ],
    "target_ethernet": [TCP, UDP, make.sll2(b"")[:1] + TCP],
    "target_stream": [b"\x80\x03abc\x83\x03def\x90\x04ghij\x80\x83abc\x81\x05xyzzy"],
}
