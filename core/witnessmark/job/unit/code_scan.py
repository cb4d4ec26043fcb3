"""Whom a scan of trouble codes asks, and what each control unit's answer says.

A bay and an exchange flow in, requests and codes by control unit flow out. Rules that hold here: everybody is asked
first, where the map's network has an address for that (19 02 of ISO 14229-1, 12.3; then 03 of ISO 15031-5, which units
that know no 19 answer), the job's own control unit last and by itself; a unit is named by the address it answers from;
it is only read. What answers nobody is no unit without codes: it is not in the record at all.
"""

from __future__ import annotations

from witnessmark.errors import InputError, PeerError
from witnessmark.job.bay import Bay
from witnessmark.link.frame import Peer
from witnessmark.mapping.model import ProtocolMap
from witnessmark.talk.exchange import Exchange
from witnessmark.wire import can_id
from witnessmark.wire.dtc import format_code
from witnessmark.wire.obd import messages as obd

CODES = bytes.fromhex("190209")
"""Codes that fail now or are confirmed: bits 0 and 3 of the status (ISO 14229-1:2020, annex D.2)."""

STANDARD = can_id.FUNCTIONAL_11, can_id.FUNCTIONAL_29


def questions(bay: Bay, known: ProtocolMap | None) -> list[tuple[Peer, bytes]]:
    """Return the requests of one scan in order; the last goes to the job's own control unit. Gets ready to hear all."""
    address = None if known is None else known.address
    asked: list[tuple[Peer, bytes]] = []
    if address is not None and address.functional and bay.talk.link.capabilities.functional:
        target, extended = int(address.functional, 16), address.bits == 29
        everybody = Peer(target, functional=True, extended=extended)
        asked = [(everybody, CODES), (everybody, obd.codes())]
        if address.transport == "iso15765-2" and target in STANDARD:
            for request in can_id.standard_requests(extended):
                bay.talk.expect(Peer(request, can_id.partner(request, extended), extended=extended))
    return [*asked, (bay.peer, CODES)]


def found_by(exchange: Exchange, ours: Peer) -> dict[str, tuple[str, ...]]:
    """Return the codes that other control units than `ours` report in this exchange, by the address of each.

    An answer that is not whole, or a refusal, says nothing about codes; it stands in the exchange.
    """
    found = {}
    for source, reply in exchange.answers.items():
        if source is None or source == ours.source or reply.verdict != "positive":
            continue
        try:
            found[f"{source:X}"] = codes_in(reply.payload)
        except (InputError, PeerError):
            continue
    return found


def codes_in(payload: bytes) -> tuple[str, ...]:
    """Return the codes of an answer 59 02, without those whose status answers to no bit asked for, or of an answer 43.

    Raises InputError or PeerError when the records are not whole.
    """
    if payload[:1] != b"\x59":
        return tuple(format_code(one) for one in obd.read_codes(payload))
    records = payload[3:]
    if len(records) % 4:
        raise InputError(f"the answer {payload.hex().upper()} is not whole", place="scan", hint="read again")
    found = (records[at : at + 4] for at in range(0, len(records), 4))
    return tuple(format_code(one[:3]) for one in found if one[3] & CODES[2])
