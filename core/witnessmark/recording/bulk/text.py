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
        self._offset = np.uint32 if len(content) < 1 << 32 else np.int64
        self._shapes: list[Shape] = []
        self._by_length: dict[int, list[int]] = {}
        self._lines = Lines()
        self._odd: dict[int, Frame] = {}
        self._odd_lines = self._remote = self._lines_before = self._rows_before = 0

    def rows(self, progress: Callable[[int], None] | None) -> Rows:
        import numpy as np

        behind = progress or (lambda end: None)
        parts: tuple[list[Array], ...] = ([], [], [], [], [], [])
        for start, end in self._chunks():
            for column, part in zip(parts, self._chunk(start, end), strict=True):
                column.append(part)
            behind(end)
        if not parts[0]:
            raise _TooOdd
        columns = []
        for pieces in parts:  # one column after the other, so that never all are there twice
            columns.append(np.concatenate(pieces))
            pieces.clear()
        line, size, first, second, shape, starts = columns
        frames = line.size + self._remote
        lines = self._lines.lines
        return Rows(
            lines, line, size, first, second, starts, shape, self._shapes, self._odd, self._content, frames, behind
        )

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
        size, first, second = np.zeros((3, starts.size), np.uint8)
        shape = np.full(starts.size, ODD, np.int8)
        fields = _Fields(np.zeros(starts.size, np.int32), size, first, second, shape)
        groups = list(_groups(text, starts, ends))
        for where, lines in groups:
            self._sort_out(where, lines, shape)
        self._drop_undigits(text, starts, ends, shape)
        for where, lines in groups:
            self._values(where, lines, fields)
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
        starts = (starts + start).astype(self._offset)
        if not odd.size:
            self._rows_before += starts.size
            return (*fields, starts)
        self._rows_before += int(np.count_nonzero(keep))
        return (*(field[keep] for field in fields), starts[keep])

    def _numbers(self, shape: Array) -> list[int]:
        """The shapes that occur."""
        import numpy as np

        return [int(number) - 1 for number in np.flatnonzero(np.bincount(shape + 1)) if number]

    def _sort_out(self, where: Array, lines: Array, shape: Array) -> None:
        """Find the shape of lines of one length by the columns that are fixed or decimal."""
        import numpy as np

        known = self._by_length.setdefault(lines.shape[1], [])
        left: Array = np.ones(where.size, np.bool_)
        tried = 0
        while left.any():
            if tried == len(known):
                found = self._new_shape(lines[np.flatnonzero(left)[:50]])
                if found is None:
                    return
                self._shapes.append(found)
                known.append(len(self._shapes) - 1)
            good = left & _passes(lines, self._shapes[known[tried]])
            shape[where[good]] = known[tried]
            left &= ~good
            tried += 1

    def _new_shape(self, lines: Array) -> Shape | None:
        """Find a shape that is not known yet among some lines."""
        if len(self._shapes) >= _MOST_SHAPES:
            return None
        for line in lines:
            found = shape_of(line.tobytes())
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

    def _values(self, where: Array, lines: Array, fields: _Fields) -> None:
        """Read identifier, size and first data bytes of lines of one length; those beyond their width become odd."""
        shape = fields.shape[where]
        for number in self._numbers(shape):
            this = self._shapes[number]
            chosen = shape == number
            at, part = (where, lines) if chosen.all() else (where[chosen], lines[chosen])
            can_id = _nibbles(
                _words(part, "<u8" if this.extended else "<u4", this.number.start), 8 if this.extended else 3
            )
            beyond = can_id > (0x1FFF_FFFF if this.extended else 0x7FF)
            if beyond.any():
                fields.shape[at[beyond]] = ODD
                at, part, can_id = at[~beyond], part[~beyond], can_id[~beyond]
            if not at.size:
                continue
            place: Any = slice(None) if at.size == fields.line.size else at
            fields.line[place] = self._lines.index(this.channel, this.extended, can_id)
            fields.size[place] = this.size
            if this.size == 1:
                fields.first[place] = _nibbles(_words(part, "<u2", this.data.start), 2)
            elif this.size:
                both = _nibbles(_words(part, "<u4", this.data.start), 4)
                fields.first[place] = both >> 8
                fields.second[place] = both & 0xFF

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


def _groups(text: Array, starts: Array, ends: Array) -> Iterator[tuple[Array, Array]]:
    """Give the lines of each length: which they are, and their bytes, a row each."""
    import numpy as np

    lengths = np.minimum(ends - starts, _LONGEST)
    for length in np.flatnonzero(np.bincount(lengths)):
        if 12 <= length < _LONGEST:
            where = np.flatnonzero(lengths == length)
            yield where, np.lib.stride_tricks.sliding_window_view(text, int(length))[starts[where]]


def _passes(lines: Array, shape: Shape) -> Array:
    """Tell the lines that pass the tests of a shape."""
    import numpy as np

    good: Array = np.ones(lines.shape[0], np.bool_)
    for test in shape.tests:
        word, mask, wanted = _words(lines, "<u8", test.at), np.uint64(test.mask), np.uint64(test.wanted)
        good &= (word & mask) == wanted
        if test.add:
            good &= (word + np.uint64(test.add) & mask) == wanted
    return good


def _words(lines: Array, kind: str, column: int) -> Array:
    """Return the little-endian words that stand from one column on in all lines."""
    import numpy as np

    return np.ndarray(lines.shape[:1], kind, buffer=lines, offset=column, strides=lines.strides[:1])


def _nibbles(words: Array, count: int) -> Array:
    """Put the hexadecimal digits in the lowest `count` bytes of words together, the lowest byte first."""
    import numpy as np

    kind = words.dtype.type
    ones = int.from_bytes(b"\1" * words.dtype.itemsize, "little")
    values = (words & kind(ones * 15)) + (words >> kind(6) & kind(ones)) * kind(9)
    number = np.zeros(words.size, np.uint32)
    for place in range(count):
        number = number << 4 | (values >> kind(8 * place) & kind(15)).astype(np.uint32)
    return number


def _hex(text: Array) -> tuple[Array, Array]:
    """Tell the bytes that are 0 to 9, and those that are A to F or a to f."""
    import numpy as np

    letter = text - np.uint8(ord("A"))
    letter &= np.uint8(0xDF)  # a small letter is 0x20 above its capital
    return text - np.uint8(ord("0")) < 10, letter < 6
