"""An interface of no make, played on a pseudo-terminal: it answers by a table and says what the test tells it to."""

from __future__ import annotations

import os
import select
import threading
import tty
from collections.abc import Callable

PROFILE = """
format = "witnessmark-profile/1"
name = "teller"
source = "invented for tests"
level = "frame"

[text]
prompt = "next? "
command_end = "\\n"
line_end = "\\n"

[[start]]
send = "who"
answer = "teller {any}"
within_ms = 3000

[send]
command = "say {id:3} {length}:{data} *{sum}"
command_extended = "say {id:8} {length}:{data} *{sum}"
accepted = "said"
within_ms = 200
abandon = "stop that\\n"

[receive]
lines = ["got {id:3} {length}:{data} *{sum:2}", "got {id:8} {length}:{data} *{sum:2}"]
remote = ["asked {id:3}"]

[sum]
kind = "xor8"
over = "data"

[[meanings]]
line = "not now"
means = "busy"

[[meanings]]
line = "nobody there"
means = "no_answer"

[[meanings]]
line = "line dead"
means = "bus_off"

[[meanings]]
line = "good morning"
means = "ignore"
"""


MESSAGES = (
    PROFILE.replace('level = "frame"', 'level = "message"')
    .replace("got {id:3}", "from {id:3}", 1)
    .replace("lines = [", 'begun = "starts {id:3}"\nlines = [')
    .replace("[sum]", '[[address]]\nsend = "talk to {request:3}, listen to {answer:3}"\nanswer = "fine"\n[sum]')
)
"""The same interface in a mode that carries whole messages."""


class Teller:
    """The other end of the line. `answers` maps a command to its whole answer; None: it says nothing.

    `on_command` is told of each command first, in the teller's thread, and may give the answer.
    """

    def __init__(self, on_command: Callable[[str], str | None] = lambda line: None) -> None:
        self.answers: dict[str, str | None] = {"who": "teller one\nnext? "}
        self._on_command = on_command
        self._writing = threading.Lock()
        self.heard: list[str] = []
        self.heard_one = threading.Condition()
        self._ours, self._theirs = os.openpty()
        tty.setraw(self._theirs)
        self.port = os.ttyname(self._theirs)
        os.set_blocking(self._ours, False)
        self._ended, self._end = os.pipe()
        self._end_asked = False
        self._thread = threading.Thread(target=self._live, daemon=True)
        self._thread.start()

    def say(self, characters: bytes) -> None:
        """Say something by itself, whole; blocks while nobody reads, and does nothing on a pulled cable."""
        with self._writing:
            while characters and self._end_asked is False:
                if select.select([], [self._ours], [], 0.05)[1]:
                    characters = characters[os.write(self._ours, characters) :]

    def wait_for(self, count: int) -> list[str]:
        """Wait until so many commands were heard; return them."""
        with self.heard_one:
            assert self.heard_one.wait_for(lambda: len(self.heard) >= count, timeout=10)
        return list(self.heard)

    def unplug(self) -> None:
        """Pull the cable. May be called twice."""
        if not self._end_asked:
            self._end_asked = True
            os.write(self._end, b"!")
            self._thread.join(10)
            with self._writing:
                for fd in (self._ours, self._theirs, self._ended, self._end):
                    os.close(fd)

    def _live(self) -> None:
        text = b""
        while self._ended not in (ready := select.select([self._ours, self._ended], [], [])[0]):
            assert ready
            text += os.read(self._ours, 1024)
            while (end := text.find(b"\n")) >= 0:
                line, text = text[:end].decode(), text[end + 1 :]
                answer = self._on_command(line) or self.answers.get(line, "said\nnext? ")
                with self.heard_one:  # before it answers: who has the answer finds the command here
                    self.heard.append(line)
                    self.heard_one.notify_all()
                if answer is not None:
                    self.say(answer.encode())
