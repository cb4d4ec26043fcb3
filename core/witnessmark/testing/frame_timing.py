"""The rules of a `FrameLink` on time: whose clock a stamp is of, of which moment, and that nothing holds a caller up.

In: a scheme and a far end of the bus. Out: one test a rule. Rules that hold here: what is measured is bounded by the
moments on either side, never by how fast the machine is.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import count
from typing import ClassVar

from witnessmark.clock import Stamp, SystemClock
from witnessmark.errors import LinkError
from witnessmark.link.frame import Frame
from witnessmark.link.port import FrameLink
from witnessmark.testing.farend import FrameFarEnd, NotPossible
from witnessmark.testing.frame_wire import FrameWire, content, counted, numbered
from witnessmark.testing.verdict import (
    LONG_WAIT_S,
    Aside,
    OtherClock,
    by_the_clock,
    pause,
    require,
    sends_soon,
    told,
)

APART_NS = 20_000_000


class FrameTiming(FrameWire):
    """No contract by itself: see `FrameLinkContract`."""

    slowest_send_s: ClassVar[float] = 1.0
    """How long `send` may hold its caller up, in real seconds; of three, the fastest counts."""

    def test_each_stamp_is_of_its_own_moment(self) -> None:
        if self.recorded:
            frames = _apart(numbered(3))
            came = [one.stamp.mono_ns for one in self.said(frames) if isinstance(one, Frame)]
            require(len(set(came)) == 3 and came == sorted(came), f"3 frames of 3 moments have the stamps {came}")
            return
        with self.wire() as (far, link):
            clock = SystemClock()
            for frame in numbered(3):
                before_ns = clock.mono_ns()
                far.say([frame])
                came = [one.stamp.mono_ns for one in self.collect(link, 1) if isinstance(one, Frame)]
                after_ns = clock.mono_ns()
                require(len(came) == 1, f"one frame was said, {len(came)} came")
                late_ns = max(before_ns - came[0], came[0] - after_ns)
                require(late_ns <= 0, f"a stamp lies {late_ns / 1e6:.1f} ms outside the time in which the frame came")

    def test_stamps_are_of_the_clock_it_was_given(self) -> None:
        other = OtherClock()
        with self.living_by(other):
            before = other.stamp()
            with self.spoken(numbered(3)) as link:
                stamps = [one.stamp for one in self.collect(link, 3) if isinstance(one, Frame)]
            if self.sends:
                with self.wire() as (_, link):
                    stamps.append(link.send(numbered(1)[0]))
            by_the_clock(stamps, before, other.stamp())

    def test_the_same_frame_again_is_another_frame(self) -> None:
        same = _apart(numbered(1) * 6)
        got = [content(one) for one in self.said(same) if isinstance(one, Frame)]
        require(got == [content(one) for one in same], f"of 6 frames that are alike these came: {got}")

    def test_what_is_sent_twice_leaves_twice(self) -> None:
        self.must_send()
        with self.wire() as (far, link):
            same = numbered(1)[0]
            for _ in range(3):
                link.send(same)
            heard = [content(one) for one in far.heard(3, self.patience_s)]
            require(heard == [content(same)] * 3, f"the same was sent 3 times, the far end heard {heard}")

    def test_a_sending_does_not_hold_up_its_caller(self) -> None:
        self.must_send()
        with self.wire() as (_, link):
            sends_soon(lambda: link.send(numbered(1)[0]), self.slowest_send_s, self.patience_s)

    def test_what_was_heard_is_never_called_unsent(self) -> None:
        self.must_send()
        with self.wire() as (far, link):
            hearing = Aside(lambda: self._hear_then_unplug(far))
            sent = 0
            try:
                for _ in range(50):
                    link.send(numbered(1)[0])
                    sent += 1
                    pause(0.02)
                    if hearing.done:
                        hearing.raise_failure()  # what the far end cannot do
            except LinkError as error:
                told(error, LinkError)
                heard = hearing.result("the far end heard nothing", self.patience_s * 2)
                unsent = error.reached == "nothing" and heard > sent
                require(not unsent, "the far end heard a frame of which the error says that nothing was sent")

    def test_frames_that_keep_coming_hold_up_neither_receive_nor_interrupt(self) -> None:
        with self.wire() as (far, link), self._flood(far, link):
            for _ in range(3):
                Aside(lambda: link.receive(0.1)).result(
                    "receive(0.1) does not come back while frames keep coming", self.patience_s
                )
            waiting = Aside(lambda: link.receive(LONG_WAIT_S))
            pause(0.05)
            link.interrupt()
            waiting.result("interrupt() did not end a wait while frames keep coming", self.patience_s)

    def _hear_then_unplug(self, far: FrameFarEnd) -> int:
        heard = len(far.heard(1, self.patience_s))
        far.unplug()
        return heard

    @contextmanager
    def _flood(self, far: FrameFarEnd, link: FrameLink) -> Iterator[None]:
        """Let frames come until the end; take what is left then, so that the far end gets rid of it."""
        if self.recorded:
            raise NotPossible("a recording holds everything before it is opened")
        over = threading.Event()

        def flood() -> None:
            for number in count():
                if over.is_set():
                    return
                far.say([counted(number)])
                pause(0.001)

        far.say([counted(0)])  # what cannot be said at all is told at once
        talking = Aside(flood)
        try:
            yield
        finally:
            over.set()
            while not talking.done:
                self._attempt(link, 0.01)
        talking.raise_failure()


def _apart(frames: list[Frame]) -> list[Frame]:
    """Give each its own moment, for a far end that writes them down."""
    first = frames[0].stamp
    moments = (Stamp(first.wall_ns + place * APART_NS, first.mono_ns + place * APART_NS) for place in count())
    return [replace(frame, stamp=moment) for frame, moment in zip(frames, moments, strict=False)]
