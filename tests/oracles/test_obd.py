"""Parameters of ISO 15031-5 / SAE J1979 against scapy 2.8: names are free, scalings and lengths are not."""

import warnings

import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # scapy's own imports warn about ciphers; nothing of ours is loaded here
    from scapy.contrib.automotive.obd.obd import OBD
    from scapy.contrib.automotive.obd.pid import pids as scapy_pids
    from scapy.fields import ScalingField

from witnessmark.wire.obd import pids
from witnessmark.wire.obd.decode import decode

# Where the oracle cannot be asked: it gives 10 one byte, and leaves A6 unscaled. Both are tested below by themselves.
ALONE = {0x10, 0xA6}
SCALED = sorted(number for number, pid in pids.PIDS.items() if not pid.raw and number not in ALONE)


def oracle_layer(number):
    return getattr(scapy_pids, f"OBD_PID{number:02X}")


@pytest.mark.parametrize("number", SCALED)
def test_a_scaled_parameter_has_the_oracles_length_and_value(number):
    size = pids.PIDS[number].size
    layer = oracle_layer(number)
    fields = [field for field in layer.fields_desc if isinstance(field, ScalingField)]
    assert len(fields) == 1
    for raw in (bytes(size), b"\x7f" + b"\xff" * (size - 1), b"\x12\x34\x56\x78"[:size], b"\xff" * size):
        packet = layer(raw)
        assert bytes(packet.payload) == b""
        theirs = float(getattr(packet, fields[0].name))
        # The oracle rounds its factors and its values; one part in a thousand is its accuracy.
        assert pids.scale(number, raw) == pytest.approx(theirs, rel=2e-3, abs=0.06)


@pytest.mark.parametrize("number", SCALED)
def test_a_scaled_parameter_has_the_oracles_unit(number):
    (field,) = [field for field in oracle_layer(number).fields_desc if isinstance(field, ScalingField)]
    # It writes some otherwise, and gives ratios and counts none.
    otherwise = {"degC": "deg. C", "1/min": "min-1", "deg": "deg.", "N.m": "Nm", "ratio": "", "count": ""}
    unit = pids.PIDS[number].unit
    assert field.unit == otherwise.get(unit, unit)


def test_air_flow_has_two_bytes_though_the_oracle_reads_one():
    # SAE J1979, annex B, PID 10 (from memory): two bytes, 0.01 g/s each, 655.35 g/s at most.
    assert bytes(oracle_layer(0x10)(b"\xff\xff").payload) == b"\xff"
    assert pids.scale(0x10, b"\xff\xff") == pytest.approx(655.35)


def test_the_odometer_counts_tenths_of_a_kilometre_though_the_oracle_leaves_it_raw():
    # SAE J1979, annex B, PID A6 (from memory): four bytes, 0.1 km each.
    assert oracle_layer(0xA6)(b"\x00\x01\x00\x00").data == b"\x00\x01\x00\x00"
    assert pids.scale(0xA6, b"\x00\x01\x00\x00") == pytest.approx(6553.6)


@pytest.mark.parametrize("number", sorted(n for n in pids.PIDS if pids.PIDS[n].raw and n != 0xE0))
def test_a_parameter_of_bits_has_the_oracles_length(number):
    size = pids.PIDS[number].size
    packet = oracle_layer(number)(b"\x11" * (size + 2))
    assert len(bytes(packet.payload)) == 2


def test_the_last_mask_has_four_bytes_though_the_oracle_has_none():
    # SAE J1979, annex A (from memory): masks stand at 00, 20 and so on to E0.
    assert not hasattr(scapy_pids, "OBD_PIDE0")
    assert pids.PIDS[0xE0].size == 4 and pids.supported(0xE0, b"\x80\0\0\2") == (0xE1, 0xFF)


def test_supported_parameters_are_what_the_oracle_reads():
    payload = bytes.fromhex("4100BE3EB813")
    packet = OBD(payload)
    theirs = str(packet.data_records[0].supported_pids)
    ours = decode(payload).value("supported")
    assert {f"PID{number:02X}" for number in ours} == set(theirs.split("+"))
