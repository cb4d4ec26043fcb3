"""What the rules of a `FrameLink` are made of: frames that can be told apart, said on a fresh wire.

In: a scheme and a far end of the bus. Out: what the link gave. Rules that hold here: the frames said are told apart by
their data, so that a lost, doubled or exchanged one shows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import ClassVar

from witnessmark.clock import Stamp, SystemClock
from witnessmark.link.frame import Frame
from witnessmark.link.port import FrameLink
from witnessmark.testing.contract import Came
from witnessmark.testing.farend import FrameFarEnd, NotPossible, Spelling
from witnessmark.testing.holding import HoldingContract
from witnessmark.testing.verdict import Aside, ContractBroken

Content = tuple[int, bytes, bool, str]


def content(frame: Frame) -> Content:
    """Return what of a frame must cross the wire unchanged."""
    return frame.can_id, frame.data, frame.extended, frame.kind


def numbered(count: int, clock: SystemClock | None = None) -> list[Frame]:
    """Return `count` frames that differ: identifiers of both lengths, 4 to 8 data bytes that begin with a number."""
    stamp = (clock or SystemClock()).stamp()
    frames = []
    for number in range(count):
        extended = number % 3 == 2
        can_id = 0x18DAF100 + number % 200 if extended else 0x700 + number % 200 % 0xFF
        data = number.to_bytes(4, "big") + bytes(range(number % 5))
        moment = Stamp(stamp.wall_ns + number * 1000, stamp.mono_ns + number * 1000)
        frames.append(Frame(can_id, data, moment, extended=extended))
    return frames


def counted(number: int) -> Frame:
    """Return a frame that carries its number."""
    return Frame(0x100 + number % 0x600, number.to_bytes(8, "big"), SystemClock().stamp())


class FrameWire(HoldingContract[FrameFarEnd, FrameLink]):
    """No contract by itself: see `FrameLinkContract`."""

    sends: ClassVar[bool] = True
    """Whether a link of this scheme can send at all."""

    @contextmanager
    def spoken(self, frames: Sequence[Frame]) -> Iterator[FrameLink]:
        """Lay a wire on which the far end says `frames` while the link is used; a recording holds them before."""
        if self.recorded:
            far = self.far_end()
            try:
                far.say(frames)
                link = self.open(far.address)
                try:
                    yield link
                finally:
                    link.close()
            finally:
                far.close()
            return
        with self.wire() as (far, link):
            talking = Aside(lambda: far.say(frames))
            try:
                yield link
            except ContractBroken:
                talking.raise_failure()  # the far end is why nothing came
                raise
            talking.result("the far end could not say everything: the link does not read", self.patience_s)

    def said(self, frames: Sequence[Frame]) -> list[Came]:
        """Let the far end say `frames` on a fresh wire and return what the link gave."""
        with self.spoken(frames) as link:
            return self.collect(link, len(frames))

    def must_send(self) -> None:
        """Give the rule up where nothing is sent."""
        if not self.sends:
            raise NotPossible("nothing is sent on this wire")

    def spelling(self, far: FrameFarEnd) -> Spelling:
        """Return a far end that spells; give the rule up where none does."""
        if not isinstance(far, Spelling):
            raise NotPossible("this interface hands over whole frames: no frame comes in pieces")
        return far
