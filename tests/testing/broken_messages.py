"""Message links broken on purpose: each breaks the rule it is named for, and is the good link in all else."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import replace

from tests.testing import broken_links

from witnessmark.clock import Clock, Stamp
from witnessmark.errors import LinkError
from witnessmark.link.address import Address
from witnessmark.link.frame import Event, Message, Peer
from witnessmark.testing import memory_messages
from witnessmark.testing.memory_messages import TESTER, MemoryMessageLink, spell

Came = Sequence[Message | Event]


class NoWake(MemoryMessageLink):
    wake = None  # type: ignore[assignment]


class OpensNothing(MemoryMessageLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        if address.place not in memory_messages._WIRES:
            raise LinkError("it does not open", kind="busy", hint="none", reached="nothing")
        super().__init__(address, clock, listen_only)


class InventsSilence(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        return super().receive(wait_s) or [Event("accepted", self._clock.stamp())]


class SilentWhenUnplugged(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        try:
            return [one for one in super().receive(wait_s) if isinstance(one, Message) or one.kind != "lost"]
        except LinkError:
            return []


class AddsAByte(MemoryMessageLink):
    def send(self, peer: Peer, payload: bytes) -> Stamp:
        return super().send(peer, payload + b"\x00")


class CutsLongAnswers(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        return [
            replace(one, payload=one.payload[:64]) if isinstance(one, Message) else one
            for one in super().receive(wait_s)
        ]


class NobodyAnswered(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        return [
            replace(one, peer=Peer(one.peer.target)) if isinstance(one, Message) else one
            for one in super().receive(wait_s)
        ]


class DropsRaw(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        return [replace(one, raw=()) if isinstance(one, Message) else one for one in super().receive(wait_s)]


class StampsBackwards(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        return [replace(one, last=Stamp(0, 0)) if isinstance(one, Message) else one for one in super().receive(wait_s)]


class SwallowsPending(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        return [
            one
            for one in super().receive(wait_s)
            if not (isinstance(one, Message) and one.payload[:1] == b"\x7f" and one.payload[-1:] == b"\x78")
        ]


class MergesEqual(MemoryMessageLink):
    last = b""

    def receive(self, wait_s: float) -> Came:
        kept: list[Message | Event] = []
        for one in super().receive(wait_s):
            if isinstance(one, Message) and one.origin == "received":
                if one.payload == self.last:
                    continue
                self.last = one.payload
            kept.append(one)
        return kept


class GivesUpEarly(MemoryMessageLink):
    sent_ns = 0

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        stamp = super().send(peer, payload)
        self.sent_ns = stamp.mono_ns
        return stamp

    def receive(self, wait_s: float) -> Came:
        came = super().receive(wait_s)
        return [] if self._clock.mono_ns() - self.sent_ns > 100_000_000 else came


class AnswersItself(MemoryMessageLink):
    asked = False

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        self.asked = True
        return super().send(peer, payload)

    def receive(self, wait_s: float) -> Came:
        came = super().receive(min(wait_s, 0.02))
        if came or not self.asked:
            return came
        self.asked = False
        stamp = self._clock.stamp()
        return [Message(Peer(0x10, 0x10), b"\x7f\x22\x10", stamp, stamp, (b"made up",))]


class EchoAsReply(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        return [replace(one, origin="received") if isinstance(one, Message) else one for one in super().receive(wait_s)]


class ReadsWholeLinesOnly(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        self._rest = b""
        return super().receive(wait_s)


class HidesGarbage(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        return [one for one in super().receive(wait_s) if isinstance(one, Message) or one.kind != "garbled"]


class GuessesTheRest(MemoryMessageLink):
    def receive(self, wait_s: float) -> Came:
        came = list(super().receive(wait_s))
        for one in tuple(came):
            if isinstance(one, Event) and one.kind == "lost" and one.raw:
                came.insert(0, Message(Peer(0x10, 0x10), one.raw, one.stamp, one.stamp, (one.raw,)))
        return came


class HoardsMessages(MemoryMessageLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(address, clock, listen_only)
        self.hoard: list[Message | Event] = []

    def receive(self, wait_s: float) -> Came:
        self.hoard += super().receive(0.0 if self.hoard else wait_s)
        if len(self.hoard) < 4:  # the echo and three answers
            return []
        first, self.hoard = self.hoard[:1], self.hoard[1:]
        return first


class DropsOnInterrupt(MemoryMessageLink):
    rings = 0

    def interrupt(self) -> None:
        self.rings += 1
        super().interrupt()

    def receive(self, wait_s: float) -> Came:
        came = super().receive(wait_s) or super().receive(wait_s)
        return [] if self.rings else came


class LosesTheFiftieth(MemoryMessageLink):
    count = 0

    def receive(self, wait_s: float) -> Came:
        came = super().receive(wait_s)
        self.count += len(received := [one for one in came if isinstance(one, Message) and one.origin == "received"])
        return [] if received and self.count == 50 else came


class SendsAnyLength(MemoryMessageLink):
    def send(self, peer: Peer, payload: bytes) -> Stamp:
        self._socket.sendall(spell(TESTER, peer.target, payload))
        return self._clock.stamp()


class SendsAfterClose(MemoryMessageLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(address, clock, listen_only)
        self.spare = self._socket.dup()

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        self.spare.sendall(spell(TESTER, peer.target, payload))
        return self._clock.stamp()

    def __del__(self) -> None:
        self.spare.close()


class SendsIntoTheVoid(MemoryMessageLink):
    def send(self, peer: Peer, payload: bytes) -> Stamp:
        try:
            return super().send(peer, payload)
        except LinkError:
            return self._clock.stamp()


class SendsWhileListening(MemoryMessageLink):
    def send(self, peer: Peer, payload: bytes) -> Stamp:
        self._socket.sendall(spell(TESTER, peer.target, payload))
        return self._clock.stamp()


class KeepsItsClaim(MemoryMessageLink):
    def close(self) -> None:
        closed, place = self._closed, self._place
        super().close()
        if not closed:
            memory_messages._TAKEN.add(place)


class SharesItsPort(MemoryMessageLink):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        memory_messages._TAKEN.discard(address.place)
        super().__init__(address, clock, listen_only)


class FindsAPlaceWithAQuestionMark(MemoryMessageLink):
    finds = (Address("memory-messages", "what?"),)


class FreezesItsStamp(MemoryMessageLink):
    frozen: Stamp | None = None

    def receive(self, wait_s: float) -> Came:
        came = super().receive(wait_s)
        for one in came:
            if isinstance(one, Message) and one.origin == "received":
                self.frozen = self.frozen or one.first
        now = self.frozen
        return [replace(one, first=now, last=now) if isinstance(one, Message) and now else one for one in came]


def shifted(stamp: Stamp, milliseconds: int) -> Stamp:
    return replace(stamp, mono_ns=stamp.mono_ns + milliseconds * 1_000_000)


class Shifts(MemoryMessageLink):
    by_ms = 0

    def receive(self, wait_s: float) -> Came:
        return [
            replace(one, first=shifted(one.first, self.by_ms), last=shifted(one.last, self.by_ms))
            if isinstance(one, Message)
            else one
            for one in super().receive(wait_s)
        ]


class StampsEarly(Shifts):
    by_ms = -100


class StampsLate(Shifts):
    by_ms = 100


class SendsSlowly(MemoryMessageLink):
    def send(self, peer: Peer, payload: bytes) -> Stamp:
        threading.Event().wait(0.15)
        return super().send(peer, payload)


class CallsASentRequestUnsent(MemoryMessageLink):
    def send(self, peer: Peer, payload: bytes) -> Stamp:
        super().send(peer, payload)
        for _ in range(20):  # for an acknowledgement, which never comes
            if any(isinstance(one, Event) and one.kind == "lost" for one in super().receive(0.1)):
                break
        raise LinkError("no acknowledgement", kind="gone", hint="look", reached="nothing")


CAUGHT = broken_links.caught(
    MemoryMessageLink,
    {
        "test_it_is_a_message_link": (NoWake,),
        "test_a_missing_interface_is_named_and_leaves_nothing_open": (OpensNothing,),
        "test_silence_is_an_empty_answer_after_the_wait": (InventsSilence,),
        "test_unplugged_while_idle_is_told": (SilentWhenUnplugged,),
        "test_a_request_arrives_as_it_was": (AddsAByte,),
        "test_answers_of_every_length_come_whole": (CutsLongAnswers,),
        "test_an_answer_names_its_sender_and_keeps_its_raw_bytes": (NobodyAnswered, DropsRaw),
        "test_stamps_run_forward": (StampsBackwards, FreezesItsStamp, StampsEarly, StampsLate),
        "test_every_answer_to_one_request_comes_in_order": (SwallowsPending,),
        "test_an_answer_that_comes_twice_is_given_twice": (MergesEqual,),
        "test_a_late_answer_is_given": (GivesUpEarly,),
        "test_no_answer_is_silence": (AnswersItself,),
        "test_an_echo_is_never_a_reply": (EchoAsReply,),
        "test_an_answer_in_pieces_is_one_answer": (ReadsWholeLinesOnly,),
        "test_garbage_is_told": (HidesGarbage,),
        "test_unplugged_in_mid_answer_gives_no_answer": (GuessesTheRest,),
        "test_the_descriptor_shows_what_waits": (HoardsMessages,),
        "test_an_interrupt_loses_nothing": (DropsOnInterrupt,),
        "test_no_answer_is_lost_in_many_exchanges": (LosesTheFiftieth,),
        "test_a_request_that_is_too_long_is_refused": (SendsAnyLength,),
        "test_a_closed_link_sends_nothing": (SendsAfterClose,),
        "test_sending_on_an_unplugged_wire_is_an_error": (SendsIntoTheVoid,),
        "test_listen_only_is_kept_or_refused": (SendsWhileListening,),
        "test_after_closing_it_can_be_opened_again": (KeepsItsClaim,),
        "test_an_interface_in_use_is_refused_as_busy": (SharesItsPort,),
        "test_what_it_finds_can_be_typed": (FindsAPlaceWithAQuestionMark,),
        "test_a_sending_does_not_hold_up_its_caller": (SendsSlowly,),
        "test_what_was_heard_is_never_called_unsent": (CallsASentRequestUnsent,),
    },
)
"""Rule -> links that break it. The rule on addresses needs a broken far end and has a test of its own."""
