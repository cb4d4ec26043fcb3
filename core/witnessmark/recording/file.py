"""A recording: a file whose format was found by its content, ready to be read as frames or DoIP messages.

Rules: damage is data. Reading goes on as far as it can; what was read before the damage is given, and each damage is
kept in `damage` with its place. Every reading starts from the beginning of the file and its damage anew.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from functools import cached_property
from itertools import islice
from pathlib import Path
from typing import BinaryIO

from witnessmark.errors import InputError
from witnessmark.link.frame import Frame
from witnessmark.recording import candump, pcap, pcapng, python_can, socketcan
from witnessmark.recording.doip import DoipMessage, StreamLoss, read_doip
from witnessmark.recording.packet import LINK_TYPES, Packet
from witnessmark.recording.source import Buffer, read_source, unpack

MOST_DAMAGE = 1000
"""How many damages are kept; the others are counted."""

Progress = Callable[[int], None]
"""Takes the number of bytes that are behind."""


class Recording:
    """One recorded file. `format` names what it is; `damage` is what could not be read so far, `damaged` how many, and
    `frames_read` what could, `unread` the packets of each link type that is not read. `progress`, when set, is told how
    many bytes of the content are behind."""

    def __init__(self, path: Path, content: Buffer, form: str, broken: InputError | None) -> None:
        self.path = path
        self.content = content
        self.format = form
        self.damage: list[InputError] = []
        self.damaged = 0
        self.frames_read = 0
        self.progress: Progress | None = None
        self.unread: Counter[int] = Counter()
        self._broken = broken

    def frames(self) -> Iterator[Frame]:
        """Yield the CAN frames in file order. Error frames are left out."""
        self.forget()
        for frame in self._frames():
            self.frames_read += 1
            yield frame

    def _frames(self) -> Iterator[Frame]:
        name = str(self.path)
        if self.is_capture:
            return socketcan.read_frames(self._packets(), name, self.report)
        if self.format == "candump":
            return candump.read_candump(candump.lines_of(self.content, self.progress), name, self.report)
        return python_can.read_python_can(self.content, self.path, self.format, self.report)

    def doip(self) -> Iterator[DoipMessage | StreamLoss]:
        """Yield the DoIP messages of a packet capture, and what is missing of them; of any other format, none."""
        self.forget()
        if self.is_capture:
            yield from read_doip(self._packets(), str(self.path), self.report)

    @property
    def is_capture(self) -> bool:
        """Whether this is a packet capture, which may hold CAN frames, DoIP or both."""
        return self.format in ("pcap", "pcapng")

    @cached_property
    def has_can(self) -> bool:
        """Whether there may be CAN frames in it."""
        if not self.is_capture:
            return True
        damage, damaged, unread = list(self.damage), self.damaged, self.unread.copy()
        found = any(socketcan.carries_can(packet) for packet in self._packets())
        self.damage, self.damaged, self.unread = damage, damaged, unread
        return found

    def report(self, error: InputError) -> None:
        """Keep one damage."""
        self.damaged += 1
        if len(self.damage) < MOST_DAMAGE:
            self.damage.append(error)

    def forget(self) -> None:
        """Begin a reading: no damage but what kept the file itself from being opened whole."""
        self.damage, self.damaged, self.frames_read = [], 0, 0
        self.unread.clear()
        if self._broken is not None:
            self.report(self._broken)

    def _packets(self) -> Iterator[Packet]:
        read = pcap.read_pcap if self.format == "pcap" else pcapng.read_pcapng
        behind = told = 0
        for packet in read(self.content, str(self.path), self.report):
            if packet.link_type not in LINK_TYPES:
                self.unread[packet.link_type] += 1
            yield packet
            behind += len(packet.data) + 16
            if self.progress is not None and behind - told > 1 << 20:
                told = behind
                self.progress(behind)


def open_recording(path: str | Path) -> Recording:
    """Open a recording; what it is, gzip or not, is found by its content.

    Raises InputError when the file cannot be opened or is nothing that can be read.
    """
    path = Path(path)
    content, broken = read_source(path)
    return _recording(path, content, broken)


def read_stream(stream: BinaryIO, name: str) -> Recording:
    """Read a recording from something that is open already; raises as `open_recording`."""
    path = Path(name)
    content, broken = unpack(path, stream.read())
    return _recording(path, content, broken)


def _recording(path: Path, content: Buffer, broken: InputError | None) -> Recording:
    if broken is not None and not len(content):
        raise broken
    return Recording(path, content, find_format(content, path), broken)


def find_format(content: Buffer, path: Path) -> str:
    """Name the format: `candump`, `pcap`, `pcapng`, or the reader of python-can. Raises InputError for none of them."""
    if pcap.is_pcap(content):
        return "pcap"
    if pcapng.is_pcapng(content):
        return "pcapng"
    if any(candump.is_candump(line) for line in islice(candump.lines_of(content[: 1 << 16]), 200)):
        return "candump"
    reader = python_can.reader_for(content, path.name)
    if reader is not None:
        return reader
    what = "is empty" if not len(content) else "is no recording that can be read"
    hint = "candump text, pcap, pcapng, or a format of the python-can library; gzip of any"
    raise InputError(what, place=str(path), hint=hint)
