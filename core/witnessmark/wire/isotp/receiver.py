"""The receiving role: N_PDUs and time in, whole messages and our flow control out. ISO 15765-2:2016, 9.8.

Rules: what follows what stands in `table`; here is what the actions do and how a consecutive frame is classified. The
length of the first frame's data is RX_DL for the message: a middle consecutive frame of another length is ignored, and
so is a last one too short for what is missing (9.6.4, from memory).
"""

from __future__ import annotations

from typing import cast

from witnessmark.wire.isotp.indication import Failed, FirstFrameSeen, Ignored, Indication, Reason, Received
from witnessmark.wire.isotp.pdu import CONTINUE, OVERFLOW, WAIT, ConsecutiveFrame, FirstFrame, FlowControl, SingleFrame
from witnessmark.wire.isotp.settings import Settings
from witnessmark.wire.isotp.table import AWAIT_CF, FC_DUE, FC_OUT, HELD, IDLE, Machine


class Receiver:
    """One reception at a time. `due` is the flow control that may leave, `timer_ns` when `expire` has to be called."""

    def __init__(self, settings: Settings, told: list[Indication]) -> None:
        self._settings = settings
        self._told = told
        self._machine = Machine("receive", {name: getattr(self, f"_{name}") for name in _ACTIONS})
        self.due: FlowControl | None = None
        self.due_since_ns = 0
        self.timer_ns: int | None = None
        self.serial = 0  # of the frame handed out last, so that a late confirmation is not taken for another frame's
        self._held = False
        self._waits = 0
        self._now_ns = 0
        self._raw = b""
        self._pdu: SingleFrame | FirstFrame | ConsecutiveFrame | None = None
        self._clear()

    @property
    def state(self) -> str:
        return self._machine.state

    def take_in(
        self, pdu: SingleFrame | FirstFrame | ConsecutiveFrame, raw: bytes, now_ns: int, functional: bool
    ) -> None:
        """Let one frame in, as the state has it. A functional one is a single frame."""
        self._pdu, self._raw, self._now_ns = pdu, raw, now_ns
        match pdu:
            case ConsecutiveFrame():
                event = self._meaning(pdu)
            case SingleFrame():
                event = "single_functional" if functional else "single"
            case FirstFrame():
                event = "first" if pdu.length <= self._settings.max_length else "first_too_long"
        self._fire(event)

    def expire(self, now_ns: int) -> None:
        """Let the timer that has run out take effect."""
        self._raw, self._now_ns = b"", now_ns
        overrun = self.state == HELD and self._waits >= self._settings.wft_max
        self._fire("wait_overrun" if overrun else "timeout")

    def taken(self, now_ns: int) -> FlowControl:
        """Return the flow control that is due and take it as handed to the link."""
        flow_control = self.due
        assert flow_control is not None
        self.due = None
        self.serial += 1
        self._now_ns = now_ns
        if flow_control.status == CONTINUE:
            self._fire("taken")
        return flow_control

    def left(self, serial: int, now_ns: int) -> None:
        """Take a flow control frame as put on the bus. Only the one that is being waited for changes anything."""
        if serial == self.serial and self.state == FC_OUT:
            self._now_ns = now_ns
            self._fire("left")

    def hold(self, held: bool, now_ns: int) -> None:
        """Answer WAIT instead of CONTINUE from now on (`held`), or go on."""
        self._held, self._raw, self._now_ns = held, b"", now_ns
        if held and self.state == FC_DUE:
            self._fire("hold")
        elif not held and self.state == HELD:
            self._fire("release")

    def reset(self, now_ns: int) -> None:
        """End the reception in progress, if any, and withdraw the flow control that is due."""
        self._raw, self._now_ns = b"", now_ns
        self.due = None
        if self.state != IDLE:
            self._fire("reset")

    def _meaning(self, pdu: ConsecutiveFrame) -> str:
        if self.state not in (AWAIT_CF, FC_OUT):
            return "stray"
        size = len(self._raw)
        last = len(pdu.payload) >= self._missing
        if size > self._rx_dl or (size < self._rx_dl and not last):
            return "cf_length"
        if pdu.sequence != self._sequence:
            return "wrong_sn"
        if last:
            return "last"
        return "block_end" if self._left_in_block == 1 else "next"

    def _fire(self, event: str) -> None:
        self._machine.fire(event)
        if self.state == FC_DUE and self._held:
            self._machine.fire("hold")
        elif self.state == IDLE:
            self.timer_ns = None

    def _clear(self) -> None:
        self._length = self._missing = self._rx_dl = self._sequence = self._left_in_block = self._first_ns = 0
        self._parts: list[bytes] = []
        self._frames: list[bytes] = []

    # The actions of the table.

    def _deliver_single(self) -> None:
        pdu = self._pdu
        assert isinstance(pdu, SingleFrame)
        self._told.append(Received(pdu.payload, self._now_ns, self._now_ns, (self._raw,)))

    def _begin(self) -> None:
        pdu = self._pdu
        assert isinstance(pdu, FirstFrame)
        self._length, self._missing = pdu.length, pdu.length - len(pdu.payload)
        self._rx_dl, self._sequence, self._first_ns = len(self._raw), 1, self._now_ns
        self._parts, self._frames = [pdu.payload], [self._raw]
        self._told.append(FirstFrameSeen(pdu.length, self._now_ns))

    def _append(self) -> None:
        pdu = self._pdu
        assert isinstance(pdu, ConsecutiveFrame)
        self._parts.append(pdu.payload)
        self._frames.append(self._raw)
        self._missing -= len(pdu.payload)
        self._sequence = (self._sequence + 1) & 0x0F
        self._left_in_block -= 1

    def _deliver(self) -> None:
        payload = b"".join(self._parts)[: self._length]
        self._told.append(Received(payload, self._first_ns, self._now_ns, tuple(self._frames)))
        self._clear()

    def _fail(self) -> None:
        row = self._machine.row
        frames, raw = tuple(self._frames), self._raw
        self._told.append(Failed("receive", cast(Reason, row.reason), raw, row.state, self._now_ns, frames))
        self.due = None
        self._clear()

    def _ignore(self) -> None:
        self._told.append(Ignored(self._machine.row.reason, self._raw, self._now_ns))

    def _refuse(self) -> None:
        self._offer(OVERFLOW)
        row = self._machine.row
        self._told.append(Failed("receive", "overflow", self._raw, row.state, self._now_ns, (self._raw,)))

    def _offer_continue(self) -> None:
        self._left_in_block = self._settings.block_size
        self._waits = 0
        self._offer(CONTINUE)

    def _offer_wait(self) -> None:
        self._waits += 1
        self._offer(WAIT)

    def _offer(self, status: int) -> None:
        self.due = FlowControl(status, self._settings.block_size, self._settings.st_min)
        self.due_since_ns = self._now_ns
        self.timer_ns = None

    def _withdraw(self) -> None:
        self.due = None

    def _start_n_ar(self) -> None:
        self.timer_ns = self._now_ns + self._settings.n_ar_ns

    def _start_n_br(self) -> None:
        self.timer_ns = self._now_ns + self._settings.n_br_ns

    def _start_n_cr(self) -> None:
        self.timer_ns = self._now_ns + self._settings.n_cr_ns


_ACTIONS = (
    *("deliver_single", "begin", "append", "deliver", "fail", "ignore", "refuse", "withdraw"),
    *("offer_continue", "offer_wait", "start_n_ar", "start_n_br", "start_n_cr"),
)
