"""The other end of a prompt interface, as the adapter contract needs it: a teller on a pseudo-terminal."""

from __future__ import annotations

import queue
import re
import tempfile
import threading
from collections.abc import Sequence
from pathlib import Path

from tests.plugins.prompt.teller import MESSAGES, PROFILE, Teller

from witnessmark.clock import NS, SystemClock
from witnessmark.plugin import Frame, Peer
from witnessmark.testing import Reply
from witnessmark.testing.script import Script, pieces

SAID = re.compile(r"say ([0-9A-F]+) (\d+):([0-9A-F]*) \*[0-9A-F]{2}")


def xor(data: bytes) -> int:
    value = 0
    for byte in data:
        value ^= byte
    return value


def got(word: str, can_id: int, extended: bool, data: bytes) -> bytes:
    return f"{word} {can_id:0{8 if extended else 3}X} {len(data)}:{data.hex().upper()} *{xor(data):02X}\n".encode()


class _FarEnd:
    """What both levels share: a teller and a profile file that goes with it."""

    garbage = b"\xfe\x01 no such words\n"

    def __init__(self, profile: str) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="wm-")
        path = Path(self._folder.name) / "teller.toml"
        path.write_text(profile, encoding="utf-8")
        self.teller = Teller(on_command=self.command)
        self.address = f"prompt:{self.teller.port}?profile={path}"

    def command(self, line: str) -> str | None:
        raise NotImplementedError

    def unplug(self) -> None:
        self.teller.unplug()

    def close(self) -> None:
        self.teller.unplug()
        self._folder.cleanup()


class PromptFrameFarEnd(_FarEnd):
    """A bus behind a teller."""

    def __init__(self) -> None:
        # Not a SimpleQueue: a signal as its time ends makes that one wait for ever.
        self._heard: queue.Queue[Frame] = queue.Queue()
        super().__init__(PROFILE)

    def command(self, line: str) -> str | None:
        found = SAID.fullmatch(line)
        if found is not None:
            data = bytes.fromhex(found[3])
            self._heard.put(Frame(int(found[1], 16), data, SystemClock().stamp(), extended=len(found[1]) == 8))
        return None

    def say(self, frames: Sequence[Frame]) -> None:
        self.write(b"".join(self.spell(frame) for frame in frames))

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        clock = SystemClock()
        end_ns = clock.mono_ns() + round(wait_s * NS)
        found: list[Frame] = []
        while len(found) < count:
            try:
                found.append(self._heard.get(timeout=max(0.0, (end_ns - clock.mono_ns()) / NS)))
            except queue.Empty:
                break
        return found

    def spell(self, frame: Frame) -> bytes:
        if frame.kind == "remote":
            return f"asked {frame.can_id:03X}\n".encode()
        return got("got", frame.can_id, frame.extended, frame.data)

    def write(self, raw: bytes) -> None:
        self.teller.say(raw)


class PromptMessageFarEnd(_FarEnd):
    """A control unit behind a teller that carries whole messages."""

    peer = Peer(0x6B3, 0x6BB)
    streamed = True

    def __init__(self) -> None:
        self._script = Script()
        super().__init__(MESSAGES)

    def command(self, line: str) -> str | None:
        if line.startswith("talk to "):
            return "fine\nnext? "
        found = SAID.fullmatch(line)
        if found is not None:
            reply = self._script.hear(bytes.fromhex(found[3]))
            # Beside the teller's own thread, which goes on to answer with its prompt.
            threading.Thread(target=self._answer, args=(reply,), name="contract aside", daemon=True).start()
        return None

    def reply_with(self, *replies: Reply) -> None:
        self._script.reply_with(*replies)

    def requests(self, count: int, wait_s: float) -> Sequence[bytes]:
        return self._script.requests(count, wait_s)

    def _answer(self, reply: Reply) -> None:
        threading.Event().wait(max(reply.late_s, 0.02))
        written = 0
        for number, payload in enumerate(reply.answers):
            assert self.peer.source is not None
            spelt = got("from", self.peer.source, False, payload)
            for piece in pieces(spelt, reply):
                noise, reply_cut = (reply.noise if not written else b""), reply.cut_after
                if reply_cut is not None and number == 0 and written + len(piece) > reply_cut:
                    self.teller.say(noise + piece[: reply_cut - written])
                    self.teller.unplug()
                    return
                self.teller.say(noise + piece)
                written += len(piece)
