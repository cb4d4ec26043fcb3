"""Frames to messages, all lines at once. In: the frames of the lines that may carry diagnostics. Out: `Told`.

A segment is a single or first frame with the consecutive frames of its line up to the next one. A segment is regular
when nothing is wrong with it; regular segments are put together by arithmetic on columns. Every other segment goes
through `PassiveReassembler`, whose rules these are: it cannot tell a segment from the whole line, because a single or
first frame ends whatever was before. A segment that begins with a single frame is read on from an irregular one that
began with a first frame, because what it interrupts may go on behind it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from witnessmark.recording.conversation import begun, line_of
from witnessmark.recording.line import Line
from witnessmark.wire.isotp.passive import GAP_NS, Lost, Message, PassiveReassembler

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[Any]

REFUSED, SINGLE, FIRST, CONSECUTIVE, FLOW = range(5)
"""What a frame of at most 8 bytes is (`wire.isotp.pdu.parse`)."""


class Frames(NamedTuple):
    """Frames of some lines. `line` is an index into `lines`, `row` the place in the file, `data` has 8 columns."""

    lines: Sequence[Line]
    row: Array
    line: Array
    kind: Array
    size: Array
    time_ns: Array
    data: Array


class Table(NamedTuple):
    """What was told, one row each, in the order of telling.

    The payload is `size` bytes from `at` on; of a lost message, what its first frame carried. The frames are as many as
    `frames_in` from `frame` on, which is -1 where the row is odd.
    """

    line: Array
    whole: Array
    first_ns: Array
    last_ns: Array
    at: Array
    size: Array
    frame: Array
    frames_in: Array


@dataclass(frozen=True, slots=True)
class Told:
    """All that reassembly tells: the table, the payloads end to end, the frames sorted by line, and the objects of the
    odd rows, which the state machine told."""

    table: Table
    payloads: Array
    frames: Frames
    odd: dict[int, Message | Lost]

    def message(self, place: int) -> Message | Lost:
        """Make the object of one row."""
        if place in self.odd:
            return self.odd[place]
        table, frames = self.table, self.frames
        at, first = int(table.at[place]), int(table.frame[place])
        numbers = range(first, first + int(table.frames_in[place]))
        raw = tuple(frames.data[number, : frames.size[number]].tobytes() for number in numbers)
        payload = self.payloads[at : at + int(table.size[place])].tobytes()
        times_ns = int(table.first_ns[place]), int(table.last_ns[place])
        return Message(frames.lines[int(table.line[place])], payload, *times_ns, raw)

    def starts(self) -> Array:
        """Return the first four bytes of each payload in four columns, 0 behind its end."""
        import numpy as np

        at, size = self.table.at, self.table.size
        found = np.zeros((size.size, 4), np.uint8)
        for column in range(4):
            long = size > column
            found[long, column] = self.payloads[at[long] + column]
        return found


class _Segments(NamedTuple):
    """`of` is each frame's segment; `missing` what the last of `needed` consecutive frames has to carry."""

    of: Array
    first: Array
    frames_in: Array
    kind: Array
    length: Array
    needed: Array
    missing: Array


def kinds(size: Array, first: Array, second: Array) -> Array:
    """Tell what each frame is by its size and first two bytes. One with the escape length is FIRST: see `escaped`."""
    import numpy as np

    table = np.zeros((9, 256), np.uint8)
    for count in range(1, 9):
        table[count, 1:count] = SINGLE
        table[count, 0x20:0x30] = CONSECUTIVE if count >= 2 else REFUSED
        table[count, 0x30:0x40] = FLOW if count >= 3 else REFUSED
    table[8, 0x10:0x20] = FIRST
    kind: Array = table.ravel().take(size.astype(np.int16) << 8 | first)
    needless = (first == 0x10) & (second <= 7) & (second > 0)
    if needless.any():
        kind[needless] = REFUSED
    return kind


def escaped(kind: Array, first: Array, second: Array) -> Array:
    """Return the places of first frames with the escape length, of which more bytes have to be looked at."""
    import numpy as np

    return np.flatnonzero((kind == FIRST) & (first == 0x10) & (second == 0))


def reassemble(frames: Frames, end_ns: int | None = None) -> Told:
    """Put the messages of all lines together; `end_ns` is when the recording ends."""
    import numpy as np

    frames = _by_line(frames)
    if not frames.line.size:
        nothing = np.zeros(0, np.int64)
        return Told(Table(*(nothing for _ in Table._fields)), np.zeros(0, np.uint8), frames, {})
    segments = _segments(frames)
    regular = _regular(frames, segments)
    odd = list(_odd(frames, segments, np.flatnonzero(~regular), end_ns))
    first = segments.first[regular]
    last = first + segments.frames_in[regular] - 1
    size = segments.length[regular]
    begins = [part.payload if isinstance(part, Message) else begun(part) for _, part in odd]
    index = {line: number for number, line in enumerate(frames.lines)} if odd else {}
    told = [part for _, part in odd]
    columns = (
        (frames.line[first], (index[line_of(part)] for part in told)),
        (np.ones(first.size, np.bool_), (isinstance(part, Message) for part in told)),
        (frames.time_ns[first], (part.first_ns for part in told)),
        (frames.time_ns[last], (part.last_ns for part in told)),
        (np.cumsum(size) - size, _offsets(int(size.sum()), begins)),
        (size, map(len, begins)),
        (first, (-1 for _ in told)),
        (segments.frames_in[regular], (len(part.frames) for part in told)),
        (frames.row[last] * 2 + 1, (key for key, _ in odd)),
    )
    *table, keys = (_join(column, more) for column, more in columns)
    order = np.argsort(keys, kind="stable")
    payloads = _join(_payloads(frames, segments, regular), (byte for part in begins for byte in part))
    places = {int(place): told[int(order[place]) - first.size] for place in np.flatnonzero(order >= first.size)}
    return Told(Table(*(column[order] for column in table)), payloads, frames, places)


