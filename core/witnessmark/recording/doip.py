"""DoIP in a packet capture: packets in, ISO 13400-2 messages out, each with who sent it to whom and when.

Rules: TCP streams are put in order first (`stream`), one UDP datagram is one message. Port 13400 is DoIP; so is a
stream or datagram on another port that begins with a right header of a known payload type. What breaks the standard is
an `Odd` message with its reason, not damage of the file. A message's time is that of the packet that completed it.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from witnessmark.errors import InputError, PeerError
from witnessmark.recording.ethernet import SYN, End, Part, read_part
from witnessmark.recording.packet import Packet
from witnessmark.recording.stream import Direction, Run
from witnessmark.wire import doip


@dataclass(frozen=True, slots=True)
class DoipMessage:
    """One message as sent. `refused` is why it breaks the standard, empty when it does not; then `payload` is set.

    `payload_type` is what its header says either way; `source` and `target` are `address:port`.
    """

    time_ns: int
    source: str
    target: str
    over: str
    version: int
    payload_type: int
    payload: doip.Payload | None
    raw: bytes
    refused: str = ""
    packet: int = 0


@dataclass(frozen=True, slots=True)
class StreamLoss:
    """Bytes of a stream that the capture does not hold, the beginning (`rest`) of a message that it does not hold
    whole, or both, where the bytes are missing behind that beginning."""

    time_ns: int
    source: str
    target: str
    missing: int
    rest: bytes
    packet: int = 0


@dataclass(slots=True)
class _Flow:
    direction: Direction = field(default_factory=Direction)
    messages: doip.Stream = field(default_factory=doip.Stream)
    spoken: bool = False
    time_ns: int = 0
    packet: int = 0


def read_doip(
    packets: Iterable[Packet], name: str, report: Callable[[InputError], None]
) -> Iterator[DoipMessage | StreamLoss]:
    """Yield the DoIP messages in the order in which they were complete, and what is missing of them.

    All packets are read first. `report` gets those that could not be read.
    """
    return iter(sorted(_read(packets, name, report), key=lambda one: one.packet))


def _read(
    packets: Iterable[Packet], name: str, report: Callable[[InputError], None]
) -> Iterator[DoipMessage | StreamLoss]:
    flows: dict[tuple[End, End], _Flow] = {}
    for packet in packets:
        try:
            part = read_part(packet)
        except ValueError as error:
            report(InputError(str(error), place=f"{name} packet {packet.number}", hint="the packet is left out"))
            continue
        if part is None:
            continue
        if part.sequence is None:
            yield from _datagram(part, packet)
            continue
        flow = flows.setdefault((part.source, part.target), _Flow())
        runs: list[Run] = []
        sequence = part.sequence
        if part.flags & SYN:
            runs, sequence = flow.direction.open(part.sequence), part.sequence + 1
        runs += flow.direction.feed(sequence & 0xFFFF_FFFF, part.data, packet.time_ns, packet.number)
        for run in runs:
            yield from _messages(flow, run, (part.source, part.target))
    for ends, flow in flows.items():
        for run in flow.direction.finish():
            yield from _messages(flow, run, ends)
        yield from _leftover(flow, ends)


def _datagram(part: Part, packet: Packet) -> Iterator[DoipMessage]:
    if not _is_doip(part.source, part.target, part.data):
        return
    ends = (_show(part.source), _show(part.target))
    try:
        found: doip.Message | doip.Refused = doip.decode(part.data)
    except PeerError as error:
        found = doip.Refused(error.reason, 0, False, part.data)
    yield _message(found, packet.time_ns, ends, "UDP", packet.number)


def _messages(flow: _Flow, run: Run, ends: tuple[End, End]) -> Iterator[DoipMessage | StreamLoss]:
    shown = (_show(ends[0]), _show(ends[1]))
    if run.fresh:
        # What is missing belongs to the message that it cut off: one loss, not two.
        cut_off = run.missing > 0 and flow.spoken and bool(flow.messages.rest)
        yield from _leftover(flow, ends, run.missing)
        flow.messages = doip.Stream()
        flow.spoken = flow.spoken or _is_doip(*ends, run.data)
        if flow.spoken and run.missing and not cut_off:
            yield StreamLoss(run.time_ns, *shown, run.missing, b"", run.number)
    if not flow.spoken:
        return
    flow.time_ns, flow.packet = run.time_ns, run.number
    for found in flow.messages.feed(run.data):
        yield _message(found, run.time_ns, shown, "TCP", run.number)


def _leftover(flow: _Flow, ends: tuple[End, End], missing: int = 0) -> Iterator[StreamLoss]:
    if flow.spoken and flow.messages.rest:
        yield StreamLoss(flow.time_ns, _show(ends[0]), _show(ends[1]), missing, flow.messages.rest, flow.packet)


def _is_doip(source: End, target: End, data: bytes) -> bool:
    if doip.PORT in (source.port, target.port):
        return True
    if len(data) < doip.HEADER.size:
        return False
    version, inverse, payload_type, length = doip.HEADER.unpack_from(data)
    return version ^ inverse == 0xFF and version in (1, 2, 3, 4, 0xFF) and _is_known(payload_type, length)


def _is_known(payload_type: int, length: int) -> bool:
    if length > 1 << 16:
        return False
    try:
        return not isinstance(doip.decode_payload(payload_type, bytes(length)), doip.Unknown)
    except PeerError:
        return False


def _message(
    found: doip.Message | doip.Refused, time_ns: int, ends: tuple[str, str], over: str, number: int
) -> DoipMessage:
    version, payload_type = found.raw[:1], found.raw[2:4]
    payload = found.payload if isinstance(found, doip.Message) else None
    return DoipMessage(
        time_ns,
        *ends,
        over,
        version[0] if version else 0,
        int.from_bytes(payload_type, "big"),
        payload,
        found.raw,
        found.reason if isinstance(found, doip.Refused) else "",
        number,
    )


def _show(end: End) -> str:
    address = ipaddress.ip_address(end.address)
    return f"[{address}]:{end.port}" if address.version == 6 else f"{address}:{end.port}"
