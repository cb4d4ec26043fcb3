"""candump text: lines in, frames out, in each form that the tool of that name and those who followed it write.

    (1436509052.249713) can0 7E8#0641008000000100            log form; also with R or T, rx or tx at the end
    (1436509052.249713) can0 18DAF110##1036221F190           CAN FD: a flags digit after ##
    (1436509052.249713) can0 7E8#R8                          remote frame
    (1436509052.249713)  can0  7E8   [8]  06 41 00 80 00 00 01 00      spaced form; also without the time, with RX - -
                         can0  7E8   [8]  remote request
    (1436509052.249713) can0 20000080#0000000000000000       error frame: told as None

Rules: an identifier of 8 digits has 29 bits, one of 3 has 11. Times are seconds, or a date that is read as UTC because
the file does not say; a line without one gets `NO_TIME_NS`. A line that cannot be read is damage with its number;
reading goes on with the next. Nothing is guessed: an odd number of digits is damage.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime

from witnessmark.clock import Stamp
from witnessmark.errors import InputError
from witnessmark.link.frame import Frame, Origin
from witnessmark.recording.line import NO_TIME_NS
from witnessmark.recording.source import Buffer
from witnessmark.wire.isotp.pdu import CAN_LENGTHS

_BEFORE = rb"(?:\xef\xbb\xbf)?\s*"
"""The byte order mark that some editors put before the first line."""
_TIME = (
    rb"(?:\((?P<seconds>\d{1,10})\.(?P<fraction>\d{1,9})\)|"
    rb"\((?P<date>\d{4}-\d\d-\d\d \d\d:\d\d:\d\d)\.(?P<part>\d{1,9})\))?"
)
_LOG = re.compile(
    _BEFORE + _TIME + rb"\s*(?P<channel>\S+)\s+(?P<id>[0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})#"
    rb"(?:(?P<remote>R)(?P<dlc>[0-8]?)|#(?P<flags>[0-9A-Fa-f])(?P<long>[0-9A-Fa-f.]*)|(?P<data>[0-9A-Fa-f.]*))"
    rb"(?:_[0-9A-Fa-f])?(?:\s+(?P<way>[RT]|[RT]X|[rt]x))?\s*"
)
_SPACED = re.compile(
    _BEFORE + _TIME + rb"\s*(?P<channel>\S+)\s+(?:(?P<way>[RT]X)\s+[-B]\s+[-E]\s+)?"
    rb"(?P<id>[0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})\s+(?P<brackets>\[\d{1,2}\])\s+(?P<rest>.*)"
)
_SPACED_DATA = re.compile(rb"(?P<data>(?:[0-9A-Fa-f]{2}(?: |$))*)\s*(?:'.*'?|ERRORFRAME)?\s*")
_ERROR_FLAG = 0x2000_0000
_CHUNK = 1 << 20

Report = Callable[[InputError], None]
"""Takes a damage that does not end the reading."""


def lines_of(content: Buffer, progress: Callable[[int], None] | None = None) -> Iterator[bytes]:
    """Cut a buffer into lines without their ends; `progress` is told how many bytes are behind."""
    at, size = 0, len(content)
    rest = b""
    while at < size:
        pieces = (rest + content[at : at + _CHUNK]).split(b"\n")
        rest = pieces.pop()
        yield from pieces
        at += _CHUNK
        if progress is not None:
            progress(min(at, size))
    if rest:
        yield rest


def read_candump(lines: Iterable[bytes], name: str, report: Report) -> Iterator[Frame]:
    """Yield the frames of candump text in file order. `report` gets each line that cannot be read."""
    for number, line in enumerate(lines, 1):
        try:
            frame = read_line(line)
        except ValueError as error:
            report(damaged_line(name, number, error))
            continue
        if frame is not None:
            yield frame


def damaged_line(name: str, number: int, error: ValueError) -> InputError:
    """Name a line that cannot be read."""
    hint = "the line is left out; cut or repair it if that matters"
    return InputError(str(error), place=f"{name} line {number}", hint=hint)


def is_candump(line: bytes) -> bool:
    """Say whether a line is candump text."""
    return bool(_LOG.fullmatch(line) or _SPACED.fullmatch(line))


def read_line(line: bytes) -> Frame | None:
    """Read one line; None for an empty line, a comment or an error frame. Raises ValueError with what is wrong."""
    found = _LOG.fullmatch(line)
    if found is not None:
        return _from_log(found)
    if not line.strip() or line.lstrip().startswith((b"#", b";")):
        return None
    found = _SPACED.fullmatch(line)
    if found is None:
        raise ValueError("not a line of candump text")
    return _from_spaced(found)


def _from_log(found: re.Match[bytes]) -> Frame | None:
    if found["remote"]:
        return _frame(found, b"", fd=False, remote=True)
    fd = found["flags"] is not None
    digits = (found["long"] if fd else found["data"]).replace(b".", b"")
    if len(digits) % 2:
        raise ValueError(f"{len(digits)} hexadecimal digits of data are half a byte too many or too few")
    return _frame(found, bytes.fromhex(digits.decode("ascii")), fd=fd, remote=False)


def _from_spaced(found: re.Match[bytes]) -> Frame | None:
    rest, brackets = found["rest"], found["brackets"]
    if rest.strip() == b"remote request":
        return _frame(found, b"", fd=False, remote=True)
    inner = _SPACED_DATA.fullmatch(rest)
    if inner is None:
        raise ValueError("the data of the frame are not bytes in hexadecimal")
    data = bytes.fromhex(inner["data"].decode("ascii"))
    length = int(brackets[1:-1])
    if len(data) != length:
        raise ValueError(f"{len(data)} bytes of data where {length} are announced")
    return _frame(found, data, fd=len(brackets) == 4, remote=False)


def _frame(found: re.Match[bytes], data: bytes, *, fd: bool, remote: bool) -> Frame | None:
    digits = found["id"]
    can_id, extended = int(digits, 16), len(digits) == 8
    if extended and can_id & _ERROR_FLAG:
        return None
    if can_id > (0x1FFF_FFFF if extended else 0x7FF):
        raise ValueError(f"identifier {can_id:X} does not fit {29 if extended else 11} bits")
    if (len(data) > 8 and not fd) or len(data) not in CAN_LENGTHS:
        raise ValueError(f"{len(data)} bytes of data fit no {'CAN FD' if fd else 'CAN'} frame")
    time_ns = _time_ns(found)
    way = found["way"]
    origin: Origin = "sent" if way and way[:1] in b"Tt" else "received"
    channel = found["channel"].decode("utf-8", "replace")
    kind = "remote" if remote else "data"
    return Frame(can_id, data, Stamp(time_ns, time_ns), origin, extended, fd, kind, channel)  # type: ignore[arg-type]


def _time_ns(found: re.Match[bytes]) -> int:
    if found["seconds"] is not None:
        return int(found["seconds"]) * 1_000_000_000 + int(found["fraction"].ljust(9, b"0"))
    if found["date"] is None:
        return NO_TIME_NS
    moment = datetime.strptime(found["date"].decode("ascii"), "%Y-%m-%d %H:%M:%S").replace(tzinfo=UTC)
    return int(moment.timestamp()) * 1_000_000_000 + int(found["part"].ljust(9, b"0"))