def _by_line(frames: Frames) -> Frames:
    """Leave out what says nothing, and sort by line, in file order within each."""
    import numpy as np

    use = np.flatnonzero((frames.kind != REFUSED) & (frames.kind != FLOW))
    narrow = np.uint16 if len(frames.lines) < 1 << 16 else np.int32  # 16 bits are sorted by counting
    order = use[np.argsort(frames.line[use].astype(narrow), kind="stable")]
    return Frames(frames.lines, *(column[order] for column in frames[1:]))


def _segments(frames: Frames) -> _Segments:
    import numpy as np

    begins = frames.kind != CONSECUTIVE
    begins[0] = True
    begins[1:] |= frames.line[1:] != frames.line[:-1]
    first = np.flatnonzero(begins)
    count = np.diff(first, append=frames.line.size)
    kind, head = frames.kind[first], frames.data[first, :2].astype(np.int64)
    length = np.where(kind == FIRST, (head[:, 0] & 15) << 8 | head[:, 1], head[:, 0] & 15)
    needed = np.where(kind == FIRST, length // 7, 0)  # the first frame carries 6, each other 7
    return _Segments(np.cumsum(begins) - 1, first, count, kind, length, needed, length - 6 - 7 * (needed - 1))


def _regular(frames: Frames, segments: _Segments) -> Array:
    """Tell the segments that are one whole message and nothing else."""
    import numpy as np

    regular: Array = (
        (segments.kind != CONSECUTIVE) & (segments.frames_in == segments.needed + 1) & (segments.length > 0)
    )
    at = np.flatnonzero(frames.kind == CONSECUTIVE)
    of = segments.of[at]
    place = at - segments.first[of]
    bad = (frames.data[at, 0] & 15) != (place & 15)
    bad |= frames.time_ns[at] - frames.time_ns[np.maximum(at - 1, 0)] > GAP_NS
    size = frames.size[at]
    bad |= (size != 8) & ((place != segments.needed[of]) | (size <= segments.missing[of]))
    regular[of[bad]] = False
    return regular


def _payloads(frames: Frames, segments: _Segments, regular: Array) -> Array:
    """Cut the payloads of the regular segments out of their frames and lay them end to end."""
    import numpy as np

    low = np.where(frames.kind == FIRST, 2, 1).astype(np.uint8)
    high = np.full(low.size, 8, np.uint8)
    single = segments.kind == SINGLE
    high[segments.first[single]] = segments.length[single] + 1
    many = regular & ~single
    high[segments.first[many] + segments.needed[many]] = segments.missing[many] + 1
    high[~regular[segments.of]] = 0
    columns = np.arange(8, dtype=np.uint8)
    payloads: Array = frames.data[(columns >= low[:, None]) & (columns < high[:, None])]
    return payloads


def _odd(frames: Frames, segments: _Segments, which: Array, end_ns: int | None) -> Iterator[tuple[int, Message | Lost]]:
    """Read the other segments by the state machine. Each is told with a key that sorts as the telling goes: a frame's
    own message after what its arrival ends, and what the end of the recording ends behind all, as it began."""
    end = int(frames.row.max()) * 2 + 2
    numbers = which.tolist()
    odd, reassembler = frozenset(numbers), PassiveReassembler()
    for segment in numbers:
        if not _reads_on(frames, segments, segment, odd):
            reassembler = PassiveReassembler()
        first = int(segments.first[segment])
        line = frames.lines[int(frames.line[first])]
        behind = first + int(segments.frames_in[segment])
        for at in range(first, behind):
            for part in _feed(reassembler, line, frames, at):
                ended_by_arrival = at == first and isinstance(part, Lost) and segments.kind[segment] != CONSECUTIVE
                yield int(frames.row[at]) * 2 + (0 if ended_by_arrival else 1), part
        if _reads_on(frames, segments, segment + 1, odd):
            continue
        if behind < frames.line.size and frames.line[behind] == frames.line[first]:
            for part in _feed(reassembler, line, frames, behind):
                if isinstance(part, Lost):
                    yield int(frames.row[behind]) * 2, part
        else:
            for part in reassembler.finish(end_ns):
                yield end + int(frames.row[first]), part


def _reads_on(frames: Frames, segments: _Segments, segment: int, odd: frozenset[int]) -> bool:
    """Say whether a segment may hold what is left of the message that the one before it began."""
    if segment not in odd or segment - 1 not in odd:
        return False
    first, before = segments.first[segment], segments.first[segment - 1]
    alike = frames.line[first] == frames.line[before]
    return bool(alike and segments.kind[segment] == SINGLE and segments.kind[segment - 1] == FIRST)


def _feed(reassembler: PassiveReassembler, line: Line, frames: Frames, at: int) -> Sequence[Message | Lost]:
    return reassembler.feed(line, frames.data[at, : frames.size[at]].tobytes(), int(frames.time_ns[at]))


def _offsets(start: int, parts: Sequence[bytes]) -> Iterator[int]:
    for part in parts:
        yield start
        start += len(part)


def _join(column: Array, more: Iterable[int]) -> Array:
    import numpy as np

    added = np.array(list(more), column.dtype)
    return np.concatenate([column, added]) if added.size else column
