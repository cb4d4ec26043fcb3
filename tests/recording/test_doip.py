"""DoIP messages in packet captures."""

import pytest
from tests.recording import packets as make

from witnessmark.recording.doip import DoipMessage, StreamLoss, read_doip
from witnessmark.recording.packet import ETHERNET, LINUX_SLL2, RAW_IP, Packet
from witnessmark.wire import doip

TESTER, GATE = bytes([192, 0, 2, 1]), bytes([192, 0, 2, 10])
ASK = doip.encode(doip.DiagnosticMessage(0x0E80, 0x1010, bytes.fromhex("22F190")))


def read(parts, link_type=ETHERNET):
    damage = []
    packets = [Packet(link_type, part, at * 1000, 0, "", at + 1) for at, part in enumerate(parts)]
    return list(read_doip(packets, "x", damage.append)), damage


def segment(sequence, data, port=13400, flags=0x18):
    return make.ethernet(make.ipv4(6, TESTER, GATE, make.tcp(50000, port, sequence, data, flags)))


def test_messages_are_cut_from_a_stream_whatever_its_segments_and_order():
    stream = ASK * 3
    cuts = [(0, 5), (20, len(stream)), (5, 20)]
    found, damage = read([segment(77 + start, stream[start:end]) for start, end in cuts])
    assert damage == []
    assert [message.raw for message in found] == [ASK] * 3
    assert found[0].source == "192.0.2.1:50000" and found[0].target == "192.0.2.10:13400"
    assert found[0].time_ns == 2000 and found[0].over == "TCP"
    assert found[0].payload == doip.DiagnosticMessage(0x0E80, 0x1010, b"\x22\xf1\x90")


def test_what_a_capture_does_not_hold_is_told_and_nothing_is_spliced():
    found, damage = read([segment(0, ASK + ASK[:4]), segment(len(ASK) * 2 + 40, ASK)])
    assert damage == []
    assert [type(one).__name__ for one in found] == ["DoipMessage", "StreamLoss", "DoipMessage"]
    assert isinstance(found[1], StreamLoss)
    assert (found[1].rest, found[1].missing, found[1].packet) == (ASK[:4], len(ASK) + 36, 1)


def test_bytes_missing_between_messages_are_told_alone():
    found, _ = read([segment(0, ASK), segment(len(ASK) + 1, ASK)])
    assert isinstance(found[1], StreamLoss)
    assert (found[1].rest, found[1].missing, found[1].packet) == (b"", 1, 2)


@pytest.mark.parametrize(
    ("link_type", "wrap"),
    [
        (ETHERNET, lambda part: make.ethernet(make.ipv4(17, TESTER, GATE, part))),
        (ETHERNET, lambda part: make.ethernet(make.ipv4(17, TESTER, GATE, part), vlan=b"\x81\0\0\5") + bytes(6)),
        (ETHERNET, lambda part: make.ethernet(make.ipv4(17, TESTER, GATE, part), vlan=b"\x88\xa8\0\5\x81\0\0\6")),
        # Lengths of 0 are what segmentation in the interface leaves behind.
        (ETHERNET, lambda part: make.ethernet(make.ipv4(17, TESTER, GATE, part, total=0))),
        (ETHERNET, lambda part: make.ethernet(make.ipv6(17, bytes(16), bytes(16), part, length=0), kind=0x86DD)),
        # Hop-by-hop, routing and destination options before the datagram.
        (
            ETHERNET,
            lambda part: make.ethernet(
                make.ipv6(
                    0, bytes(16), bytes(16), b"\x2b\0" + bytes(6) + b"\x3c\0" + bytes(6) + b"\x11\1" + bytes(14) + part
                ),
                kind=0x86DD,
            ),
        ),
        (ETHERNET, lambda part: make.ethernet(make.ipv6(17, bytes(15) + b"\1", bytes(15) + b"\2", part), kind=0x86DD)),
        (RAW_IP, lambda part: make.ipv4(17, TESTER, GATE, part)),
        (LINUX_SLL2, lambda part: b"\x08\x00" + bytes(18) + make.ipv4(17, TESTER, GATE, part)),
    ],
)
def test_a_datagram_is_one_message_over_every_kind_of_packet(link_type, wrap):
    announcement = doip.encode(doip.IdentificationRequest())
    found, damage = read([wrap(make.udp(40000, 13400, announcement))], link_type)
    assert damage == []
    assert len(found) == 1 and isinstance(found[0], DoipMessage)
    assert (found[0].over, found[0].raw, found[0].refused) == ("UDP", announcement, "")


def test_a_stream_on_another_port_is_doip_when_it_begins_like_it():
    found, _ = read([segment(0, ASK, port=5555)])
    assert [one.raw for one in found] == [ASK]
    assert read([segment(0, b"GET / HTTP/1.1\r\n", port=80)]) == ([], [])


@pytest.mark.parametrize("version", [1, 2, 3, 4, 0xFF])
def test_every_version_of_the_standard_is_known_on_another_port(version):
    raw = doip.encode(doip.AliveCheckRequest(), version)
    assert [one.raw for one in read([segment(0, raw, port=5555)])[0]] == [raw]
    assert read([segment(0, doip.encode(doip.AliveCheckRequest(), 5), port=5555)]) == ([], [])


def test_a_header_of_ip_or_tcp_shorter_than_it_can_be_is_damage():
    whole = segment(0, ASK)
    ip, tcp = bytearray(whole), bytearray(whole)
    ip[14], tcp[14 + 20 + 12] = 0x44, 4 << 4
    found, damage = read([bytes(ip), bytes(tcp), whole])
    assert [one.raw for one in found] == [ASK]
    assert [error.place for error in damage] == ["x packet 1", "x packet 2"]


def test_a_wrong_inverse_version_is_told_with_its_type():
    wrong = bytes([2, 2]) + ASK[2:]
    found, _ = read([segment(0, wrong + ASK)])
    assert [(one.refused, one.payload_type, one.payload is None) for one in found] == [
        ("inverse_version", 0x8001, True),
        ("", 0x8001, False),
    ]


def test_a_fragment_and_a_cut_header_are_damage_of_their_packet():
    fragment = make.ethernet(make.ipv4(17, TESTER, GATE, make.udp(1, 13400, ASK), fragment=0x2000))
    _, damage = read([fragment, make.ethernet(b"\x45\0\0"), segment(0, ASK)])
    assert [error.place for error in damage] == ["x packet 1", "x packet 2"]
