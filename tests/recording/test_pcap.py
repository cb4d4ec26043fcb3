"""pcap and pcapng readers."""

import pytest
from tests.recording import packets as make

from witnessmark.errors import InputError
from witnessmark.recording.pcap import is_pcap, read_pcap
from witnessmark.recording.pcapng import is_pcapng, read_pcapng


def read(reader, content):
    damage: list[InputError] = []
    return list(reader(content, "x", damage.append)), damage


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("nanoseconds", [False, True])
def test_pcap_is_read_in_either_byte_order_and_resolution(order, nanoseconds):
    content = make.pcap([(0.5, b"one"), (1.25, b"")], order=order, nanoseconds=nanoseconds)
    assert is_pcap(content) and not is_pcapng(content)
    found, damage = read(read_pcap, content)
    assert damage == []
    assert [(packet.data, packet.time_ns, packet.link_type) for packet in found] == [
        (b"one", 1000_500_000_000, 227),
        (b"", 1001_250_000_000, 227),
    ]


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("resolution", [6, 9])
def test_pcapng_is_read_in_either_byte_order_and_resolution(order, resolution):
    content = make.pcapng([(1_700_000_000_123_456_000, b"four"), (5_000, b"five5")], order=order, resolution=resolution)
    assert is_pcapng(content) and not is_pcap(content)
    found, damage = read(read_pcapng, content)
    assert damage == []
    assert [(packet.data, packet.time_ns, packet.channel) for packet in found] == [
        (b"four", 1_700_000_000_123_456_000, "can3"),
        (b"five5", 5_000, "can3"),
    ]


def test_pcapng_sections_may_differ_in_byte_order_and_count_their_own_interfaces():
    content = make.pcapng([(1, b"a")], order="<") + make.pcapng([(2, b"b")], order=">", link_type=1)
    found, damage = read(read_pcapng, content)
    assert damage == []
    assert [(packet.data, packet.interface, packet.link_type) for packet in found] == [(b"a", 0, 227), (b"b", 1, 1)]


def test_pcapng_steps_over_blocks_it_does_not_know_and_reads_simple_packets():
    simple = make.block(3, (4).to_bytes(4, "little") + b"data")
    content = make.pcapng([]) + make.block(0xBAD, b"whatever") + simple
    found, damage = read(read_pcapng, content)
    assert damage == []
    assert [packet.data for packet in found] == [b"data"]


@pytest.mark.parametrize(
    ("reader", "content"),
    [
        (read_pcap, make.pcap([(0, b"whole"), (1, b"broken")])),
        (read_pcapng, make.pcapng([(0, b"whole"), (1, b"broken")])),
    ],
)
def test_a_file_cut_anywhere_gives_its_whole_packets_and_names_the_byte(reader, content):
    whole, _ = read(reader, content)
    for end in range(24, len(content)):
        found, damage = read(reader, content[:end])
        assert found == whole[: len(found)]
        if len(damage) == 0:
            continue
        assert len(damage) == 1
        assert damage[0].place.startswith("x byte ")
    found, damage = read(reader, content[:-1])
    assert [packet.data for packet in found] == [b"whole"] and len(damage) == 1


def test_a_packet_header_that_cannot_be_true_ends_the_reading_there():
    content = bytearray(make.pcap([(0, b"whole"), (1, b"next")]))
    at = 24 + 16 + 5
    content[at + 8 : at + 12] = b"\xff\xff\xff\x7f"
    found, damage = read(read_pcap, bytes(content))
    assert [packet.data for packet in found] == [b"whole"]
    assert damage[0].place == f"x byte {at}" and "cannot be" in damage[0].what


def test_a_pcapng_packet_of_an_interface_that_is_not_described_is_damage():
    content = make.pcapng([]) + make.block(6, (9).to_bytes(4, "little") + bytes(16))
    found, damage = read(read_pcapng, content)
    assert found == [] and "interface 9" in damage[0].what


def test_pcapng_times_may_count_in_powers_of_two_from_a_moment_of_their_own():
    # if_tsresol with its top bit set is a power of two, if_tsoffset is in whole seconds (from memory of the draft).
    options = make.option(9, b"\x8a") + make.option(14, (100).to_bytes(8, "little"))
    content = make.pcapng([(0, b"a"), (1_536, b"b")], extra=options)
    found, damage = read(read_pcapng, content)
    assert damage == []
    assert [packet.time_ns for packet in found] == [100_000_000_000, 101_500_000_000]


def test_a_simple_packet_is_as_long_as_its_interface_keeps():
    simple = make.block(3, (9).to_bytes(4, "little") + b"data")
    found, damage = read(read_pcapng, make.pcapng([], snap=4) + simple)
    assert damage == [] and [packet.data for packet in found] == [b"data"]


def test_a_block_whose_two_lengths_differ_ends_the_reading_there():
    content = bytearray(make.pcapng([(0, b"whole"), (1, b"broken")]))
    content[-4] += 4
    found, damage = read(read_pcapng, bytes(content))
    assert [packet.data for packet in found] == [b"whole"] and "two lengths" in damage[0].what
