"""One conversation with an interface: commands go out one after another, lines come in at any time.

Flows in: texts of commands and characters of the port. Flows out: `Line`s with their stamps. Rules that hold here: a
command waits for the prompt of the one before, but never longer than the profile says; `free` tells whether it would
wait; after `interrupt` the next
command leaves without waiting, so that a stop always gets out; an interface's own deadlines are in real seconds.
"""

from __future__ import annotations

import select
from collections import deque
from dataclasses import dataclass

from witnessmark.clock import SystemClock
from witnessmark.plugin import Clock, Doorbell, LinkError, Stamp
from witnessmark_prompt.flag import Flag
from witnessmark_prompt.lines import LineReader
from witnessmark_prompt.port import Port
from witnessmark_prompt.profile import Profile

SLICE_S = 0.005
REAL = SystemClock()


@dataclass(frozen=True, slots=True)
class Line:
    """One line and when its end was there; `prompt` for a prompt, `missing` for one that did not come in time."""

    raw: bytes
    stamp: Stamp
    prompt: bool = False
    missing: bool = False


class Conversation:
    """`lost` is the error once the interface is gone: what came before it is still handed out."""

    def __init__(self, port: Port, profile: Profile, clock: Clock) -> None:
        self._port = port
        self._profile = profile
        self._clock = clock
        self._reader = LineReader(profile.text.prompt, profile.text.line_end, profile.text.longest_line)
        self._echoes: deque[bytes] = deque(maxlen=8)
        self._bell = Doorbell()
        self._ready = Flag()
        self._hurry = False
        self._outstanding = 0
        self._prompt_due_ns = 0
        self._heard_since = False
        self._half_written = False
        self._queue: deque[Line] = deque()
        self.lost: LinkError | None = None
        self._poll = _readable(port, self._ready)

    def fileno(self) -> int | None:
        """What to wait on: readable when characters came, or when lines wait to be handed out."""
        return None if self._poll is None else self._poll.fileno()

    def hear(self, wait_s: float) -> list[Line]:
        """Return the lines that came, after at most `wait_s` real seconds; at once after `interrupt`."""
        if not self._queue:
            self._pull(wait_s)
        self._pull(0.0)
        self._ready.lower()
        lines, self._queue = list(self._queue), deque()
        return lines

    def command(self, text: str) -> Stamp:
        """Write a command, after the prompt of the one before it; return when its last character was handed over.

        Raises LinkError: `gone`; `no_answer` when the interface said nothing at all since the last command; `stuck`
        when it takes no characters. Nothing of the command was written then, but for `gone` and `stuck`.
        """
        send = self._profile.send
        if not send.type_ahead:
            self._await_prompt()
        hurried, self._hurry = self._hurry, False
        out = (send.abandon if hurried else "") + text + self._profile.text.command_end
        if self._profile.text.echo:
            self._echoes.append(text.encode("utf-8"))
        self._write(out.encode("utf-8"), send.within_ms / 1000)
        self._outstanding += 1
        self._prompt_due_ns = REAL.mono_ns() + send.within_ms * 1_000_000
        self._heard_since = False
        return self._clock.stamp()

    def free(self) -> bool:
        """Whether a command would be written at once."""
        waits = self._outstanding and not self._profile.send.type_ahead and not self._hurry
        return not waits or self.lost is not None or REAL.mono_ns() >= self._prompt_due_ns

    def forget_prompts(self) -> None:
        """Do not wait for prompts any more: the interface said something else, or nothing."""
        self._outstanding = 0

    @property
    def awaits_prompt(self) -> bool:
        """Whether the prompt of a command is still to come."""
        return self._outstanding > 0

    @property
    def rest(self) -> bytes:
        """What came and is not a whole line yet."""
        return self._reader.rest

    def interrupt(self) -> None:
        """End a pending wait at once, and let the next command leave without waiting. Safe in a signal handler."""
        self._hurry = True
        self._bell.ring()

    def close(self) -> None:
        """Give everything back; a wait in another thread ends. May be called twice."""
        if self.lost is None:
            self.lost = LinkError("the link is closed", kind="gone", hint="open it again", reached="nothing")
        self._bell.ring()
        self._port.close()
        if self._poll is not None and not self._poll.closed:
            self._poll.close()
        self._bell.close()
        self._ready.close()

    def _await_prompt(self) -> None:
        while self._outstanding and not self._hurry:
            left_s = (self._prompt_due_ns - REAL.mono_ns()) / 1e9
            if left_s <= 0:
                break
            self._pull(left_s)
            self._raise_if_lost()
        if self._outstanding and not self._hurry:
            self._outstanding = 0
            if not self._heard_since:
                raise LinkError(
                    f"the interface at {self._port.name} gives neither answer nor prompt",
                    kind="no_answer",
                    hint="check its supply and the speed in the profile; the next request is sent without waiting",
                    reached="nothing",
                )
            self._queue.append(Line(self._reader.rest, self._clock.stamp(), missing=True))
        if self._queue:
            self._ready.raise_()

    def _write(self, characters: bytes, within_s: float) -> None:
        """Write all of a command. What stays half written is ended before the next one."""
        if self._half_written:
            characters = self._profile.text.command_end.encode("ascii") + characters
        deadline_ns = REAL.mono_ns() + round(within_s * 1e9)
        self._raise_if_lost()
        self._half_written = False
        while characters:
            left_s = max(0.0, (deadline_ns - REAL.mono_ns()) / 1e9)
            try:
                written = self._port.write(characters, min(left_s, SLICE_S))
            except LinkError as error:
                self.lost = error
                raise
            characters = characters[written:]
            self._half_written = self._half_written or written > 0
            if written:
                continue
            if left_s <= 0:
                raise LinkError(
                    f"the interface at {self._port.name} takes no more characters",
                    kind="stuck",
                    hint="unplug it and plug it in again; treat what was running as running",
                    reached="maybe" if self._half_written else "nothing",
                )
            self._pull(0.0)
            if self.lost is not None:
                raise self.lost
        self._half_written = False

    def _pull(self, wait_s: float) -> None:
        """Read what is there into the queue, waiting for it at most `wait_s`."""
        if self.lost is not None:
            return
        if not self._wait(wait_s):
            return
        try:
            characters = self._port.read()
        except LinkError as error:
            self.lost = error
            return
        stamp = self._clock.stamp()
        for raw in self._reader.feed(characters):
            self._take(raw, stamp)

    def _wait(self, wait_s: float) -> bool:
        """Wait until something has come; False when the time is up, on `interrupt` and on `close`."""
        fd = self._port.fd
        try:
            if fd is not None:
                return self._bell.wait([fd], wait_s) and self.lost is None
            deadline_ns = REAL.mono_ns() + round(wait_s * 1e9)
            while not self._port.waiting() and (left_s := (deadline_ns - REAL.mono_ns()) / 1e9) > 0:
                slice_s = min(left_s, SLICE_S)
                before_ns = REAL.mono_ns()
                self._bell.wait([], slice_s)
                if self._hurry or REAL.mono_ns() - before_ns < slice_s * 0.5e9:
                    return False
            return self.lost is None and self._port.waiting()
        except (OSError, ValueError):
            if self.lost is None:
                raise
            return False  # closed while waiting

    def _take(self, raw: bytes | None, stamp: Stamp) -> None:
        if raw is None:
            self._outstanding = max(0, self._outstanding - 1)
            self._queue.append(Line(b"", stamp, prompt=True))
            return
        if raw in self._echoes:
            self._echoes.remove(raw)
            return
        self._heard_since = True
        self._queue.append(Line(raw, stamp))

    def _raise_if_lost(self) -> None:
        if self.lost is not None:
            raise LinkError(self.lost.what, kind=self.lost.kind, hint=self.lost.hint, reached="nothing")


def _readable(port: Port, ready: Flag) -> select.epoll | None:
    """Join port and flag into one descriptor, where the system can (Linux)."""
    if port.fd is None or not hasattr(select, "epoll"):
        return None
    poll = select.epoll()
    poll.register(port.fd, select.EPOLLIN)
    poll.register(ready.fileno(), select.EPOLLIN)
    return poll
