"""Fuzz targets of the service decoders: any bytes in, a declared error or a consistent meaning out.

A target returns nothing and swallows only the errors that its parser declares; a broken promise is an AssertionError.
"""

from __future__ import annotations

from witnessmark.errors import InputError, PeerError
from witnessmark.wire import dtc, identifiers, vin
from witnessmark.wire.kwp import decode as kwp
from witnessmark.wire.obd import decode as obd
from witnessmark.wire.obd import messages
from witnessmark.wire.uds import decode as uds
from witnessmark.wire.uds.head import head
from witnessmark.wire.uds.records import split_records
from witnessmark.wire.uds.timing import session_timing


def target_head(data: bytes) -> None:
    """The head agrees with the first byte and never keeps a suppress bit in an answer."""
    try:
        facts = head(data)
    except PeerError:
        return
    assert facts.is_response == bool(data[0] & 0x40)
    assert not (facts.is_response and facts.suppress)


def target_uds(data: bytes) -> None:
    """No byte is lost, and the text is one line."""
    try:
        read = uds.decode(data)
    except PeerError:
        return
    assert b"".join(field.raw for field in read.fields) + read.rest == data[1:]
    assert "\n" not in read.text


def target_uds_pair(data: bytes) -> None:
    """An answer is read beside any request: the first byte says where the request ends."""
    cut = data[0] % len(data) if data else 0
    try:
        uds.decode(data[cut:], request=data[:cut])
    except PeerError:
        return


def target_kwp(data: bytes) -> None:
    """No byte is lost."""
    try:
        read = kwp.decode(data)
    except PeerError:
        return
    assert b"".join(field.raw for field in read.fields) + read.rest == data[1:]


def target_obd(data: bytes) -> None:
    """No byte is lost."""
    try:
        read = obd.decode(data)
    except PeerError:
        return
    assert b"".join(field.raw for field in read.fields) + read.rest == data[1:]


def target_obd_vin(data: bytes) -> None:
    """Answers cut out of the data at every zero: a number or a declared error."""
    try:
        number = messages.read_vin(data.split(b"\0"))
    except PeerError:
        return
    assert len(number) == vin.LENGTH


def target_session_timing(data: bytes) -> None:
    """Two times that are not negative."""
    try:
        p2_s, p2_star_s = session_timing(data)
    except PeerError:
        return
    assert p2_s >= 0
    assert p2_star_s >= 0


def target_records(data: bytes) -> None:
    """Records told apart are the bytes they came from: the first byte says how many identifiers were asked for."""
    count = data[0] % 8 if data else 0
    asked = [int.from_bytes(data[1 + 2 * n : 3 + 2 * n], "big") for n in range(count)]
    body = data[1 + 2 * count :]
    found = split_records(body, asked)
    if found is not None:
        assert b"".join(number.to_bytes(2, "big") + record for number, record in found) == body


def target_vin(data: bytes) -> None:
    """Any text is a number or refused."""
    try:
        vin.check(data.decode("latin-1"))
    except InputError:
        return


def target_dtc(data: bytes) -> None:
    """A code that is accepted is written back as it was read."""
    try:
        code = dtc.parse_code(data.decode("latin-1"))
    except InputError:
        return
    assert dtc.parse_code(dtc.format_code(code)) == code


def target_identifier_text(data: bytes) -> None:
    """Any record of any identifier is printable."""
    text = identifiers.record_text(int.from_bytes(data[:2], "big"), data[2:])
    assert text.isprintable()


MESSAGES = [
    bytes.fromhex(seed)
    for seed in (
        "1003",
        "5003003201F4",
        "590209523456 09C1000008",
        "5906523456 0901AABB",
        "5942 33FFE004 20523456 2F",
        "62F190314D38474444",
        "2324010203040010",
        "2901 01 0004 63657274 0002 0102",
        "6905 11 000102030405060708090A0B0C0D0E0F 0002 0102 0000",
        "3101020301",
        "7F3178",
        "410C1AF80D32",
        "420C001AF8",
        "43020133C123",
        "46010A0B000100000005",
        "490201314D38474444394158385030343237",
        "58020133E0523400",
        "C302320264140A",
    )
]
SEEDS: dict[str, list[bytes]] = {
    "target_head": MESSAGES,
    "target_uds": MESSAGES,
    "target_uds_pair": [bytes.fromhex("03 22F1901234 62F1904142123401"), *MESSAGES],
    "target_kwp": MESSAGES,
    "target_obd": MESSAGES,
    "target_obd_vin": [b"\x49\x02\x01" + b"1M8GDM9AXKP042788", *MESSAGES],
    "target_session_timing": [bytes.fromhex("5003003201F4")],
    "target_records": [bytes.fromhex("02 F190 1234 F190 4142 1234 01"), bytes.fromhex("03 0000 0000 0000") + bytes(20)],
    "target_vin": [b"1M8GDM9AXKP042788"],
    "target_dtc": [b"C1234-56", b"u0100"],
    "target_identifier_text": [b"\xf1\x901M8GDM9AXKP042788", b"\xd0\x01\x00"],
}
"""Inputs worth mutating, by target name."""
