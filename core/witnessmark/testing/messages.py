"""The contract of a `MessageLink`: one request, and all that answers it.

In: a scheme and a far end that answers as told. Out: one test a rule. Rules that hold here: requests are read-only
ones; what an answer means is nobody's business here, only that it comes whole, once, in order, and from whom.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from witnessmark.clock import Stamp, SystemClock
from witnessmark.errors import LinkError, LocalError
from witnessmark.link.frame import Event, Message
from witnessmark.link.port import MessageLink
from witnessmark.testing.contract import Came
from witnessmark.testing.farend import MessageFarEnd, NotPossible, Reply
from witnessmark.testing.holding import HoldingContract
from witnessmark.testing.verdict import Aside, OtherClock, by_the_clock, pause, require, sends_soon, told

ASK = b"\x22\xf1\x90"
"""ReadDataByIdentifier of the VIN: reads, changes nothing (ISO 14229-1, 11.2)."""


def answer(size: int, mark: int = 0) -> bytes:
    """Return a positive answer to `ASK` of `size` bytes, 4 at least; `mark` tells one from another."""
    return b"\x62\xf1\x90" + bytes((mark + place) & 0xFF for place in range(size - 3))


def received(came: Sequence[Came]) -> list[bytes]:
    """Return the payloads of the messages that others sent."""
    return [one.payload for one in came if isinstance(one, Message) and one.origin == "received"]


class MessageLinkContract(HoldingContract[MessageFarEnd, MessageLink]):
    """Subclass as `Test...`, set `scheme`, return a `MessageFarEnd` from `far_end`."""

    sizes: ClassVar[tuple[int, ...]] = (4, 7, 8, 20, 100)
    """Lengths of answers to try, in bytes."""
    exchanges: ClassVar[int] = 100
    """How many exchanges follow each other without a loss."""
    slowest_send_s: ClassVar[float] = 1.0
    """How long `send` may hold its caller up, in real seconds; of three, the fastest counts."""
    quiet_s: ClassVar[float] = 0.3
    """How long to listen for what should not come."""

    def begin(self, far: MessageFarEnd, link: MessageLink) -> None:
        link.wake(far.peer)

    def asked(self, *replies: Reply, expect: int = 1) -> list[Came]:
        """Ask once on a fresh wire whose far end replies so; return what came until `expect` messages were there."""
        with self.wire() as (far, link):
            self.begin(far, link)
            far.reply_with(*replies)
            link.send(far.peer, ASK)
            return self.collect(link, expect)

    def test_it_is_a_message_link(self) -> None:
        with self.wire() as (_, link):
            require(isinstance(link, MessageLink), "it is no MessageLink")

    def test_a_request_arrives_as_it_was(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.requests(9, 0.0)
            for request in (b"\x3e\x00", ASK):
                far.reply_with(Reply((bytes((request[0] + 0x40,)) + request[1:],)))
                clock = SystemClock()
                before_ns = clock.mono_ns()
                stamp = link.send(far.peer, request)
                require(
                    before_ns <= stamp.mono_ns <= clock.mono_ns(), "the stamp of a sending lies outside the sending"
                )
                heard = list(far.requests(1, self.patience_s))
                require(heard == [request], f"{request.hex()} was sent, the far end heard {[h.hex() for h in heard]}")
                self.collect(link, 1)

    def test_answers_of_every_length_come_whole(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            longest = link.capabilities.max_payload
            for size in (one for one in self.sizes if one <= longest):
                far.reply_with(Reply((answer(size),)))
                link.send(far.peer, ASK)
                got = received(self.collect(link, 1))
                require(got == [answer(size)], f"an answer of {size} bytes came as {[one.hex() for one in got]}")

    def test_an_answer_names_its_sender_and_keeps_its_raw_bytes(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.reply_with(Reply((answer(8),)))
            link.send(far.peer, ASK)
            messages = [one for one in self.collect(link, 1) if isinstance(one, Message) and one.origin == "received"]
            require(len(messages) == 1, f"{len(messages)} answers came")
            (one,) = messages
            require(one.peer.source == far.peer.source, f"the answer's sender is {one.peer.source!r}")
            require(one.raw and all(one.raw), "the answer does not keep the bytes it was made of")

    def test_stamps_run_forward(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            clock = SystemClock()
            for size in (20, 8):  # twice: each stamp is of its own moment
                far.reply_with(Reply((answer(size),)))
                before_ns = clock.mono_ns()
                sent = link.send(far.peer, ASK)
                messages = [
                    one for one in self.collect(link, 1) if isinstance(one, Message) and one.origin == "received"
                ]
                after_ns = clock.mono_ns()
                require(len(messages) == 1, f"{len(messages)} answers came")
                first, last = messages[0].first, messages[0].last
                require(before_ns <= sent.mono_ns, "the sending is stamped before it was asked for")
                require(first.mono_ns <= last.mono_ns <= after_ns, "the stamps of an answer run backwards, or ahead")
                require(before_ns <= first.mono_ns, "an answer is stamped before its request")
                has_device = first.device_ns is not None
                require(has_device == link.capabilities.device_clock, "a device stamp and the capabilities disagree")

    def test_stamps_are_of_the_clock_it_was_given(self) -> None:
        other = OtherClock()
        with self.living_by(other), self.wire() as (far, link):
            before = other.stamp()
            self.begin(far, link)
            far.reply_with(Reply((answer(8),)))
            stamps = [link.send(far.peer, ASK)]
            messages = [one for one in self.collect(link, 1) if isinstance(one, Message) and one.origin == "received"]
            require(messages, "no answer came")
            by_the_clock([*stamps, messages[0].first, messages[0].last], before, other.stamp())

    def test_a_sending_does_not_hold_up_its_caller(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)

            def send() -> Stamp:
                far.reply_with(Reply((answer(8),)))
                stamp = link.send(far.peer, ASK)
                self.collect(link, 1)
                return stamp

            sends_soon(send, self.slowest_send_s, self.patience_s)

    def test_what_was_heard_is_never_called_unsent(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.requests(9, 0.0)
            hearing = Aside(lambda: self._hear_then_unplug(far))
            sent = 0
            try:
                for _ in range(50):
                    link.send(far.peer, ASK)
                    sent += 1
                    pause(0.02)
                    if hearing.done:
                        hearing.raise_failure()  # what the far end cannot do
            except LinkError as error:
                told(error, LinkError)
                heard = hearing.result("the far end heard nothing", self.patience_s * 2)
                unsent = error.reached == "nothing" and heard > sent
                require(not unsent, "the far end heard a request of which the error says that nothing was sent")

    def test_every_answer_to_one_request_comes_in_order(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            if not link.capabilities.shows_pending:
                raise NotPossible("this interface swallows response code 0x78")
            told_so = (b"\x7f\x22\x78", b"\x7f\x22\x78", answer(8))
            far.reply_with(Reply(told_so))
            link.send(far.peer, ASK)
            got = received(self.collect(link, 3))
            require(got == list(told_so), f"these came: {[one.hex() for one in got]}")

    def test_an_answer_that_comes_twice_is_given_twice(self) -> None:
        got = received(self.asked(Reply((answer(8), answer(8))), expect=2))
        require(got == [answer(8), answer(8)], f"these came: {[one.hex() for one in got]}")

    def test_a_late_answer_is_given(self) -> None:
        got = received(self.asked(Reply((answer(8),), late_s=0.2)))
        require(got == [answer(8)], f"these came: {[one.hex() for one in got]}")

    def test_no_answer_is_silence(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.reply_with(Reply())
            link.send(far.peer, ASK)
            got = received(self.collect(link, 1, self.quiet_s))
            require(got == [], f"nobody answered, and these came: {[one.hex() for one in got]}")

    def test_an_echo_is_never_a_reply(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.reply_with(Reply((answer(8),)))
            link.send(far.peer, ASK)
            came = self.collect(link, 1) + self.collect(link, 1, self.quiet_s)
            got = received(came)
            require(got == [answer(8)], f"one answered, and these count as received: {[one.hex() for one in got]}")

    def test_an_answer_in_pieces_is_one_answer(self) -> None:
        for size in (1, 3, 16):
            with self.wire() as (far, link):
                self._streamed(far)
                self.begin(far, link)
                far.reply_with(Reply((answer(12),), piece=size))
                link.send(far.peer, ASK)
                got = received(self.collect(link, 1))
                require(got == [answer(12)], f"in pieces of {size} bytes these came: {[one.hex() for one in got]}")

    def test_garbage_is_told(self) -> None:
        with self.wire() as (far, link):
            self._streamed(far)
            self.begin(far, link)
            far.reply_with(Reply((answer(8),), noise=far.garbage), Reply((answer(9),)))
            link.send(far.peer, ASK)
            came = self.collect(link, 1)
            wrong = [one for one in received(came) if one != answer(8)]
            require(not wrong, f"garbage was given as an answer: {[one.hex() for one in wrong]}")
            kept = b"".join(one.raw for one in came if isinstance(one, Event) and one.kind == "garbled")
            require(far.garbage.strip() in kept, f"the garbage is not kept in a garbled event: {kept!r}")
            link.send(far.peer, ASK)
            require(answer(9) in received(self.collect(link, 1)), "after garbage the next answer is not read")

    def test_unplugged_in_mid_answer_gives_no_answer(self) -> None:
        with self.wire() as (far, link):
            self._streamed(far)
            self.begin(far, link)
            far.reply_with(Reply((answer(40),), cut_after=6))
            link.send(far.peer, ASK)
            before = self.told_lost(link, "a wire unplugged in mid-answer looks like silence")
            require(received(before) == [], "half an answer was given as an answer")

    def test_the_descriptor_shows_what_waits(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            answers = tuple(answer(8, mark) for mark in range(3))
            far.reply_with(Reply(answers))
            link.send(far.peer, ASK)
            got: list[bytes] = []
            while len(got) < 3:
                shown = self.readable(link)
                if shown is None:
                    raise NotPossible("the link has no descriptor; the core polls it")
                require(shown, f"{3 - len(got)} answers wait, and the descriptor does not show it")
                got += received(link.receive(0.0))
            require(got == list(answers), f"these came: {[one.hex() for one in got]}")

    def test_an_interrupt_loses_nothing(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.reply_with(Reply((answer(50),), late_s=0.05))
            link.send(far.peer, ASK)
            came: list[Came] = []
            for _ in range(10):
                link.interrupt()
                came.extend(link.receive(0.01))
            came.extend(self.collect(link, 1 - len(received(came))))
            require(received(came) == [answer(50)], "an answer was lost between interrupts")

    def test_no_answer_is_lost_in_many_exchanges(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            for number in range(self.exchanges):
                expected = answer(4 + number % 5, number)
                far.reply_with(Reply((expected,)))
                link.send(far.peer, ASK)
                got = received(self.collect(link, 1))
                require(got == [expected], f"exchange {number} gave {[one.hex() for one in got]}")

    def test_a_request_that_is_too_long_is_refused(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.requests(9, 0.0)
            try:
                link.send(far.peer, bytes(link.capabilities.max_payload + 1))
            except LocalError as error:
                told(error, LocalError)
            else:
                require(False, "a request longer than the link's longest was taken")
            require(not far.requests(1, 0.05), "a refused request was sent")

    def test_a_closed_link_sends_nothing(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.requests(9, 0.0)
            link.close()
            try:
                link.send(far.peer, ASK)
            except (LocalError, LinkError) as error:
                require(error.reached == "nothing", f"nothing left a closed link, and it says {error.reached!r}")
            else:
                require(False, "a closed link took a request")
            require(not far.requests(1, 0.05), "a closed link sent a request")

    def test_sending_on_an_unplugged_wire_is_an_error(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.unplug()
            for _ in range(50):
                try:
                    link.send(far.peer, ASK)
                except LinkError as error:
                    told(error, LinkError)
                    require(error.kind == "gone", f"the error's kind is {error.kind!r}, not 'gone'")
                    require(error.reached != "all", "an unplugged wire cannot have carried all of it")
                    return
                pause(0.02)
            require(False, "50 requests were sent on an unplugged wire without an error")

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
                try:
                    link.send(far.peer, ASK)
                except LocalError as error:
                    require(error.reached == "nothing", "a link that listens only let something through")
                else:
                    require(False, "a link that listens only took a request")
                require(not far.requests(1, 0.05), "a link that listens only sent a request")
            finally:
                link.close()
        finally:
            far.close()

    def _hear_then_unplug(self, far: MessageFarEnd) -> int:
        heard = len(far.requests(1, self.patience_s))
        far.unplug()
        return heard

    def _streamed(self, far: MessageFarEnd) -> None:
        if not far.streamed:
            raise NotPossible("this interface hands over whole messages: no answer comes in pieces")
