"""A plugin's link behind a fence: whatever the plugin raises becomes a LinkError that names it.

In: a link that a plugin made, and whose it is. Out: the same port. Rules that hold here: an error of the tree that the
port allows passes as it is; any other, and an answer that is not what the port promises, is a LinkError of kind
`broken`; where nothing may be raised (a descriptor, an interrupt, a turn) the next `receive` tells it; a link that
has done nothing but break for `GIVE_UP_S` is gone.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

from witnessmark.clock import NS, Clock, Stamp
from witnessmark.errors import LinkError, LocalError, Reached, WitnessmarkError
from witnessmark.link.frame import Event, Frame, Message, Peer
from witnessmark.link.port import Capabilities, FrameLink, MessageLink, TakesTurns

BROKEN = "broken"
GIVE_UP_S = 1.0
"""For how many real seconds a link may do nothing but break: long enough for a stop to leave behind a gap."""
HINT = "tell the plugin's author; what it was asked to run may be running still: look, and keep hands clear"

LinkT = TypeVar("LinkT", bound=FrameLink | MessageLink)
Answer = TypeVar("Answer")


class _Guarded(Generic[LinkT]):
    """What both ports share. `whose` names plugin, distribution and address."""

    def __init__(self, link: LinkT, clock: Clock, whose: str) -> None:
        self._link = link
        self._clock = clock
        self._whose = whose
        self._untold: LinkError | None = None
        self._since_ns: int | None = None
        self._can = Capabilities()
        self._can = self.capabilities

    @property
    def capabilities(self) -> Capabilities:
        self._can = self._quietly("capabilities", lambda: self._link.capabilities, self._can)
        return self._can

    def fileno(self) -> int | None:
        """The plugin's descriptor; None, so that the core polls, where it gives one that cannot be waited on."""
        return self._quietly("fileno", lambda: _waitable(self._link.fileno()), None)

    def interrupt(self) -> None:
        self._quietly("interrupt", self._link.interrupt, None)

    def free(self) -> bool:
        """Whether the plugin takes a request at once. One that never waits always does."""
        link = self._link
        return not isinstance(link, TakesTurns) or bool(self._quietly("free", link.free, True))

    def close(self) -> None:
        """Give the interface back. Raises LinkError when the plugin breaks over it."""
        self._ask("close", self._link.close, "nothing")

    def _send(self, ask: Callable[[], Stamp]) -> Stamp:
        def sent() -> Stamp:
            stamp = ask()
            if not isinstance(stamp, Stamp):
                raise TypeError(f"it gave {stamp!r}, not the stamp of the sending")
            return stamp

        return self._ask("send", sent, "maybe", LocalError)

    def _receive(self, ask: Callable[[], Sequence[Answer]], *kinds: type) -> Sequence[Answer]:
        """Take what came; tell first what could not be told before."""
        untold, self._untold = self._untold, None
        if untold is not None:
            raise untold
        came = self._ask("receive", lambda: _checked(ask(), kinds), "maybe")
        self._since_ns = None
        return came

    def _quietly(self, what: str, ask: Callable[[], Answer], otherwise: Answer) -> Answer:
        try:
            return self._ask(what, ask, "maybe")
        except LinkError as error:
            self._untold = error
            return otherwise

    def _ask(self, what: str, ask: Callable[[], Answer], reached: Reached, *allowed: type[WitnessmarkError]) -> Answer:
        try:
            return ask()
        except (Exception, SystemExit) as error:  # whatever a plugin raises, the run goes on to its stop
            if isinstance(error, (LinkError, *allowed)):
                raise
            raise self._broke(what, error, reached) from error

    def _broke(self, what: str, error: BaseException, reached: Reached) -> LinkError:
        now_ns = self._clock.mono_ns()
        self._since_ns = now_ns if self._since_ns is None else self._since_ns
        gone = self._clock.real_s((now_ns - self._since_ns) / NS) >= GIVE_UP_S
        said = f"{self._whose} broke in {what}: {type(error).__name__}: {error}"
        return LinkError(said, kind="gone" if gone else BROKEN, hint=HINT, reached=reached)


class GuardedFrames(_Guarded[FrameLink]):
    """A plugin's link of frames."""

    def send(self, frame: Frame) -> Stamp:
        return self._send(lambda: self._link.send(frame))

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        return self._receive(lambda: self._link.receive(wait_s), Frame, Event)


class GuardedMessages(_Guarded[MessageLink]):
    """A plugin's link of whole messages."""

    def wake(self, peer: Peer) -> Sequence[Event]:
        return self._ask("wake", lambda: _checked(self._link.wake(peer), (Event,)), "maybe", LocalError)

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        return self._send(lambda: self._link.send(peer, payload))

    def receive(self, wait_s: float) -> Sequence[Message | Event]:
        return self._receive(lambda: self._link.receive(wait_s), Message, Event)


def guarded(link: FrameLink | MessageLink, clock: Clock, whose: str) -> FrameLink | MessageLink:
    """Return the link behind a guard of its own port. `whose` begins each error: `plugin x (dist 1.0) at x:/dev/y`."""
    if isinstance(link, MessageLink):  # it has all that a FrameLink has, and more
        return GuardedMessages(link, clock, whose)
    return GuardedFrames(link, clock, whose)


def _waitable(number: int | None) -> int | None:
    if number is not None:
        os.fstat(number)
    return number


def _checked(came: Sequence[Answer], kinds: tuple[type, ...]) -> Sequence[Answer]:
    came = list(came)
    for one in came:
        if not isinstance(one, kinds):
            raise TypeError(f"it gave {one!r}")
    return came
