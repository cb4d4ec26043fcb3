"""Every shipped adapter with a brake control unit at its far end, for what must hold whatever the adapter.

`Vehicle` is one unit that answers the map of `tests.job.stand`; a `Wire` puts it behind an adapter's own far end.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from typing import Any

from tests.job.stand import SESSION, answers
from tests.plugins.canbus.far_ends import SlcanFarEnd
from tests.plugins.kline.unit import KlineUnit
from tests.plugins.practice.far_end import PracticeFarEnd
from tests.plugins.prompt.far_ends import PromptFrameFarEnd, PromptMessageFarEnd

from witnessmark.clock import SystemClock
from witnessmark.link.frame import Frame, Peer
from witnessmark.testing import Reply
from witnessmark.testing.verdict import pause

START, STOP = bytes.fromhex("3101030101"), bytes.fromhex("31020301")
FRAMES = Peer(0x7A0, 0x7A8)


class Vehicle:
    """Answers from a table at once. `replies` says otherwise for a request; `heard` is all that came."""

    def __init__(self) -> None:
        self.replies: dict[bytes, Reply] = {}
        self.heard: list[bytes] = []
        table = answers()
        self._table = {request: Reply(tuple(answer for _, answer in said)) for request, said in table.items()}
        self._table[SESSION] = Reply((bytes.fromhex("500300320032"),))  # P2* 500 ms
        self._table[START] = Reply((bytes.fromhex("71010301"),))
        self._table[bytes.fromhex("3E01")] = Reply((b"\x7e",))

    def hear(self, payload: bytes) -> Reply:
        self.heard.append(payload)
        return self.replies.get(payload, self._table.get(payload, Reply()))


class FrameWire:
    """An adapter of frames: a thread takes requests off the bus and puts the answers on it."""

    peer = FRAMES

    def __init__(self, far: Callable[[], Any]) -> None:
        self.address_of_unit: dict[str, object] = {"request": "7A0", "answer": "7A8"}
        self.far = far()
        self.address: str = self.far.address
        self.vehicle = Vehicle()
        self._over = False
        self._saying = threading.Lock()
        self._thread = threading.Thread(target=self._live, daemon=True)
        self._thread.start()

    def say(self, payloads: Sequence[bytes]) -> None:
        """Put frames on the bus that are not asked for."""
        self._say([Frame(0x200, payload, SystemClock().stamp()) for payload in payloads])

    def garble(self) -> None:
        with self._saying:
            self.far.write(self.far.garbage)

    def unplug(self) -> None:
        """Pull the cable, whatever is going on."""
        if not self._over:
            self._over = True
            self._thread.join()
            self.far.unplug()

    def close(self) -> None:
        self.unplug()
        self.far.close()

    def _live(self) -> None:
        while not self._over:
            for frame in self.far.heard(1, 0.02):
                if frame.can_id == FRAMES.target:
                    self._answer(self.vehicle.hear(frame.data[1 : 1 + frame.data[0]]))

    def _answer(self, reply: Reply) -> None:
        pause(reply.late_s)
        assert FRAMES.source is not None
        for payload in reply.answers:
            data = bytes((len(payload), *payload))
            self._say([Frame(FRAMES.source, data, SystemClock().stamp())])

    def _say(self, frames: Sequence[Frame]) -> None:
        with self._saying:
            self.far.say(frames)


class MessageWire:
    """An adapter of whole messages, whose far end has a thread of its own."""

    def __init__(self, far: Callable[[], Any], **address_of_unit: object) -> None:
        self.far = far()
        self.address: str = self.far.address
        self.peer: Peer = self.far.peer
        self.address_of_unit = address_of_unit
        self.vehicle = Vehicle()
        self.far._script = self.vehicle  # it asks this one what to answer

    def say(self, payloads: Sequence[bytes]) -> None:
        for _ in payloads:
            self.garble()

    def garble(self) -> None:
        if isinstance(self.far, KlineUnit):
            self.far._write(self.far.garbage)
        else:
            self.far.teller.say(self.far.garbage)

    def unplug(self) -> None:
        self.far.unplug()

    def close(self) -> None:
        self.far.close()


Wire = FrameWire | MessageWire
KLINE = {"request": "11", "answer": "11", "bits": 8, "transport": "iso14230"}
WIRES: dict[str, Callable[[], Wire]] = {
    "canbus": lambda: FrameWire(SlcanFarEnd),
    "prompt frames": lambda: FrameWire(PromptFrameFarEnd),
    "prompt messages": lambda: MessageWire(PromptMessageFarEnd, request="6B3", answer="6BB"),
    "practice": lambda: FrameWire(PracticeFarEnd),
    "kline": lambda: MessageWire(KlineUnit, **KLINE),
}
