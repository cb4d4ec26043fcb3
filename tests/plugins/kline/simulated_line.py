"""A K-line in virtual time with control units that see its levels: what a pseudo-terminal cannot carry.

Each byte takes its time at 10400 baud. Everything we do is written down with its time, for tests to check.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from itertools import count

from witnessmark.clock import NS, ManualClock
from witnessmark.wire import kline

BYTE_S = 10 / 10400
"""Start bit, eight bits, stop bit."""


class SimulatedLine:
    """A `LineDriver`. `react` is called with all bytes we sent since the last call, after each one."""

    def __init__(self, clock: ManualClock, echo: bool = True) -> None:
        self.clock = clock
        self.echo = echo
        self.done: list[tuple[str, float, float]] = []
        self.sent: list[tuple[float, int]] = []
        self.heard: list[tuple[float, int]] = []
        self.spoil: Callable[[int], int] = lambda byte: byte
        self.react: Callable[[bytes], None] = lambda sent: None
        self.levels: Callable[[list[tuple[str, float, float]]], None] = lambda done: None
        self.closed = False
        self._due: list[tuple[float, int, int]] = []
        self._numbers = count()
        self._since = b""

    @property
    def now_s(self) -> float:
        return (self.clock.now_ns - 1_700_000_000 * NS) / NS

    def say(self, data: bytes, after_s: float, between_s: float = 0.0) -> None:
        """Let a control unit send bytes `after_s` from now."""
        at = self.now_s + after_s
        for byte in data:
            at += BYTE_S
            heapq.heappush(self._due, (at, next(self._numbers), byte))
            at += between_s

    def forget_sent(self) -> None:
        self._since = b""

    def hold_low(self, seconds: float) -> None:
        self.done.append(("low", self.now_s, seconds))
        self.clock.advance(seconds)

    def leave(self, seconds: float) -> None:
        self.done.append(("high", self.now_s, seconds))
        self.clock.advance(seconds)
        self.levels(self.done)

    def write(self, data: bytes) -> None:
        for byte in data:
            self.clock.advance(BYTE_S)
            self.sent.append((self.now_s, byte))
            self._since += bytes((byte,))
            if self.echo:
                heapq.heappush(self._due, (self.now_s, next(self._numbers), self.spoil(byte)))
            self.react(self._since)

    def read(self, wait_s: float) -> bytes:
        end_s = self.now_s + wait_s
        if not self._due or self._due[0][0] > end_s + 1e-9:
            self.clock.advance(wait_s)
            return b""
        self.clock.advance(max(0.0, self._due[0][0] - self.now_s))
        byte = heapq.heappop(self._due)[2]
        self.heard.append((self.now_s, byte))
        return bytes((byte,))

    def discard(self) -> None:
        self._due = [one for one in self._due if one[0] > self.now_s]
        heapq.heapify(self._due)

    def interrupt(self) -> None:
        return

    def close(self) -> None:
        self.closed = True


def fast_unit(line: SimulatedLine, answer: bytes, after_s: float = 0.03) -> None:
    """Play a unit that answers StartCommunication after the wake-up pattern, and nothing without it."""

    def react(sent: bytes) -> None:
        try:
            found = kline.decode(sent)
        except kline.PeerError:
            return
        line.forget_sent()
        woken = [(what, round(seconds, 3)) for what, _, seconds in line.done[-2 - len(sent) :]]
        if found.data == b"\x81" and ("low", 0.025) in woken:
            line.say(answer, after_s)

    line.react = react


def five_baud_unit(
    line: SimulatedLine,
    address: int,
    key_bytes: bytes,
    *,
    sync: int = 0x55,
    confirm: int | None = None,
    silent_after: str = "",
) -> None:
    """Play a unit that reads its address at 5 baud, tells its key bytes and confirms. `silent_after` cuts it short."""
    confirmation = ~address & 0xFF if confirm is None else confirm

    def levels(done: list[tuple[str, float, float]]) -> None:
        bits = [what == "high" for what, _, seconds in done if abs(seconds - 0.2) < 1e-6]
        if len(bits) != 10 or done[-1][2] != 0.2:
            return
        read = sum(bit << place for place, bit in enumerate(bits[1:9]))
        if bits[0] or not bits[9] or read != address or silent_after == "address":
            return
        line.say(bytes((sync,)), 0.1)
        if silent_after != "synchronisation":
            line.say(key_bytes, 0.1 + BYTE_S + 0.01, 0.005)

    def react(sent: bytes) -> None:
        if sent == bytes((~key_bytes[1] & 0xFF,)) and silent_after != "key bytes":
            line.say(bytes((confirmation,)), 0.03)
        line.forget_sent()

    line.levels, line.react = levels, react
