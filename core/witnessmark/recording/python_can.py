"""What the python-can library reads, when it is installed: a file of one of its formats in, frames out.

Rules: the format is found by content, then by the name's ending. The library is somebody else's code, so whatever it
raises in the middle is damage at that frame, and what it gave before stays. Times come as floating seconds and are
rounded to the microsecond, which is what they can hold.
"""

from __future__ import annotations

import codecs
import io
import logging
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from witnessmark.clock import Stamp
from witnessmark.errors import InputError
from witnessmark.link.frame import Frame
from witnessmark.recording.source import Buffer

_BY_CONTENT = (
    (b"LOGG", "BLFReader"),
    (b"MDF ", "MF4Reader"),
    (b"SQLite format 3\0", "SqliteReader"),
    (b"date ", "ASCReader"),
    (b"base ", "ASCReader"),
    (b";$FILEVERSION", "TRCReader"),
    (b"timestamp,arbitration_id", "CSVReader"),
)
_BY_ENDING = {".asc": "ASCReader", ".blf": "BLFReader", ".csv": "CSVReader", ".mf4": "MF4Reader", ".trc": "TRCReader"}
_TEXT = {"ASCReader", "TRCReader", "CSVReader"}


def reader_for(content: Buffer, name: str) -> str | None:
    """Name the library's reader for this content, or None when it has none."""
    start = content[:64].removeprefix(codecs.BOM_UTF8).lstrip()
    for magic, reader in _BY_CONTENT:
        if start.startswith(magic):
            return reader
    ending = Path(name.removesuffix(".gz")).suffix.lower()
    return _BY_ENDING.get(ending)


def read_python_can(content: Buffer, path: Path, reader: str, report: Callable[[InputError], None]) -> Iterator[Frame]:
    """Yield the frames that the library's `reader` gives, `report` gets where it stops.

    Raises InputError when python-can is not installed.
    """
    try:
        import can
    except ImportError:
        hint = "pip install 'witnessmark[canbus]'"
        raise InputError("python-can reads this format and is not installed", place=str(path), hint=hint) from None
    if reader == "BLFReader":
        _report_short_blf(content, path, report)
    if reader == "ASCReader":
        content = _without_cut_line(content, path, report)
    count = 0
    warnings = _Warnings()
    log = logging.getLogger("can")
    log.addHandler(warnings)
    try:
        with _source(content, path, reader) as source, getattr(can, reader)(source) as messages:
            for message in messages:
                warnings.tell(path, count, report)
                frame = _frame(message, 1 if reader in _FROM_ONE else 0)
                count += 1
                if frame is not None:
                    yield frame
    except Exception as error:  # noqa: BLE001 - somebody else's reader: whatever it raises is told as damage
        what = f"python-can's {reader} stopped ({type(error).__name__}: {error})"
        hint = "what came before is read; the file may be damaged or of a kind that python-can does not know"
        report(InputError(what, place=f"{path} after frame {count}", hint=hint))
    finally:
        log.removeHandler(warnings)
        warnings.tell(path, count, report)


_FROM_ONE = ("ASCReader", "BLFReader")
"""Formats that count channels from 1, which python-can takes off."""


@contextmanager
def _source(content: Buffer, path: Path, reader: str) -> Iterator[Any]:
    """Give the content as the reader takes it. SQLite opens paths only: what was unpacked gets one for a while."""
    if reader in _TEXT:
        yield io.StringIO(content[:].decode("utf-8-sig", "replace"))
    elif reader != "SqliteReader":
        yield io.BytesIO(content[:])
    elif not isinstance(content, bytes):
        yield str(path)
    else:
        with TemporaryDirectory() as folder:
            unpacked = Path(folder) / path.name
            unpacked.write_bytes(content)
            yield str(unpacked)


class _Warnings(logging.Handler):
    """Keeps what the library logs instead of raising: it steps over lines that it cannot read."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self._said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self._said.append(record.getMessage())

    def tell(self, path: Path, count: int, report: Callable[[InputError], None]) -> None:
        """Report what was kept as damage behind the frame of that number."""
        for said in self._said:
            place, hint = f"{path} after frame {count}", "python-can leaves it out"
            report(InputError(f"python-can says: {said}", place=place, hint=hint))
        self._said.clear()


def _report_short_blf(content: Buffer, path: Path, report: Callable[[InputError], None]) -> None:
    """Hold the size in a BLF header against the file, because python-can leaves a cut tail out without a word."""
    if len(content) < 24:
        return
    told = int.from_bytes(content[16:24], "little")
    if told != len(content):
        what = f"the header says {told} bytes: the file is cut short or was never closed"
        report(InputError(what, place=f"{path} byte {len(content)}", hint="what python-can finds in it is read"))


_ASC_FRAME = re.compile(rb".*\sd\s+([0-9A-Fa-f])((?:\s+[0-9A-Fa-f]+)*)\s*", re.DOTALL)


def _without_cut_line(content: Buffer, path: Path, report: Callable[[InputError], None]) -> Buffer:
    """Take off an ASC file's last line when it ends in its midst: python-can reads what is left of its data, or steps
    over it, without a word."""
    end = content.rfind(b"\n") + 1
    last = content[end:]
    if not last.strip() or last.lower().startswith(b"end trigger"):
        return content
    frame = _ASC_FRAME.fullmatch(last)
    if frame is not None and len(frame[2].split()) >= int(frame[1], 16):
        return content
    hint = "copy the file again; what came before is read"
    report(InputError("the file ends inside its last line", place=f"{path} byte {len(content)}", hint=hint))
    return content[:end]


def _frame(message: Any, first_channel: int) -> Frame | None:
    if message.is_error_frame:
        return None
    time_ns = round(message.timestamp * 1e6) * 1000
    channel = "" if message.channel is None else str(message.channel)
    if channel.isdecimal():
        channel = str(int(channel) + first_channel)
    return Frame(
        message.arbitration_id,
        b"" if message.is_remote_frame else bytes(message.data),
        Stamp(time_ns, time_ns),
        "received" if message.is_rx else "sent",
        bool(message.is_extended_id),
        bool(message.is_fd),
        "remote" if message.is_remote_frame else "data",
        channel,
    )
