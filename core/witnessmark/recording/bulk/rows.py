"""Rows: one a frame, as the scan of the text leaves them; times and data are read only of those that are asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

from witnessmark.link.frame import Frame
from witnessmark.recording.bulk.shape import Shape
from witnessmark.recording.line import Line
from witnessmark.recording.source import Buffer

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[Any]

LAST_SECOND = 9_223_372_035
"""The last second whose nanoseconds fit an int64 for certain."""
ODD = -1
"""The shape of a line that has none."""
_BLOCK = 1 << 15
_WINDOW = 1 << 19


class Rows(NamedTuple):
    """One row a data frame, in file order. `line` is an index into `lines`; `first` and `second` are its first two data
    bytes (0 where there are none); `start` is where its text begins; `shape` how that is read, -1: it is in `odd`.
    `frames` counts remote frames too; `behind` is told how far the text has been read, each time from its beginning."""

    lines: list[Line]
    line: Array
    size: Array
    first: Array
    second: Array
    start: Array
    shape: Array
    shapes: list[Shape]
    odd: dict[int, Frame]
    content: Buffer
    frames: int
    behind: Callable[[int], None]

    def windows(self) -> Iterator[slice]:
        """Cut all rows into parts that are worked on one after the other, so that what is made of one stays small."""
        for start in range(0, self.line.size, _WINDOW):
            yield slice(start, min(start + _WINDOW, self.line.size))


def read_rows(rows: Rows, which: Array) -> tuple[Array, Array] | None:
    """Return times (ns) and data (one row of 8 bytes a frame) of some rows; None for a time beyond int64."""
    import numpy as np

    time_ns = np.zeros(which.size, np.int64)
    data = np.zeros((which.size, 8), np.uint8)
    for start in range(0, which.size, _BLOCK):
        part = slice(start, start + _BLOCK)
        if not _read_block(rows, which[part], time_ns[part], data[part]):
            return None
        rows.behind(int(rows.start[which[part][-1]]))
    return time_ns, data


def _read_block(rows: Rows, which: Array, time_ns: Array, data: Array) -> bool:
    import numpy as np

    text = np.frombuffer(rows.content, np.uint8)
    shapes = rows.shape[which]
    for number in np.flatnonzero(np.bincount(shapes + 1)) - 1:
        at: Any = np.flatnonzero(shapes == number)
        if number == ODD:
            for place in at:
                frame = rows.odd[int(which[place])]
                time_ns[place] = frame.stamp.wall_ns
                data[place, : len(frame.data)] = np.frombuffer(frame.data, np.uint8)
            continue
        if at.size == which.size:
            at = slice(None)
        shape = rows.shapes[number]
        lines = np.lib.stride_tricks.sliding_window_view(text, shape.length)[rows.start[which[at]]]
        seconds, fraction = _decimal(lines[:, shape.seconds]), _decimal(lines[:, shape.fraction])
        if seconds.max() > LAST_SECOND:
            return False
        unit_ns = 10 ** (9 - (shape.fraction.stop - shape.fraction.start))
        time_ns[at] = seconds * 1_000_000_000 + fraction * unit_ns
        digits = np.ascontiguousarray(lines[:, shape.data])
        values = (digits & 15) + 9 * (digits >> 6)
        data[at, : shape.size] = values[:, 0::2] << 4 | values[:, 1::2]
    return True


def _decimal(digits: Array) -> Array:
    """Put decimal digits together."""
    import numpy as np

    number = np.zeros(digits.shape[0], np.int64)
    for column in range(digits.shape[1]):
        number *= 10
        number += digits[:, column] & 15
    return number
