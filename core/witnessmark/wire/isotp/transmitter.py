"""The sending role: a message and the other side's flow control in, frames out when they may leave. ISO 15765-2:2016.

Rules: what follows what stands in `table`; here is what the actions do. STmin counts from the moment the frame before
left (9.6.5.4). The block size and separation time of the latest CONTINUE hold. One message at a time.
"""

from __future__ import annotations

from typing import cast

from witnessmark.wire.isotp.indication import Failed, Ignored, Indication, Reason, Sent
from witnessmark.wire.isotp.pdu import (
    CONTINUE,
    OVERFLOW,
    WAIT,
    ConsecutiveFrame,
    FirstFrame,
    FlowControl,
    SingleFrame,
    encode,
    single_room,
    st_min_ns,
)
from witnessmark.wire.isotp.settings import Settings
from witnessmark.wire.isotp.table import AWAIT_FC, CF_DUE, CF_OUT, FF_DUE, FF_OUT, IDLE, SF_DUE, SF_OUT, Machine


class Transmitter:
    """One transmission at a time. A frame may leave at `due_ns`; `timer_ns` is when `expire` has to be called."""

    def __init__(self, settings: Settings, prefix: bytes, told: list[Indication]) -> None:
        self._settings = settings
        self._prefix = prefix
        self._told = told
        self._machine = Machine("send", {name: getattr(self, f"_{name}") for name in _ACTIONS})
        self.due_ns: int | None = None
        self.timer_ns: int | None = None
        self.serial = 0  # of the frame handed out last, so that a late confirmation is not taken for another frame's
        self._now_ns = 0
        self._raw = b""
        self._payload = b""
        self._offset = self._sequence = self._waits = 0
        self._block_size = self._left_in_block = self._st_min_ns = 0

    @property
    def state(self) -> str:
        return self._machine.state

    @property
    def single_room(self) -> int:
        """How many bytes go into one single frame."""
        return single_room(self._settings.tx_dl, len(self._prefix))

    def start(self, payload: bytes, now_ns: int) -> None:
        """Take a message to send. The caller has seen to it that the state is idle and the length possible."""
        self._payload, self._now_ns = payload, now_ns
        self._offset, self._sequence, self._waits = 0, 1, 0
        self._fire("send_single" if len(payload) <= self.single_room else "send_first")

    def taken(self, now_ns: int) -> bytes:
        """Return the frame that is due and take it as handed to the link."""
        self._now_ns = now_ns
        self.serial += 1
        frame = self._frame()
        self._fire("taken")
        return frame

    def left(self, serial: int, now_ns: int) -> None:
        """Take a frame as put on the bus. Only the one that is being waited for changes anything."""
        if serial != self.serial or self.state not in (SF_OUT, FF_OUT, CF_OUT):
            return
        self._now_ns = now_ns
        if self.state != CF_OUT:
            self._fire("left")
        elif self._offset >= len(self._payload):
            self._fire("last_left")
        else:
            self._fire("block_left" if self._block_done else "left")

    def obey(self, pdu: FlowControl, raw: bytes, now_ns: int) -> None:
        """Let one flow control frame in, as the state has it."""
        if self.state == CF_OUT and self._block_done:  # it answers the frame, so that frame has left
            self.left(self.serial, now_ns)
        self._raw, self._now_ns = raw, now_ns
        event = _EVENTS.get(pdu.status, "invalid_fs")
        if event == "wait" and self._waits >= self._settings.wft_max:
            event = "wait_overrun"
        if event == "continue" and self.state in (FF_OUT, AWAIT_FC):
            self._block_size, self._st_min_ns = pdu.block_size, st_min_ns(pdu.st_min)
        self._fire(event)

    def expire(self, now_ns: int) -> None:
        """Let the timer that has run out take effect."""
        self._raw, self._now_ns = b"", now_ns
        self._fire("timeout")

    def reset(self, now_ns: int) -> None:
        """End the transmission in progress, if any: no further frame of it leaves."""
        self._raw, self._now_ns = b"", now_ns
        if self.state != IDLE:
            self._fire("reset")

    @property
    def _block_done(self) -> bool:
        return self._block_size > 0 and self._left_in_block == 0 and self._offset < len(self._payload)

    def _frame(self) -> bytes:
        settings, payload, offset = self._settings, self._payload, self._offset
        room = settings.tx_dl - len(self._prefix)
        pdu: SingleFrame | FirstFrame | ConsecutiveFrame
        if self.state == SF_DUE:
            pdu = SingleFrame(payload)
            self._offset = len(payload)
        elif self.state == FF_DUE:
            self._offset = room - (2 if len(payload) <= 4095 else 6)
            pdu = FirstFrame(len(payload), payload[: self._offset])
        else:
            self._offset = offset + room - 1
            pdu = ConsecutiveFrame(self._sequence, payload[offset : self._offset])
            self._sequence = (self._sequence + 1) & 0x0F
            self._left_in_block -= 1
        return encode(pdu, prefix=self._prefix, padding=settings.padding)

    def _fire(self, event: str) -> None:
        self._machine.fire(event)
        if self.state == IDLE:
            self._payload = b""
            self.due_ns = self.timer_ns = None

    # The actions of the table.

    def _due_now(self) -> None:
        self._due_at(self._now_ns)

    def _due_after_st_min(self) -> None:
        self._due_at(self._now_ns + self._st_min_ns)

    def _due_at(self, due_ns: int) -> None:
        self.due_ns = due_ns
        self.timer_ns = due_ns + self._settings.n_cs_ns if self.state == CF_DUE else None

    def _start_n_as(self) -> None:
        self.due_ns, self.timer_ns = None, self._now_ns + self._settings.n_as_ns

    def _start_n_bs(self) -> None:
        self.due_ns, self.timer_ns = None, self._now_ns + self._settings.n_bs_ns

    def _new_block(self) -> None:
        self._left_in_block = self._block_size
        self._waits = 0

    def _count_wait(self) -> None:
        self._waits += 1

    def _confirm(self) -> None:
        self._told.append(Sent(self._now_ns))

    def _fail(self) -> None:
        row = self._machine.row
        self._told.append(Failed("send", cast(Reason, row.reason), self._raw, row.state, self._now_ns))

    def _ignore(self) -> None:
        self._told.append(Ignored(self._machine.row.reason, self._raw, self._now_ns))


_EVENTS = {CONTINUE: "continue", WAIT: "wait", OVERFLOW: "overflow"}
_ACTIONS = (
    *("due_now", "due_after_st_min", "start_n_as", "start_n_bs", "new_block", "count_wait", "confirm", "fail"),
    "ignore",
)
