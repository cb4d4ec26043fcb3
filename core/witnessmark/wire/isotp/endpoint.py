"""One physical peer on CAN, both roles at once (full duplex): ISO 15765-2:2016 without I/O.

In: messages to send, the data of frames that carry the peer's identifier, the time. Out: indications, and the data of
frames that may leave. Rules: time is monotonic ns and is passed in, give a received frame's own stamp; nothing leaves
except through `outgoing`; a frame that breaks the standard never raises, it comes back as `Ignored` with its bytes.

The loop that owns the wire calls `receive` for each frame, then `tick`, then sends what `outgoing` gives, and sleeps
until `deadline_ns`.
"""

from __future__ import annotations

from collections import deque

from witnessmark.errors import LocalError, PeerError
from witnessmark.wire.isotp.address import Address
from witnessmark.wire.isotp.indication import Ignored, Indication
from witnessmark.wire.isotp.pdu import FlowControl, SingleFrame, encode, parse
from witnessmark.wire.isotp.receiver import Receiver
from witnessmark.wire.isotp.settings import Settings
from witnessmark.wire.isotp.table import CF_OUT, FC_OUT, FF_OUT, IDLE, SF_OUT
from witnessmark.wire.isotp.transmitter import Transmitter

OUT = (FC_OUT, SF_OUT, FF_OUT, CF_OUT)  # the states that wait for the link's confirmation
BURST = 16
"""The most frames that one call of `outgoing` gives, so that a stop never waits behind a long message."""


class Endpoint:
    """Both roles towards one peer.

    For functional requests use an address whose `tx_id` (or `tx_ext`) is the functional one; answers come to each
    peer's own endpoint.
    """

    def __init__(self, address: Address, settings: Settings | None = None) -> None:
        self.address = address
        self.settings = settings or Settings()
        self._told: list[Indication] = []
        self._prefix = b"" if address.tx_ext is None else bytes((address.tx_ext,))
        self._receiver = Receiver(self.settings, self._told)
        self._transmitter = Transmitter(self.settings, self._prefix, self._told)
        self._unconfirmed: deque[tuple[Receiver | Transmitter, int]] = deque()

    @property
    def sending(self) -> bool:
        """Whether a message is on its way out."""
        return self._transmitter.state != IDLE

    @property
    def receiving(self) -> bool:
        """Whether a segmented message is on its way in."""
        return self._receiver.state != IDLE

    @property
    def states(self) -> tuple[str, str]:
        """The states of the table: receive, send."""
        return self._receiver.state, self._transmitter.state

    def send(self, payload: bytes, now_ns: int, functional: bool = False) -> None:
        """Take a message to send (N_USData.request); its frames come out of `outgoing`, `Sent` or `Failed` follows.

        Raises LocalError, changing nothing, while another message is being sent, for an empty or too long message, and
        for a functional one that does not fit a single frame (9.3).
        """
        if self.sending:
            raise LocalError("a message is being sent to this peer", hint="wait for it to be sent or to fail")
        if not 1 <= len(payload) <= 0xFFFF_FFFF:
            raise LocalError(f"a message of {len(payload)} bytes", hint="send between 1 byte and 4294967295 bytes")
        if functional and len(payload) > self._transmitter.single_room:
            raise LocalError(
                f"a functional message of {len(payload)} bytes", hint=f"at most {self._transmitter.single_room} bytes"
            )
        self._transmitter.start(bytes(payload), now_ns)

    def receive(self, data: bytes, now_ns: int, functional: bool = False) -> list[Indication]:
        """Let in the data of one frame that carries the peer's identifier; `now_ns` is when it arrived.

        A frame with another address byte, and a functional frame other than a single frame, are ignored. Timers that
        ran out before this frame take effect first.
        """
        self._expire(now_ns)
        raw = bytes(data)
        address = self.address
        if address.rx_ext is not None and raw[:1] != bytes((address.rx_ext,)):
            self._told.append(Ignored("foreign", raw, now_ns))
            return self._tell()
        try:
            pdu = parse(raw, ext=address.has_ext, fd=self.settings.fd)
        except PeerError as error:
            self._told.append(Ignored(error.reason, raw, now_ns))
            return self._tell()
        if functional and not isinstance(pdu, SingleFrame):
            self._told.append(Ignored("functional_segmented", raw, now_ns))
        elif isinstance(pdu, FlowControl):
            self._transmitter.obey(pdu, raw, now_ns)
        else:
            self._receiver.take_in(pdu, raw, now_ns, functional)
        return self._tell()

    def tick(self, now_ns: int) -> list[Indication]:
        """Let timers that have run out take effect and return what there is to tell."""
        self._expire(now_ns)
        return self._tell()

    def outgoing(self, now_ns: int) -> list[bytes]:
        """Return the data of the frames that may leave now, flow control first; they count as handed to the link.

        At most BURST frames a call; `deadline_ns` is at once when there are more.
        """
        self._expire(now_ns)
        frames: list[bytes] = []
        receiver, transmitter = self._receiver, self._transmitter
        if receiver.due is not None:
            flow_control = receiver.taken(now_ns)
            frames.append(encode(flow_control, prefix=self._prefix, padding=self.settings.padding))
            self._hand_over(receiver, now_ns)
        while len(frames) < BURST and transmitter.due_ns is not None and transmitter.due_ns <= now_ns:
            frames.append(transmitter.taken(now_ns))
            self._hand_over(transmitter, now_ns)
        return frames

    def sent(self, now_ns: int) -> None:
        """Say that the link has put the oldest frame handed out on the bus. Only with `Settings.confirms`."""
        if self._unconfirmed:
            role, serial = self._unconfirmed.popleft()
            role.left(serial, now_ns)

    def hold(self, held: bool, now_ns: int) -> None:
        """Say that we have no room (`held`): flow control says WAIT, up to N_WFTmax times. False lets it go on."""
        self._receiver.hold(held, now_ns)

    def deadline_ns(self) -> int | None:
        """Return when `tick` or `outgoing` next has something to do; None while nothing is going on."""
        receiver, transmitter = self._receiver, self._transmitter
        moments = [
            receiver.timer_ns,
            receiver.due_since_ns if receiver.due is not None else None,
            transmitter.timer_ns,
            transmitter.due_ns,
            self._told[0].at_ns if self._told else None,
        ]
        return min((moment for moment in moments if moment is not None), default=None)

    def reset(self, now_ns: int) -> list[Indication]:
        """End both roles: no further frame leaves. What was in progress comes back as `Failed` with reason `reset`."""
        self._receiver.reset(now_ns)
        self._transmitter.reset(now_ns)
        self._unconfirmed.clear()
        return self._tell()

    def _hand_over(self, role: Receiver | Transmitter, now_ns: int) -> None:
        if self.settings.confirms:
            self._unconfirmed.append((role, role.serial))
        else:
            role.left(role.serial, now_ns)

    def _expire(self, now_ns: int) -> None:
        for role in (self._receiver, self._transmitter):
            if role.timer_ns is not None and role.timer_ns <= now_ns:
                if role.state in OUT:  # never confirmed: taken as dropped, so that later confirmations keep their order
                    self._unconfirmed.remove((role, role.serial))
                role.expire(now_ns)

    def _tell(self) -> list[Indication]:
        told = self._told.copy()
        self._told.clear()
        return told
