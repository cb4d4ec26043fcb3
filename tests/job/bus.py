"""A bus in memory on which another tester works, and a link that only listens to it."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.clock import ManualClock, Stamp
from witnessmark.errors import LinkError, LocalError
from witnessmark.link.frame import Event, Frame
from witnessmark.link.port import Capabilities

REQUEST, ANSWER = 0x7A0, 0x7A8


class ListeningLink:
    """A FrameLink that hears what `ask` and `answer` put on the bus. What is sent on it stays in `sent`."""

    def __init__(self, clock: ManualClock | None = None) -> None:
        self.capabilities = Capabilities(listen="silent", can_send=False)
        self.clock = clock
        self.sent: list[Frame] = []
        self.closed = False
        self.gone = False
        self._frames: list[Frame | Event] = []

    def fileno(self) -> int | None:
        return None

    def interrupt(self) -> None:
        """Nothing waits."""

    def close(self) -> None:
        self.closed = True

    def send(self, frame: Frame) -> Stamp:
        self.sent.append(frame)
        raise LocalError("this link only listens", hint="")

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        if self.gone:
            raise LinkError("the interface is gone", kind="gone", hint="check plug and cable")
        frames, self._frames = self._frames, []
        return frames

    def ask(self, payload: str, can_id: int = REQUEST) -> None:
        """Another tester sends a request of one frame."""
        self._put(can_id, payload)

    def answer(self, payload: str) -> None:
        """The control unit answers with one frame."""
        self._put(ANSWER, payload)

    def _put(self, can_id: int, payload: str) -> None:
        assert self.clock is not None
        data = bytes.fromhex(payload)
        self._frames.append(Frame(can_id, bytes((len(data),)) + data, self.clock.stamp()))
