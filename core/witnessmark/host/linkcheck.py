"""Tries a link without changing anything in the vehicle, and says in plain words what is wrong.

In: an address. Out: findings, in the order in which they were made. Rules that hold here: what is sent are requests
that read (TesterPresent, and of ISO 15031-5 the supply voltage, 01 42, and on a K-line 01 00), and nothing at all when
only listening; what opening raises is a finding too; the link is closed whatever happens.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import dataclass

from witnessmark.clock import NS, Clock
from witnessmark.errors import LinkError, LocalError, WitnessmarkError
from witnessmark.host import plugins
from witnessmark.link.frame import Event, Frame, Message, Peer
from witnessmark.link.port import Capabilities, FrameLink, MessageLink
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.exchange import Exchange
from witnessmark.talk.keepalive import CURRENT_DATA, KWP_TESTER_PRESENT

VOLTAGE = b"\x01\x42"
"""Control module voltage: two bytes of millivolts in the answer 41 42 (SAE J1979, from memory)."""
LOW_V = 11.5
"""Below it a 12 V vehicle is poorly supplied. Common practice, no source."""
ASLEEP = "switch the ignition on; check the cable's plug, the kind of initialisation and the address (--ask 28:28)"
LISTEN_S = 1.0
TRIES = 5
STANDARD = tuple(Peer(0x7E0 + unit, 0x7E8 + unit) for unit in range(8))
"""The pairs of ISO 15765-4; a brake control unit often has another."""
ALL = Peer(0x7DF, None, functional=True)
ALL_ON_A_LINE = Peer(0x33, None, functional=True)
"""Whom ISO 14230-4 and ISO 9141-2 wake and ask for all units of the emissions (from memory)."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found. `do` is what to do about it, empty where nothing is wrong."""

    what: str
    do: str = ""

    @property
    def wrong(self) -> bool:
        return bool(self.do)


def parse_peer(text: str) -> Peer:
    """Read `760:768`, or `33` for all. Identifiers in hex; more than 3 digits mean 29 bits. Raises LocalError."""
    target, colon, source = text.partition(":")
    try:
        extended = len(target) > 3
        peer = Peer(int(target, 16), int(source, 16) if colon else None, not colon, extended)
    except ValueError as error:
        raise LocalError(f"{text!r} is no pair of addresses", hint="write TARGET:SOURCE in hex, as 760:768") from error
    bits = 29 if extended else 11
    for one in (peer.target, peer.source or 0):
        if one >= 1 << bits:
            raise LocalError(
                f"{one:X} does not fit {bits} bits", hint="up to 3 digits mean 11 bits (7FF), more 29 bits (1FFFFFFF)"
            )
    return peer


def check_link(text: str, clock: Clock, *, peer: Peer | None = None, listen_only: bool = False) -> Iterator[Finding]:
    """Open the link at `text`, listen, ask who answers, measure, close. Yield what is found."""
    try:
        link = plugins.open_link(text, clock, listen_only)
    except LinkError as error:
        yield Finding(f"cannot be opened ({error.kind.replace('_', ' ')}): {error.what}", error.hint)
        return
    except WitnessmarkError as error:
        yield Finding(f"cannot be opened: {error}", error.hint)
        return
    try:
        yield Finding(f"opens; {describe(link.capabilities)}")
        heard = yield from _listen(link, clock)
        if not listen_only and link.capabilities.can_send:
            yield from _ask(link, clock, peer, heard)
    except WitnessmarkError as error:
        yield Finding(f"failed: {error.what}", error.hint)
    finally:
        link.close()
    yield Finding("closed")


def describe(can: Capabilities) -> str:
    """Say what a link can do, in words."""
    listens = {
        "silent": "can listen without a trace",
        "acknowledging": "listens, but acknowledges frames",
        "no": "cannot listen only",
    }
    words = [listens[can.listen], "sends" if can.can_send else "does not send"]
    words.append("has a clock of its own" if can.device_clock else "has no clock of its own")
    if not can.shows_pending:
        words.append("hides response code 0x78")
    if can.fd:
        words.append("carries CAN FD")
    return ", ".join(words)


def _listen(link: FrameLink | MessageLink, clock: Clock) -> Generator[Finding, None, int]:
    """Listen for a while. Returns how many frames or messages were heard."""
    heard: list[Frame | Message] = []
    events: list[Event] = []
    end_ns = clock.mono_ns() + round(LISTEN_S * clock.rate * NS)
    while clock.mono_ns() < end_ns and not any(one.kind == "lost" for one in events):
        for one in link.receive(0.05):
            (events if isinstance(one, Event) else heard).append(one)  # type: ignore[arg-type]
    yield Finding(f"heard {len(heard)} frames or messages in {LISTEN_S:g} s of listening")
    yield from _judge(events, bool(heard))
    return len(heard)


