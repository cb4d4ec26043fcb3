"""What the loop waits for: what can be read, until the next moment at which something is to be done.

The loop's sockets, its link and the parts that have deadlines flow in; it returns when there is something to do. Rules
that hold here: a link without a file descriptor is looked at every slice; nobody waits longer than half a second.
"""

from __future__ import annotations

import select
import socket
from collections.abc import Iterable
from typing import Any, Protocol

from witnessmark.clock import NS, Clock
from witnessmark.job.face_line import FaceLine
from witnessmark.job.journal_thread import JournalThread
from witnessmark.link.port import FrameLink
from witnessmark.talk.conversation import SLICE_REAL_S, Conversation

LONGEST_REAL_S = 0.5


class Due(Protocol):
    """A part that has something to do at a moment, monotonic ns; None while it waits for something else."""

    def deadline_ns(self) -> int | None: ...


class Waiting:
    """Waits for one loop. `wakeup` is readable when a signal has come."""

    def __init__(self, thread: JournalThread, face: FaceLine, clock: Clock, wakeup: socket.socket | None) -> None:
        self._thread = thread
        self._face = face
        self._clock = clock
        self._wakeup = wakeup

    def wait(self, link: Conversation | FrameLink | None, parts: Iterable[Due | None], moments: Iterable[int]) -> None:
        """Wait until something can be read, or one of `parts` or `moments` is due."""
        readers: list[Any] = [self._thread]
        wait_s = LONGEST_REAL_S
        if not self._face.gone:
            readers.append(self._face)
        if self._wakeup is not None:
            readers.append(self._wakeup)
        fd = link.fileno() if link is not None else None
        if fd is not None:
            readers.append(fd)
        elif link is not None:
            wait_s = SLICE_REAL_S
        due = [*moments, *(one.deadline_ns() for one in parts if one is not None)]
        deadline_ns = min((one for one in due if one is not None), default=None)
        if deadline_ns is not None:
            wait_s = min(wait_s, max(0.0, self._clock.real_s((deadline_ns - self._clock.mono_ns()) / NS)))
        ready, _, _ = select.select(readers, [self._face] if self._face.wants_to_write else [], [], wait_s)
        if self._wakeup in ready and self._wakeup is not None:
            self._wakeup.recv(4096)
