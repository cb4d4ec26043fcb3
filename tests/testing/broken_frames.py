"""Frame links broken on purpose: each breaks the rule it is named for, and is the good link in all else."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar

from tests.testing import broken_links

from witnessmark.clock import Clock, Stamp, SystemClock
from witnessmark.errors import LinkError
from witnessmark.link.address import Address
from witnessmark.link.frame import Event, Frame, Peer
from witnessmark.testing import memory
from witnessmark.testing.memory import MemoryLink

Came = Sequence[Frame | Event]


class AlsoMessages(MemoryLink):
    def wake(self, peer: Peer) -> Sequence[Event]:
        return []


class OpensNothing(MemoryLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        if address.place not in memory._WIRES:
            raise OSError("no such file")
        super().__init__(address, clock, listen_only)


class InventsSilence(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return super().receive(wait_s) or [Event("accepted", self._clock.stamp(), detail="nothing")]


class SilentWhenUnplugged(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return [one for one in super().receive(wait_s) if isinstance(one, Frame) or one.kind != "lost"]


class LosesOne(MemoryLink):
    count = 0

    def receive(self, wait_s: float) -> Came:
        came = super().receive(wait_s)
        self.count += len(came)
        return came[1:] if self.count > 30 and came else came


class ExchangesTwo(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return sorted(super().receive(wait_s), key=lambda one: one.can_id if isinstance(one, Frame) else 0)


class CallsAllSent(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return [replace(one, origin="sent") if isinstance(one, Frame) else one for one in super().receive(wait_s)]


class ForgetsRemote(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return [replace(one, kind="data") if isinstance(one, Frame) else one for one in super().receive(wait_s)]


class StampsFromAnotherClock(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        old = Stamp(0, 0)
        return [replace(one, stamp=old) if isinstance(one, Frame) else one for one in super().receive(wait_s)]


class ClaimsADeviceClock(MemoryLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(address, clock, listen_only)
        self.capabilities = replace(self.capabilities, device_clock=True)


class ReadsWholeLinesOnly(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        self._rest = b""
        return [one for one in super().receive(wait_s) if isinstance(one, Frame) or one.kind != "garbled"]


class HidesGarbage(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return [one for one in super().receive(wait_s) if isinstance(one, Frame) or one.kind != "garbled"]


class GuessesTheRest(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        came = super().receive(wait_s)
        return [
            memory.read(one.raw + b"0" * (len(one.raw) % 2), one.stamp)
            if isinstance(one, Event) and one.kind == "lost" and one.raw
            else one
            for one in came
        ] + [one for one in came if isinstance(one, Event) and one.kind == "lost"]


class HoardsFrames(MemoryLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(address, clock, listen_only)
        self.hoard: list[Frame | Event] = []

    def receive(self, wait_s: float) -> Came:
        self.hoard += super().receive(0.0 if self.hoard else wait_s)
        first, self.hoard = self.hoard[:1], self.hoard[1:]
        return first


class DropsOnInterrupt(MemoryLink):
    rung = False

    def interrupt(self) -> None:
        self.rung = True
        super().interrupt()

    def receive(self, wait_s: float) -> Came:
        came = super().receive(wait_s)
        came = super().receive(0.01) if self.rung and not came else came
        dropped, self.rung = self.rung, False
        return [] if dropped else came


class LosesUnderLoad(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return super().receive(wait_s)[:1000]


class SendsInBigLetters(MemoryLink):
    def send(self, frame: Frame) -> Stamp:
        return super().send(replace(frame, extended=False, can_id=frame.can_id & 0x7FF))


class EchoAsReply(MemoryLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(address, clock, listen_only)
        self.echoes: list[Frame | Event] = []

    def send(self, frame: Frame) -> Stamp:
        self.echoes.append(frame)
        return super().send(frame)

    def receive(self, wait_s: float) -> Came:
        echoes, self.echoes = self.echoes, []
        return [*echoes, *super().receive(wait_s)]


class SendsAfterClose(MemoryLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(address, clock, listen_only)
        self.spare = self._socket.dup()

    def send(self, frame: Frame) -> Stamp:
        self.spare.sendall(memory.spell(frame))
        return self._clock.stamp()

    def __del__(self) -> None:
        self.spare.close()


class SendsIntoTheVoid(MemoryLink):
    def send(self, frame: Frame) -> Stamp:
        try:
            return super().send(frame)
        except LinkError:
            return self._clock.stamp()


class SendsWhileListening(MemoryLink):
    def send(self, frame: Frame) -> Stamp:
        self._socket.sendall(memory.spell(frame))
        return self._clock.stamp()


class KeepsItsClaim(MemoryLink):
    def close(self) -> None:
        closed, place = self._closed, self._place
        super().close()
        if not closed:
            memory._TAKEN.add(place)


class SharesItsPort(MemoryLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        memory._TAKEN.discard(address.place)
        super().__init__(address, clock, listen_only)


class LeavesABusyPortOpen(MemoryLink):
    kept: list[object] = []  # noqa: RUF012 - the leak itself

    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        try:
            super().__init__(address, clock, listen_only)
        except LinkError:
            self.kept.append(memory._WIRES[address.place].dup())
            raise


class CallsABusyPortMissing(MemoryLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        try:
            super().__init__(address, clock, listen_only)
        except LinkError as error:
            raise LinkError(error.what, kind="missing", hint=error.hint, reached="nothing") from error


class DisturbsWhoeverHasIt(MemoryLink):
    open_now: ClassVar[dict[str, MemoryLink]] = {}

    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        if held := self.open_now.get(address.place):
            held._rest = b"disturbed"
            held.receive = lambda wait_s: [Event("garbled", clock.stamp())]  # type: ignore[method-assign]
        super().__init__(address, clock, listen_only)
        self.open_now[address.place] = self


class FindsAPlaceWithAQuestionMark(MemoryLink):
    finds = (Address("memory", "what?"),)


class FindsAPlaceWithABlank(MemoryLink):
    finds = (Address("memory", "COM 3"),)


class FindsForAnother(MemoryLink):
    finds = (Address("memories", "1"),)


class FreezesItsStamp(MemoryLink):
    frozen: Stamp | None = None

    def receive(self, wait_s: float) -> Came:
        came = super().receive(wait_s)
        for one in came:
            self.frozen = self.frozen or one.stamp
        return [replace(one, stamp=self.frozen or one.stamp) for one in came]


def shifted(stamp: Stamp, milliseconds: int) -> Stamp:
    return replace(stamp, mono_ns=stamp.mono_ns + milliseconds * 1_000_000)


class StampsEarly(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return [replace(one, stamp=shifted(one.stamp, -100)) for one in super().receive(wait_s)]


class StampsLate(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        return [replace(one, stamp=shifted(one.stamp, 100)) for one in super().receive(wait_s)]


class SendsByItsOwnClock(MemoryLink):
    def send(self, frame: Frame) -> Stamp:
        super().send(frame)
        return SystemClock().stamp()


class DropsWhatIsAlike(MemoryLink):
    last: tuple[int, bytes] = (0, b"")

    def receive(self, wait_s: float) -> Came:
        kept: list[Frame | Event] = []
        for one in super().receive(wait_s):
            if not isinstance(one, Frame) or (one.can_id, one.data) != self.last:
                kept.append(one)
            self.last = (one.can_id, one.data) if isinstance(one, Frame) else self.last
        return kept


class SendsWhatIsAlikeOnce(MemoryLink):
    last: Frame | None = None

    def send(self, frame: Frame) -> Stamp:
        if frame == self.last:
            return self._clock.stamp()
        self.last = frame
        return super().send(frame)


class SendsSlowly(MemoryLink):
    def send(self, frame: Frame) -> Stamp:
        threading.Event().wait(0.15)
        return super().send(frame)


class CallsASentFrameUnsent(MemoryLink):
    def send(self, frame: Frame) -> Stamp:
        super().send(frame)
        for _ in range(20):  # for an acknowledgement, which never comes
            if any(isinstance(one, Event) and one.kind == "lost" for one in super().receive(0.1)):
                break
        raise LinkError("no acknowledgement", kind="gone", hint="look", reached="nothing")


class RenewsItsDeadline(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        came = list(super().receive(wait_s))
        while came and (more := super().receive(wait_s)):
            came += more
        return came


class CollectsForTheWholeWait(MemoryLink):
    def receive(self, wait_s: float) -> Came:
        end_ns = SystemClock().mono_ns() + round(wait_s * 1e9)
        came = list(super().receive(wait_s))
        while came and (left_ns := end_ns - SystemClock().mono_ns()) > 0:
            came += super().receive(left_ns / 1e9)
        return came


class Wrong(MemoryLink):
    """What an adapter may raise that is not of the tree."""

    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        if address.options:
            raise ValueError("bad option")
        super().__init__(address, clock, listen_only)


CAUGHT = broken_links.caught(
    MemoryLink,
    {
        "test_it_is_a_frame_link": (AlsoMessages,),
        "test_an_unknown_option_is_refused": (Wrong,),
        "test_a_missing_interface_is_named_and_leaves_nothing_open": (OpensNothing,),
        "test_silence_is_an_empty_answer_after_the_wait": (InventsSilence,),
        "test_unplugged_while_idle_is_told": (SilentWhenUnplugged,),
        "test_frames_arrive_whole_and_in_order": (LosesOne, ExchangesTwo),
        "test_what_others_sent_is_received": (CallsAllSent,),
        "test_a_remote_frame_is_no_data_frame": (ForgetsRemote,),
        "test_stamps_run_forward_and_say_whose_clock_they_are": (StampsFromAnotherClock, ClaimsADeviceClock),
        "test_a_stream_in_pieces_gives_the_same_frames": (ReadsWholeLinesOnly,),
        "test_garbage_is_told_and_the_next_frame_is_read": (HidesGarbage,),
        "test_unplugged_in_mid_frame_gives_no_frame": (GuessesTheRest,),
        "test_the_descriptor_shows_what_waits": (HoardsFrames,),
        "test_an_interrupt_loses_nothing": (DropsOnInterrupt,),
        "test_no_frame_is_lost_at_the_full_rate_of_the_bus": (LosesUnderLoad,),
        "test_what_is_sent_arrives_as_it_was": (SendsInBigLetters,),
        "test_an_echo_is_never_a_reply": (EchoAsReply,),
        "test_a_closed_link_sends_nothing": (SendsAfterClose,),
        "test_sending_on_an_unplugged_wire_is_an_error": (SendsIntoTheVoid,),
        "test_listen_only_is_kept_or_refused": (SendsWhileListening,),
        "test_after_closing_it_can_be_opened_again": (KeepsItsClaim,),
        "test_an_interface_in_use_is_refused_as_busy": (
            SharesItsPort,
            LeavesABusyPortOpen,
            CallsABusyPortMissing,
            DisturbsWhoeverHasIt,
        ),
        "test_what_it_finds_can_be_typed": (FindsAPlaceWithAQuestionMark, FindsAPlaceWithABlank, FindsForAnother),
        "test_each_stamp_is_of_its_own_moment": (FreezesItsStamp, StampsEarly, StampsLate),
        "test_stamps_are_of_the_clock_it_was_given": (SendsByItsOwnClock,),
        "test_the_same_frame_again_is_another_frame": (DropsWhatIsAlike,),
        "test_what_is_sent_twice_leaves_twice": (SendsWhatIsAlikeOnce,),
        "test_a_sending_does_not_hold_up_its_caller": (SendsSlowly,),
        "test_what_was_heard_is_never_called_unsent": (CallsASentFrameUnsent,),
        "test_frames_that_keep_coming_hold_up_neither_receive_nor_interrupt": (
            RenewsItsDeadline,
            CollectsForTheWholeWait,
        ),
    },
)
"""Rule -> links that break it. The rule on addresses needs a broken far end and has a test of its own."""
