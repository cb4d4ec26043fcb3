"""The contract of a `FrameLink`: what it carries, whole and in pieces, and how it sends.

In: a scheme and a far end of the bus. Out: one test a rule.
"""

from __future__ import annotations

from typing import ClassVar

from witnessmark.clock import NS, SystemClock
from witnessmark.errors import LinkError, LocalError
from witnessmark.link.frame import Event, Frame
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.testing.contract import Came
from witnessmark.testing.farend import NotPossible
from witnessmark.testing.frame_timing import FrameTiming
from witnessmark.testing.frame_wire import content, counted, numbered
from witnessmark.testing.verdict import Aside, ContractBroken, pause, require, told

FULL_RATE = 4000
"""Frames a second on a full bus of 500 kbit/s (8 data bytes, 11-bit identifiers), rounded up."""


class FrameLinkContract(FrameTiming):
    """Subclass as `Test...`, set `scheme`, return a `FrameFarEnd` from `far_end`."""

    full_rate_s: ClassVar[float] = 10.0
    """For how many seconds' worth of a full bus the flood lasts."""
    paced: ClassVar[bool] = True
    """Whether the flood keeps the bus's own pace; False where the wire itself holds the sender back."""

    def test_it_is_a_frame_link(self) -> None:
        with self.wire() as (_, link):
            require(isinstance(link, FrameLink) and not isinstance(link, MessageLink), "it is no FrameLink")

    def test_frames_arrive_whole_and_in_order(self) -> None:
        frames = numbered(60)
        got = [content(one) for one in self.said(frames) if isinstance(one, Frame)]
        require(got == [content(one) for one in frames], f"of 60 frames these came: {got}")

    def test_what_others_sent_is_received(self) -> None:
        origins = {one.origin for one in self.said(numbered(3)) if isinstance(one, Frame)}
        require(origins == {"received"}, f"a frame of the far end has the origin {sorted(origins)}")

    def test_a_remote_frame_is_no_data_frame(self) -> None:
        remote = Frame(0x123, b"", SystemClock().stamp(), kind="remote")
        kinds = [one.kind for one in self.said([remote]) if isinstance(one, Frame)]
        require(kinds == ["remote"], f"a remote frame came as {kinds}")

    def test_stamps_run_forward_and_say_whose_clock_they_are(self) -> None:
        clock = SystemClock()
        before = clock.stamp()
        with self.spoken(numbered(20)) as link:
            frames = [one for one in self.collect(link, 20) if isinstance(one, Frame)]
            after = clock.stamp()
            device_clock = link.capabilities.device_clock
        require(len(frames) == 20, "frames are missing")
        mono = [one.stamp.mono_ns for one in frames]
        require(mono == sorted(mono), "monotonic stamps run backwards")
        require(
            before.mono_ns <= mono[0] and mono[-1] <= after.mono_ns,
            "a monotonic stamp lies outside the time in which the frame came",
        )
        walls = [one.stamp.wall_ns for one in frames]
        slack_ns = NS
        require(
            before.wall_ns - slack_ns <= min(walls) and max(walls) <= after.wall_ns + slack_ns,
            "a wall stamp is not the wall's time",
        )
        device = [one.stamp.device_ns for one in frames]
        if device_clock:
            require(None not in device, "the link says that it has a device clock, and a stamp has none")
            kept = [one for one in device if one is not None]
            require(kept == sorted(kept), "device stamps run backwards")
        else:
            require(set(device) == {None}, "a stamp claims a device clock that the link does not have")

    def test_a_stream_in_pieces_gives_the_same_frames(self) -> None:
        for size in (1, 2, 7, 64):
            with self.wire() as (far, link):
                spelt = self.spelling(far)
                frames = numbered(9)
                stream = b"".join(spelt.spell(one) for one in frames)
                came: list[Came] = []
                for start in range(0, len(stream), size):
                    spelt.write(stream[start : start + size])
                    came.extend(link.receive(0.0))
                came.extend(self.collect(link, 9 - sum(isinstance(one, Frame) for one in came)))
                got = [content(one) for one in came if isinstance(one, Frame)]
                require(got == [content(one) for one in frames], f"in pieces of {size} bytes these came: {got}")

    def test_garbage_is_told_and_the_next_frame_is_read(self) -> None:
        with self.wire() as (far, link):
            spelt = self.spelling(far)
            first, second = numbered(2)
            spelt.write(spelt.spell(first) + spelt.garbage + spelt.spell(second))
            came = self.collect(link, 2)
            got = [content(one) for one in came if isinstance(one, Frame)]
            require(got == [content(first), content(second)], f"around garbage these came: {got}")
            kept = b"".join(one.raw for one in came if isinstance(one, Event) and one.kind == "garbled")
            require(spelt.garbage.strip() in kept, f"the garbage is not kept in a garbled event: {kept!r}")

    def test_unplugged_in_mid_frame_gives_no_frame(self) -> None:
        with self.wire() as (far, link):
            spelt = self.spelling(far)
            first, second = numbered(2)
            spelt.write(spelt.spell(first) + spelt.spell(second)[:-2])
            far_frames = [one for one in self.collect(link, 1) if isinstance(one, Frame)]
            far.unplug()
            more = self.told_lost(link, "a wire unplugged in mid-frame looks like silence")
            got = [content(one) for one in (*far_frames, *more) if isinstance(one, Frame)]
            require(got == [content(first)], f"half a frame was given as a frame: {got}")

    def test_the_descriptor_shows_what_waits(self) -> None:
        with self.spoken(numbered(40)) as link:
            found = 0
            while found < 40:
                shown = self.readable(link)
                if shown is None:
                    raise NotPossible("the link has no descriptor; the core polls it")
                require(shown, f"{40 - found} frames wait, and the descriptor does not show it")
                found += sum(isinstance(one, Frame) for one in link.receive(0.0))

    def test_an_interrupt_loses_nothing(self) -> None:
        with self.spoken(numbered(200)) as link:
            came: list[Came] = []
            for _ in range(20):
                link.interrupt()
                came.extend(link.receive(0.01))
            came.extend(self.collect(link, 200 - sum(isinstance(one, Frame) for one in came)))
            got = sum(isinstance(one, Frame) for one in came)
            require(got == 200, f"with interrupts between, {got} of 200 frames came")

    def test_no_frame_is_lost_at_the_full_rate_of_the_bus(self) -> None:
        count = round(FULL_RATE * self.full_rate_s)
        if self.recorded:
            with self.spoken([counted(number) for number in range(count)]) as link:
                self._count(link, count)
            return
        with self.wire() as (far, link):
            clock = SystemClock()
            start_ns = clock.mono_ns()

            def flood() -> None:
                block = 40
                for first in range(0, count, block):
                    far.say([counted(number) for number in range(first, min(first + block, count))])
                    if self.paced:
                        pause(max(0.0, (first + block) / FULL_RATE - (clock.mono_ns() - start_ns) / NS))

            talking = Aside(flood)
            try:
                self._count(link, count)
            except ContractBroken:
                talking.raise_failure()
                raise
            talking.result("the flood did not end", self.patience_s + self.full_rate_s)

    def test_what_is_sent_arrives_as_it_was(self) -> None:
        self.must_send()
        with self.wire() as (far, link):
            clock = SystemClock()
            for frame in numbered(12):
                before_ns = clock.mono_ns()
                stamp = link.send(frame)
                require(
                    before_ns <= stamp.mono_ns <= clock.mono_ns(), "the stamp of a sending lies outside the sending"
                )
                heard = [content(one) for one in far.heard(1, self.patience_s)]
                require(heard == [content(frame)], f"{content(frame)} was sent, the far end heard {heard}")

    def test_an_echo_is_never_a_reply(self) -> None:
        self.must_send()
        with self.wire() as (far, link):
            frames = numbered(5)
            for frame in frames:
                link.send(frame)
            far.heard(5, self.patience_s)
            far.say([answer := Frame(0x7E8, b"\x01\x7e", SystemClock().stamp())])
            came = [one for one in self.collect(link, 1) if isinstance(one, Frame)]
            got = [content(one) for one in came if one.origin == "received"]
            require(got == [content(answer)], f"our own frames came back as received: {got}")

    def test_a_closed_link_sends_nothing(self) -> None:
        self.must_send()
        with self.wire() as (far, link):
            link.close()
            try:
                link.send(numbered(1)[0])
            except (LocalError, LinkError) as error:
                require(error.reached == "nothing", f"nothing left a closed link, and it says {error.reached!r}")
            else:
                require(False, "a closed link took a frame")
            require(not far.heard(1, 0.05), "a closed link sent a frame")

    def test_sending_on_an_unplugged_wire_is_an_error(self) -> None:
        self.must_send()
        with self.wire() as (far, link):
            far.unplug()
            for _ in range(50):
                try:
                    link.send(numbered(1)[0])
                except LinkError as error:
                    told(error, LinkError)
                    require(error.kind == "gone", f"the error's kind is {error.kind!r}, not 'gone'")
                    require(error.reached != "all", "an unplugged wire cannot have carried all of it")
                    return
                pause(0.02)
            require(False, "50 frames were sent on an unplugged wire without an error")

    def test_listen_only_is_kept_or_refused(self) -> None:
        far = self.far_end()
        try:
            try:
                link = self.open(far.address, listen_only=True)
            except LocalError as error:
                told(error, LocalError)
                return
            try:
                can = link.capabilities
                require(can.listen != "no", "it was opened to listen only, and says that it cannot listen")
                require(not can.can_send, "it was opened to listen only, and says that it can send")
                if not self.sends:
                    return  # not even the attempt, where what it might reach is a vehicle
                try:
                    link.send(numbered(1)[0])
                except LocalError as error:
                    require(error.reached == "nothing", "a link that listens only let something through")
                else:
                    require(False, "a link that listens only took a frame to send")
                require(not far.heard(1, 0.05), "a link that listens only sent a frame")
            finally:
                link.close()
        finally:
            far.close()

    def _count(self, link: FrameLink, count: int) -> None:
        """Receive `count` counted frames, late once on the way; none may be missing."""
        expected = 0
        stalled = False
        while expected < count:
            came = self.collect(link, 1)
            require(came, f"{expected} of {count} frames came, then none")
            for one in came:
                if isinstance(one, Frame) and one.origin != "echo":
                    number = int.from_bytes(one.data, "big")
                    require(number == expected, f"after frame {expected - 1} came {number}: frames are lost")
                    expected += 1
            if not stalled and expected > count // 2:
                stalled = True
                pause(0.05)
