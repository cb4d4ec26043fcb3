"""A control unit on a pseudo-terminal: it gives our bytes back as a K-line cable does, and answers as told.

Levels do not cross a pseudo-terminal, so it wakes by StartCommunication alone.
"""

from __future__ import annotations

import os
import threading

from witnessmark.plugin import Doorbell, Peer
from witnessmark.testing import Reply
from witnessmark.testing.script import Script, pieces
from witnessmark.testing.verdict import pause
from witnessmark.wire import kline

TESTER = 0xF1


class KlineUnit:
    """Address 11. Its key bytes EF 8F allow every header form."""

    peer = Peer(0x11, 0x11)
    streamed = True
    garbage = bytes.fromhex("83F111010203FF")  # a whole message whose sum is wrong

    def __init__(self) -> None:
        self._master, slave = os.openpty()
        self.path = os.ttyname(slave)
        os.close(slave)
        self._bell = Doorbell()
        self._gone = False
        self._script = Script()
        self.reply_with, self.requests = self._script.reply_with, self._script.requests
        self._thread = threading.Thread(target=self._live, name="kline unit", daemon=True)
        self._thread.start()

    @property
    def address(self) -> str:
        return f"kline:{self.path}?init=fast"

    def unplug(self) -> None:
        self._gone = True
        self._bell.ring()
        if threading.current_thread() is not self._thread:
            self._thread.join()

    def close(self) -> None:
        self.unplug()
        self._bell.close()

    def _live(self) -> None:
        stream = kline.Stream()
        try:
            while not self._gone:
                if not self._bell.wait([self._master], 3600.0):
                    continue
                try:
                    fresh = os.read(self._master, 4096)
                except OSError:  # nobody has the port open
                    pause(0.01)
                    continue
                os.write(self._master, fresh)
                for found in stream.feed(fresh):
                    if isinstance(found, kline.Message):
                        self._answer(found)
        finally:
            os.close(self._master)

    def _answer(self, request: kline.Message) -> None:
        if request.data == b"\x81":
            self._write(self._spell(b"\xc1\xef\x8f"))
            return
        reply = self._script.hear(request.data)
        if reply.late_s:  # beside, for the line goes on giving echoes
            threading.Thread(target=self._give, args=(reply,), name="contract aside", daemon=True).start()
        else:
            self._give(reply)

    def _give(self, reply: Reply) -> None:
        pause(reply.late_s)
        for number, payload in enumerate(reply.answers):
            spelt = self._spell(payload)
            if number == 0 and reply.noise:
                self._write(reply.noise)
            if number == 0 and reply.cut_after is not None:
                self._write(spelt[: reply.cut_after])
                pause(0.02)
                self.unplug()
                return
            for piece in pieces(spelt, reply):
                self._write(piece)
                if reply.piece:
                    pause(0.001)

    def _spell(self, payload: bytes) -> bytes:
        return kline.encode(payload, target=TESTER, source=self.peer.target)

    def _write(self, data: bytes) -> None:
        os.write(self._master, data)
