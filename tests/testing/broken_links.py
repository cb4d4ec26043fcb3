"""Faults that a link of either kind can have: each, on top of a good link of frames or messages, breaks one rule."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from typing import Any

from witnessmark.clock import Clock, SystemClock
from witnessmark.errors import LinkError, LocalError
from witnessmark.link.address import Address
from witnessmark.link.frame import Event
from witnessmark.testing.memory import MemoryLink
from witnessmark.testing.memory_messages import MemoryMessageLink

Link: Any = object
"""The good link that a fault is put on top of."""


class ComesBackAtOnce(Link):
    def receive(self, wait_s: float) -> Sequence[Any]:
        return super().receive(0.0)


class TakesAnyOption(Link):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(Address(address.scheme, address.place), clock, listen_only)


class DeafToInterrupt(Link):
    def interrupt(self) -> None:
        return


class ForgetsAnEarlyInterrupt(Link):
    waits = False

    def interrupt(self) -> None:
        if self.waits:
            super().interrupt()

    def receive(self, wait_s: float) -> Sequence[Any]:
        self.waits = True
        try:
            return super().receive(wait_s)
        finally:
            self.waits = False


class StaysInterrupted(Link):
    rung = False

    def interrupt(self) -> None:
        self.rung = True
        super().interrupt()

    def receive(self, wait_s: float) -> Sequence[Any]:
        return super().receive(0.0 if self.rung else wait_s)


class InterruptMeetsTheClose(Link):
    half_closed = False

    def interrupt(self) -> None:
        if self.half_closed and not self._closed:
            raise OSError(9, "bad descriptor")
        super().interrupt()

    def close(self) -> None:
        self.half_closed = True
        threading.Event().wait(0.1)
        super().close()


class ClosesOnce(Link):
    def close(self) -> None:
        if self._closed:
            raise LocalError("closed already", hint="close once")
        super().close()


class ClosesBehindTheWait(Link):
    def close(self) -> None:
        held = self._lock.acquire(timeout=1.0)  # for ever, but for the test's sake
        super().close()
        if held:
            self._lock.release()


class InterruptNeedsAnOpenLink(Link):
    def interrupt(self) -> None:
        if self._closed:
            raise OSError(9, "bad descriptor")
        super().interrupt()


class SilentWhenClosed(Link):
    def receive(self, wait_s: float) -> Sequence[Any]:
        return [] if self._closed else super().receive(wait_s)


class LeavesAThread(Link):
    stop = threading.Event()

    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(address, clock, listen_only)
        threading.Thread(target=self.stop.wait, name="left behind", daemon=True).start()


class LeavesADescriptor(Link):
    kept: list[object] = []  # noqa: RUF012 - the leak itself

    def close(self) -> None:
        if not self._closed:
            self.kept.append(self._socket.dup())
        super().close()


class HangsWhenUnplugged(Link):
    def receive(self, wait_s: float) -> Sequence[Any]:
        try:
            came = super().receive(wait_s)
        except LinkError:
            came = [Event("lost", self._clock.stamp())]
        if any(isinstance(one, Event) and one.kind == "lost" for one in came):
            self._bell.wait([], 30.0)
        return came


class TellsLostOnce(Link):
    lost = False

    def receive(self, wait_s: float) -> Sequence[Any]:
        if self.lost:
            self._bell.wait([], wait_s)
            return []
        came = super().receive(wait_s)
        self.lost = any(isinstance(one, Event) and one.kind == "lost" for one in came)
        return came


class LooksAtItsOwnClock(Link):
    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        super().__init__(address, SystemClock(), listen_only)


CAUGHT: dict[str, tuple[type, ...]] = {
    "test_an_unknown_option_is_refused": (TakesAnyOption,),
    "test_silence_is_an_empty_answer_after_the_wait": (ComesBackAtOnce,),
    "test_an_interrupt_ends_a_wait_and_the_link_goes_on": (DeafToInterrupt,),
    "test_an_interrupt_before_the_wait_ends_it_and_does_not_last": (ForgetsAnEarlyInterrupt, StaysInterrupted),
    "test_interrupting_while_it_closes_does_nothing": (InterruptMeetsTheClose,),
    "test_closing_twice_is_allowed": (ClosesOnce,),
    "test_closing_ends_a_wait": (ClosesBehindTheWait,),
    "test_interrupting_a_closed_link_does_nothing": (InterruptNeedsAnOpenLink,),
    "test_a_closed_link_is_no_silent_wire": (SilentWhenClosed,),
    "test_no_thread_and_no_descriptor_stays": (LeavesAThread, LeavesADescriptor),
    "test_unplugged_while_waiting_is_told": (HangsWhenUnplugged,),
    "test_once_lost_it_never_waits_again": (TellsLostOnce,),
    "test_stamps_are_of_the_clock_it_was_given": (LooksAtItsOwnClock,),
}
"""Rule of both kits -> faults that break it."""


def caught(
    good: type[MemoryLink] | type[MemoryMessageLink], own: Mapping[str, tuple[type, ...]]
) -> dict[str, tuple[type, ...]]:
    """Return for each rule the links that break it: the good link with the faults of both kinds, then `own` ones."""
    shared = {rule: tuple(type(one.__name__, (one, good), {}) for one in faults) for rule, faults in CAUGHT.items()}
    return {rule: shared.get(rule, ()) + own.get(rule, ()) for rule in shared | dict(own)}