def _judge(events: list[Event], heard: bool) -> Iterator[Finding]:
    """Say what the events of a link mean, each kind once."""
    kinds = {one.kind: one for one in reversed(events)}
    if lost := kinds.get("lost"):
        yield Finding(
            f"the interface went away: {lost.detail}",
            "check plug and cable; a recording that has been played ends so too",
        )
    if garbled := kinds.get("garbled"):
        raw = garbled.raw[:16].hex(" ").upper()
        yield Finding(
            f"garbled: bytes came that cannot be read ({raw}) {garbled.detail}".rstrip(),
            "check the interface's own speed, and that this adapter is the right one for it",
        )
    if off := kinds.get("bus_off"):
        yield Finding(f"bus off: {off.detail}", "wrong speed or a wiring fault: check bit rate, pins and termination")
    elif error := kinds.get("bus_error"):
        if heard:
            yield Finding(f"errors on the bus: {error.detail}", "check wiring and termination")
        elif "acknowledged" in error.detail or error.detail.startswith("no_answer"):
            yield Finding(
                f"nobody acknowledges: {error.detail}",
                "check supply and plug, switch the ignition on to wake the vehicle, and try another bit rate",
            )
        else:
            yield Finding(f"wrong speed, it seems: only errors are heard ({error.detail})", "try another bit rate")
    if refused := kinds.get("refused"):
        yield Finding(
            f"the interface refuses: {refused.detail or refused.raw.hex()}", "see what it says, and its manual"
        )


def _ask(link: FrameLink | MessageLink, clock: Clock, peer: Peer | None, heard: int) -> Iterator[Finding]:
    talk = Conversation(link, clock)
    on_a_line = link.capabilities.half_duplex
    for one in STANDARD if peer is None else (peer,):
        talk.expect(one)
    whom = peer or (ALL_ON_A_LINE if on_a_line else ALL)
    present = b"\x3e\x00"
    if on_a_line:
        present = CURRENT_DATA if whom.functional else KWP_TESTER_PRESENT
    exchange, events = _exchange(talk, whom, present)
    asleep = [one for one in events if one.kind == "refused"] if on_a_line else []
    yield from _judge([one for one in events if one not in asleep], bool(heard) or bool(exchange.replies))
    if talk.failure is not None:
        yield Finding(f"failed while asking: {talk.failure.what}", talk.failure.hint)
        return
    if asleep:
        yield Finding(f"no answer: {asleep[0].detail}", ASLEEP)
        return
    sources = sorted(one for one in {reply.source for reply in exchange.replies} if one is not None)
    if not exchange.replies:
        yield _silent(peer, heard)
        return
    yield Finding(f"answers: {', '.join(f'{one:X}' for one in sources) or 'one, unnamed'}")
    if whom.functional and not on_a_line:
        whom = next((one for one in STANDARD if one.source in sources), whom)
    if whom.functional and not on_a_line:
        return
    yield from _round_trip(talk, whom, present)
    yield from _voltage(talk, whom)


def _silent(peer: Peer | None, heard: int) -> Finding:
    return Finding(
        f"no answer from {'the standard addresses' if peer is None else f'{peer.target:X}'}",
        "others speak: ask the unit at its own address with --ask TARGET:SOURCE; then see that the ignition is on"
        if heard
        else "no traffic either: check plug, supply at the socket, ignition and bit rate",
    )


def _round_trip(talk: Conversation, who: Peer, present: bytes) -> Iterator[Finding]:
    times: list[float] = []
    while len(times) < TRIES:
        exchange, _ = _exchange(talk, who, present)
        if not exchange.answers or exchange.left is None:  # what ended in silence is not asked again at once
            after = f"{len(times)} requests were answered, the next was not" if times else "asked again, it was silent"
            yield Finding(after, "check plug and wiring; a recording answers only as often as it was asked")
            break
        first_ns = min(one.first.mono_ns for one in exchange.answers.values())
        times.append((first_ns - exchange.left.mono_ns) / 1e6)
    if times:
        yield Finding(f"round trip {sorted(times)[len(times) // 2]:.1f} ms (median of {len(times)})")


def _voltage(talk: Conversation, who: Peer) -> Iterator[Finding]:
    exchange, _ = _exchange(talk, who, VOLTAGE)
    answer = exchange.answer
    if answer is None or answer.payload[:2] != b"\x41\x42" or len(answer.payload) < 4:
        yield Finding("supply voltage: not known here")
        return
    volts = int.from_bytes(answer.payload[2:4], "big") / 1000
    low = volts < LOW_V
    yield Finding(f"supply {volts:.1f} V" + (", which is low" if low else ""), "connect a support" if low else "")


def _exchange(talk: Conversation, peer: Peer, payload: bytes) -> tuple[Exchange, list[Event]]:
    exchange = talk.begin(peer, payload)
    events: list[Event] = []
    while True:  # at least once: what did not leave has ended already, and why is still to be heard
        events += [one for one in talk.pump(0.005) if isinstance(one, Event)]
        if not exchange.open:
            return exchange, events
