"""CAN frames in captured packets: link types 227, 113 and 276."""

import pytest
from tests.recording import packets as make

from witnessmark.recording.packet import CAN_SOCKETCAN, LINUX_SLL, LINUX_SLL2, Packet
from witnessmark.recording.socketcan import read_frames


def read(bodies, link_type=CAN_SOCKETCAN, interfaces=None):
    damage = []
    packets = [
        Packet(link_type, body, at * 1000, interfaces[at] if interfaces else 0, "", at + 1)
        for at, body in enumerate(bodies)
    ]
    return list(read_frames(packets, "x", damage.append)), damage


@pytest.mark.parametrize("order", ["big", "little"])
@pytest.mark.parametrize(
    ("link_type", "wrap"), [(CAN_SOCKETCAN, bytes), (LINUX_SLL, make.sll), (LINUX_SLL2, make.sll2)]
)
def test_the_byte_order_of_identifiers_is_found_out_in_every_link_type(order, link_type, wrap):
    bodies = [
        make.can(0x7E0, b"\x02\x10\x03", order),
        make.can(0x18DAF110, b"\x02\x50\x03", order, extended=True),
        make.can(0x18DAF1F1, b"\x01", order, extended=True),
    ]
    frames, damage = read([wrap(body) for body in bodies], link_type)
    assert damage == []
    assert [(frame.can_id, frame.extended, frame.data) for frame in frames] == [
        (0x7E0, False, b"\x02\x10\x03"),
        (0x18DAF110, True, b"\x02\x50\x03"),
        (0x18DAF1F1, True, b"\x01"),
    ]


def test_frames_that_make_sense_in_both_orders_wait_for_one_that_settles_it():
    # 18DAF1F1 with its flag is 98 DA F1 F1, and F1 F1 DA 98 is not one; 98 00 00 98 reads the same both ways.
    bodies = [make.can(0x18000098, b"\x01", "little", extended=True), make.can(0x7E8, b"\x02", "little")]
    frames, _ = read(bodies)
    assert [frame.can_id for frame in frames] == [0x18000098, 0x7E8]
    assert [frame.stamp.wall_ns for frame in frames] == [0, 1000]


def test_each_interface_has_its_own_byte_order_and_the_order_of_frames_stays():
    bodies = [make.can(0x7E0, b"\x01", "big"), make.can(0x7E8, b"\x02", "little"), make.can(0x7E1, b"\x03", "big")]
    frames, _ = read(bodies, interfaces=[0, 1, 0])
    assert [frame.can_id for frame in frames] == [0x7E0, 0x7E8, 0x7E1]


def test_remote_fd_and_outgoing_frames_are_told_apart_and_error_frames_left_out():
    bodies = [
        make.sll(make.can(0x7E0, b"", flags=0x40000000), way=4),
        make.sll(make.can(0x7E8, bytes(64), fd=True), protocol=0x000D),
        make.sll(make.can(0x7E8, bytes(8)), protocol=0x000D),  # older kernels leave the flag out
        make.sll(make.can(0x004, bytes(8), flags=0x20000000)),
    ]
    frames, damage = read(bodies, LINUX_SLL)
    assert damage == []
    assert [(frame.kind, frame.fd, frame.origin, len(frame.data)) for frame in frames] == [
        ("remote", False, "sent", 0),
        ("data", True, "received", 64),
        ("data", True, "received", 8),
    ]


@pytest.mark.parametrize("body", [b"\0\0\7\xe0", make.can(0x7E0, bytes(8))[:-3], b"\0\0\7\xe0\x0d\0\0\0" + bytes(13)])
def test_a_frame_that_cannot_be_is_damage_of_its_packet_alone(body):
    frames, damage = read([make.can(0x7E0, b"\x01"), body, make.can(0x7E0, b"\x02")])
    assert [frame.data for frame in frames] == [b"\x01", b"\x02"]
    assert [error.place for error in damage] == ["x packet 2"]


def test_a_can_xl_frame_is_told_as_one():
    body = b"\0\0\7\xe0\x81\0\0\1" + bytes(8)
    frames, damage = read([body])
    assert frames == [] and "CAN XL" in damage[0].what


def test_packets_that_are_no_can_frames_are_left_out():
    assert read([make.ethernet(b"")], 1) == ([], [])
