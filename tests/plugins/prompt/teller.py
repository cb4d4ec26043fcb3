"""An interface of no make, played on a pseudo-terminal: it answers by a table and says what the test tells it to."""

from __future__ import annotations

import os
import select
import threading
import tty
from collections.abc import Mapping

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


class Teller:
    """The other end of the line. `answers` maps a command to its whole answer; None: it says nothing."""

    def __init__(self, answers: Mapping[str, str | None] | None = None) -> None:
        self.answers = {"who": "teller one\nnext? ", **(answers or {})}
        self.heard: list[str] = []
        self.heard_one = threading.Condition()
        self._ours, self._theirs = os.openpty()
        tty.setraw(self._theirs)
        self.port = os.ttyname(self._theirs)
        self._ended, self._end = os.pipe()
        self._thread = threading.Thread(target=self._live, daemon=True)
        self._thread.start()

    def say(self, characters: bytes) -> None:
        """Say something by itself."""
        os.write(self._ours, characters)

    def wait_for(self, count: int) -> list[str]:
        """Wait until so many commands were heard; return them."""
        with self.heard_one:
            assert self.heard_one.wait_for(lambda: len(self.heard) >= count, timeout=10)
        return list(self.heard)

    def unplug(self) -> None:
        """Pull the cable. May be called twice."""
        if self._thread.is_alive():
            os.write(self._end, b"!")
            self._thread.join(10)
            for fd in (self._ours, self._theirs, self._ended, self._end):
                os.close(fd)

    def _live(self) -> None:
        text = b""
        while self._ended not in (ready := select.select([self._ours, self._ended], [], [])[0]):
            assert ready
            text += os.read(self._ours, 1024)
            while (end := text.find(b"\n")) >= 0:
                line, text = text[:end].decode(), text[end + 1 :]
                answer = self.answers.get(line, "said\nnext? ")
                if answer is not None:
                    os.write(self._ours, answer.encode())
                with self.heard_one:
                    self.heard.append(line)
                    self.heard_one.notify_all()
