"""candump text to one row a frame, identifiers first; `rows` reads times and data of the lines that are asked for.

In: the bytes of the file. Out: `Rows`. Rules: lines of a common shape are read together; every column of every line is
looked at, so damage is found as the plain reader finds it. A line of no common shape goes through the plain reader.
What does not fit in rows (CAN FD frames above 8 bytes, times beyond int64, too many odd lines) gives None.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

from witnessmark.errors import InputError
from witnessmark.link.frame import Frame
from witnessmark.recording.bulk.lines import Lines
from witnessmark.recording.bulk.rows import LAST_SECOND, ODD, Rows
from witnessmark.recording.bulk.shape import Shape, shape_of
from witnessmark.recording.candump import damaged_line, read_line
from witnessmark.recording.source import Buffer

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[Any]

_CHUNK = 1 << 20
_MOST_SHAPES = 64
_LONGEST = 120

Report = Callable[[InputError], None]


class _TooOdd(Exception):
    """The text is not one that bulk reading is for."""


class _Fields(NamedTuple):
    line: Array
    size: Array
    first: Array
    second: Array
    shape: Array


def scan(content: Buffer, name: str, report: Report, progress: Callable[[int], None] | None = None) -> Rows | None:
    """Read the identifiers of all frames, or return None where the plain reader has to do it.

    `report` gets the damaged lines in order; after None what it got does not count.
    """
    try:
        return _Scanner(content, name, report).rows(progress)
    except _TooOdd:
        return None


class _Scanner:
    def __init__(self, content: Buffer, name: str, report: Report) -> None:
        import numpy as np

        self._content, self._name, self._report = content, name, report
        self._text = np.frombuffer(content, np.uint8)
        self._shapes: list[Shape] = []
        self._by_length: dict[int, list[int]] = {}
        self._lines = Lines()
        self._odd: dict[int, Frame] = {}
        self._odd_lines = self._remote = self._lines_before = self._rows_before = 0

    def rows(self, progress: Callable[[int], None] | None) -> Rows:
        import numpy as np

        parts: list[tuple[Array, ...]] = []
        for start, end in self._chunks():
            parts.append(self._chunk(start, end))
            if progress is not None:
                progress(end)
        if not parts:
            raise _TooOdd
        line, size, first, second, shape, starts = (np.concatenate(part) for part in zip(*parts, strict=True))
        frames = line.size + self._remote
        lines = self._lines.lines
        return Rows(lines, line, size, first, second, starts, shape, self._shapes, self._odd, self._content, frames)

    def _chunks(self) -> Iterator[tuple[int, int]]:
        """Cut the text at line ends into parts that fit the processor's cache."""
        at, size = 0, len(self._content)
        while at < size:
            end = self._content.rfind(b"\n", at, at + _CHUNK) + 1 if at + _CHUNK < size else size
            if end <= at:
                end = self._content.find(b"\n", at) + 1 or size
            yield at, end
            at = end

    def _chunk(self, start: int, end: int) -> tuple[Array, ...]:
        import numpy as np

        text = self._text[start:end]
        ends = np.flatnonzero(text == 10)
        if not ends.size or ends[-1] != text.size - 1:
            ends = np.append(ends, text.size)
        starts = np.empty_like(ends)
        starts[0] = 0
        starts[1:] = ends[:-1] + 1
        shape = self._shapes_of(text, starts, ends)
        self._drop_undigits(text, starts, ends, shape)
        size, first, second = np.zeros((3, starts.size), np.uint8)
        fields = _Fields(np.zeros(starts.size, np.int32), size, first, second, shape)
        for number in self._numbers(shape):
            self._values(text, starts, number, fields)
        odd = np.flatnonzero(shape == ODD)
        keep = np.ones(starts.size, np.bool_)
        for at in odd:
            frame = self._odd_line(text[starts[at] : ends[at]].tobytes(), self._lines_before + int(at) + 1)
            keep[at] = frame is not None
            if frame is not None:
                self._odd[self._rows_before + int(np.count_nonzero(keep[:at]))] = frame
                self._put_odd(frame, int(at), fields)
        self._lines_before += starts.size
        if self._odd_lines > 1000 + self._lines_before // 4:
            raise _TooOdd
        starts += start
        if not odd.size:
            self._rows_before += starts.size
            return (*fields, starts)
        self._rows_before += int(np.count_nonzero(keep))
        return (*(field[keep] for field in fields), starts[keep])

    def _numbers(self, shape: Array) -> list[int]:
        """The shapes that occur."""
        import numpy as np

        return [int(number) - 1 for number in np.flatnonzero(np.bincount(shape + 1)) if number]

    def _shapes_of(self, text: Array, starts: Array, ends: Array) -> Array:
        """Find the shape of each line by the columns that are fixed or decimal."""
        import numpy as np

        shape = np.full(starts.size, ODD, np.int16)
        lengths = np.minimum(ends - starts, _LONGEST)
        for length in np.flatnonzero(np.bincount(lengths)):
            if not 12 <= length < _LONGEST:
                continue
            where = np.flatnonzero(lengths == length)
            known = self._by_length.setdefault(int(length), [])
            for number in known:
                where = self._sort_out(text, starts, where, number, shape)
            while where.size and (found := self._new_shape(text, starts[where[:50]], int(length))) is not None:
                self._shapes.append(found)
                known.append(len(self._shapes) - 1)
                where = self._sort_out(text, starts, where, known[-1], shape)
        return shape

    def _sort_out(self, text: Array, starts: Array, where: Array, number: int, shape: Array) -> Array:
        """Give the lines at `where` that pass the tests this shape; return the others."""
        import numpy as np

        if not where.size:
            return where
        every = where.size == starts.size
        at = starts if every else starts[where]
        good: Array = np.ones(where.size, np.bool_)
        for test in self._shapes[number].tests:
            word, mask, wanted = _words(text, "<u8", at + test.at), np.uint64(test.mask), np.uint64(test.wanted)
            good &= (word & mask) == wanted
            if test.add:
                good &= (word + np.uint64(test.add) & mask) == wanted
        shape[where[good]] = number
        return where[~good]

    def _new_shape(self, text: Array, starts: Array, length: int) -> Shape | None:
        """Find a shape that is not known yet among some lines."""
        if len(self._shapes) >= _MOST_SHAPES:
            return None
        for start in starts:
            found = shape_of(text[start : start + length].tobytes())
            if found is not None and found not in self._shapes:
                return found
        return None

    def _drop_undigits(self, text: Array, starts: Array, ends: Array, shape: Array) -> None:
        """Make lines odd where another byte stands for a hexadecimal digit.

        The columns that are fixed have been looked at, so the lines are sound when the number of digits is as their
        shapes say. Only when it is not does each line have to be looked at.
        """
        import numpy as np

        wanted = sum(this.digits * int(np.count_nonzero(shape == number)) for number, this in enumerate(self._shapes))
        for at in np.flatnonzero(shape == ODD):
            wanted += sum(map(int, map(np.count_nonzero, _hex(text[starts[at] : ends[at]]))))
        decimal, letter = _hex(text)
        if np.count_nonzero(decimal) + np.count_nonzero(letter) == wanted:
            return
        is_digit = decimal | letter
        for number in self._numbers(shape):
            this = self._shapes[number]
            where = np.flatnonzero(shape == number)
            lines = np.lib.stride_tricks.sliding_window_view(is_digit, this.length)[starts[where]]
            good = lines[:, this.number].all(axis=1) & lines[:, this.data].all(axis=1)
            shape[where[~good]] = ODD

    def _values(self, text: Array, starts: Array, number: int, fields: _Fields) -> None:
        """Read identifier, size and first data bytes of the lines of one shape."""
        import numpy as np

        this = self._shapes[number]
        where: Any = fields.shape == number
        if where.all():
            where = slice(None)
        at = starts[where]
        if this.extended:
            can_id = _nibbles(_words(text, "<u8", at + this.number.start), 8)
        else:
            can_id = _nibbles(_words(text, "<u4", at + this.number.start), 3)
        beyond = can_id.view(np.uint32) > (0x1FFF_FFFF if this.extended else 0x7FF)
        if beyond.any():
            good = np.flatnonzero(fields.shape == number)[~beyond]
            fields.shape[fields.shape == number] = ODD
            fields.shape[good] = number
            if not good.size:
                return
            where, at, can_id = good, starts[good], can_id[~beyond]
        fields.line[where] = self._lines.index(this.channel, this.extended, can_id)
        fields.size[where] = this.size
        if this.size == 1:
            fields.first[where] = _nibbles(_words(text, "<u2", at + this.data.start), 2)
        elif this.size:
            both = _nibbles(_words(text, "<u4", at + this.data.start), 4)
            fields.first[where] = both >> 8
            fields.second[where] = both & 0xFF

    def _odd_line(self, line: bytes, number: int) -> Frame | None:
        """Read a line as the plain reader does; None when it is no data frame."""
        self._odd_lines += bool(line)
        try:
            frame = read_line(line)
        except ValueError as error:
            self._report(damaged_line(self._name, number, error))
            return None
        if frame is None or frame.kind == "remote":
            self._remote += frame is not None
            return None
        if len(frame.data) > 8 or frame.stamp.wall_ns // 1_000_000_000 > LAST_SECOND:
            raise _TooOdd
        return frame

    def _put_odd(self, frame: Frame, at: int, fields: _Fields) -> None:
        import numpy as np

        fields.line[at] = self._lines.index(frame.channel, frame.extended, np.array([frame.can_id]))[0]
        fields.size[at] = len(frame.data)
        fields.first[at], fields.second[at] = (frame.data + b"\0\0")[:2]


def _words(text: Array, kind: str, at: Array) -> Array:
    """Return the little-endian words that begin at some bytes of the text."""
    import numpy as np

    width = np.dtype(kind).itemsize
    words: Array = np.ndarray((text.size - width + 1,), kind, buffer=text, strides=(1,))[at]
    return words


def _nibbles(words: Array, count: int) -> Array:
    """Put the hexadecimal digits in the lowest `count` bytes of words together, the lowest byte first."""
    import numpy as np

    kind = words.dtype.type
    ones = int.from_bytes(b"\1" * words.dtype.itemsize, "little")
    values = (words & kind(ones * 15)) + (words >> kind(6) & kind(ones)) * kind(9)
    number = np.zeros(words.size, np.int32)
    for place in range(count):
        number = number << 4 | (values >> kind(8 * place) & kind(15)).astype(np.int32)
    return number


def _hex(text: Array) -> tuple[Array, Array]:
    """Tell the bytes that are 0 to 9, and those that are A to F or a to f."""
    import numpy as np

    letter = text - np.uint8(ord("A"))
    letter &= np.uint8(0xDF)  # a small letter is 0x20 above its capital
    return text - np.uint8(ord("0")) < 10, letter < 6
