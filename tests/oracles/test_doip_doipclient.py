"""DoIP messages against doipclient 1.2 and against a published recording.

doipclient gives the activation type for central security as E1; ISO 13400-2:2019, table 47 gives E0 (as other libraries
have it), so the names of activation types are not compared. It raises on codes that it does not name, so compared are
the bytes that it packs and unpacks.
"""

from __future__ import annotations

import json

import pytest
from doipclient import messages as theirs
from doipclient.client import Parser
from hypothesis import given
from hypothesis import strategies as st
from tests.wire.candump_text import CAPTURES
from tests.wire.test_doip import PAYLOADS

from witnessmark.wire import doip

NAMES = {
    doip.NegativeAcknowledge: theirs.GenericDoIPNegativeAcknowledge,
    doip.IdentificationRequest: theirs.VehicleIdentificationRequest,
    doip.IdentificationRequestEid: theirs.VehicleIdentificationRequestWithEID,
    doip.IdentificationRequestVin: theirs.VehicleIdentificationRequestWithVIN,
    doip.Announcement: theirs.VehicleIdentificationResponse,
    doip.RoutingActivationRequest: theirs.RoutingActivationRequest,
    doip.RoutingActivationResponse: theirs.RoutingActivationResponse,
    doip.AliveCheckRequest: theirs.AliveCheckRequest,
    doip.AliveCheckResponse: theirs.AliveCheckResponse,
    doip.EntityStatusRequest: theirs.DoipEntityStatusRequest,
    doip.EntityStatusResponse: theirs.EntityStatusResponse,
    doip.PowerModeRequest: theirs.DiagnosticPowerModeRequest,
    doip.PowerModeResponse: theirs.DiagnosticPowerModeResponse,
    doip.DiagnosticMessage: theirs.DiagnosticMessage,
    doip.DiagnosticAck: theirs.DiagnosticMessagePositiveAcknowledgement,
    doip.DiagnosticNack: theirs.DiagnosticMessageNegativeAcknowledgement,
    doip.Unknown: theirs.ReservedMessage,
}


@given(PAYLOADS)
def test_what_we_write_doipclient_reads_as_the_same_message_and_packs_to_the_same_body(payload: doip.Payload) -> None:
    raw = doip.encode(payload)
    read = Parser().read_message(raw)
    assert type(read) is NAMES[type(payload)]
    assert read.payload_type == doip.payload_type_of(payload)
    if isinstance(payload, doip.Unknown):
        assert bytes(read.payload) == payload.body
    elif hasattr(payload, "vin"):  # it cannot pack what it unpacked: a VIN has to be a text there
        assert read._vin == payload.vin
    else:
        assert bytes(read.pack()) == raw[8:]


@given(st.integers(0, 0xFFFF), st.integers(0, 0xFFFF), st.binary(max_size=50))
def test_what_doipclient_writes_we_read(source: int, target: int, data: bytes) -> None:
    body = theirs.DiagnosticMessage(source, target, data).pack()
    assert doip.decode_payload(0x8001, body) == doip.DiagnosticMessage(source, target, data)


def recorded() -> list[bytes]:
    """The 20 application payloads of the recording: the file read by scapy, its IPv4 and transport headers cut here."""
    from scapy.utils import RawPcapNgReader

    found = []
    with RawPcapNgReader(str(CAPTURES / "doip-types.pcapng")) as reader:
        packets = [packet for packet, _ in reader]
    for packet in packets:
        ip = packet[14 : 14 + int.from_bytes(packet[16:18], "big")]  # the total length leaves out Ethernet padding
        transport = ip[(ip[0] & 0x0F) * 4 :]
        found.append(transport[8:] if ip[9] == 17 else transport[(transport[12] >> 4) * 4 :])
    return found


def test_the_recording_gives_16_known_types_one_unknown_and_the_wrong_inverse_version() -> None:
    listed = json.loads((CAPTURES / "expected" / "doip-types.json").read_text(encoding="ascii"))["messages_list"]
    types = set()
    for want, raw in zip(listed, recorded(), strict=True):
        (found,) = doip.Stream().feed(raw)
        if not want["inv_ok"]:
            assert found == doip.Refused("inverse_version", 0x00, True, raw)
            continue
        assert isinstance(found, doip.Message)
        assert (found.version, found.payload_type) == (want["ver"], int(want["type"], 16))
        types.add(found.payload_type)
        assert isinstance(found.payload, doip.Unknown) == (found.payload_type == 0x7777)
        assert found.raw == raw[: 8 + want["len"]]  # one packet carries a byte of the next message too
        if "sa" in want:
            payload = found.payload
            assert isinstance(payload, doip.DiagnosticMessage | doip.DiagnosticAck | doip.DiagnosticNack)
            assert (payload.source, payload.target) == (int(want["sa"], 16), int(want["ta"], 16))
        elif "payload" in want:
            assert found.raw[8:].hex() == want["payload"]
    assert len(types) == 17


def test_a_recorded_stream_is_read_on_after_the_wrong_inverse_version() -> None:
    found = doip.Stream().feed(b"".join(recorded()))
    assert [type(one).__name__ for one in found].count("Refused") == 1
    assert len(found) == 20


@pytest.mark.parametrize(
    ("ours", "their"),
    [
        (doip.HEADER_NACKS, theirs.GenericDoIPNegativeAcknowledge.NackCodes),
        (doip.DIAGNOSTIC_NACKS, theirs.DiagnosticMessageNegativeAcknowledgement.NackCodes),
        (doip.ACTIVATION_CODES, theirs.RoutingActivationResponse.ResponseCode),
        (doip.POWER_MODES, theirs.DiagnosticPowerModeResponse.DiagnosticPowerMode),
    ],
)
def test_the_same_codes_have_a_name(ours: dict[int, str], their: type) -> None:
    assert set(ours) == {code.value for code in their}


@pytest.mark.parametrize(
    ("ours", "their"),
    [
        (doip.HEADER_NACKS, theirs.GenericDoIPNegativeAcknowledge.NackCodes),
        (doip.DIAGNOSTIC_NACKS, theirs.DiagnosticMessageNegativeAcknowledgement.NackCodes),
        (doip.POWER_MODES, theirs.DiagnosticPowerModeResponse.DiagnosticPowerMode),
    ],
)
def test_codes_are_named_as_doipclient_names_them(ours: dict[int, str], their: type) -> None:
    assert {code: name.replace(" ", "") for code, name in ours.items()} == {
        code.value: code.name.lower() for code in their
    }


def test_activation_codes_say_what_scapy_says_of_them() -> None:
    # The names are ours; one word of each is the standard's, and scapy quotes the standard's sentences.
    from scapy.contrib.automotive.doip import DoIP

    fields = (getattr(one, "fld", one) for one in DoIP.fields_desc)
    sentences = next(one.i2s for one in fields if one.name == "routing_activation_response")
    words = {
        0: "unknown",
        1: "all",
        2: "this",
        3: "on another",
        4: "authentication missing",
        5: "confirmation rejected",
    }
    words |= {6: "type not supported", 7: "secured", 0x10: "activated", 0x11: "confirmed"}
    quoted = {0: "unknown", 1: "all", 2: "already activated", 3: "on a different", 4: "missing authentication"}
    quoted |= {5: "rejected confirmation", 6: "unsupported", 7: "secure", 0x10: "successfully activated"}
    quoted |= {0x11: "confirmation required"}
    for code, name in doip.ACTIVATION_CODES.items():
        assert words[code] in name and quoted[code] in sentences[code]
        assert name.startswith("denied") == ("denied" in sentences[code])
