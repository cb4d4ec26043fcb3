"""Numbers the lines of a recording as they appear: identifiers in, indexes out, thousands at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from witnessmark.recording.line import Line, Width

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[Any]


class Lines:
    """`lines` is what the indexes stand for."""

    def __init__(self) -> None:
        self.lines: list[Line] = []
        self._short: dict[str, Array] = {}
        self._long: dict[str, tuple[Array, Array]] = {}

    def index(self, channel: str, extended: bool, numbers: Array) -> Array:
        """Return the index of each identifier, numbering new ones."""
        return self._long_index(channel, numbers) if extended else self._short_index(channel, numbers)

    def _short_index(self, channel: str, numbers: Array) -> Array:
        import numpy as np

        if channel not in self._short:
            self._short[channel] = np.full(0x800, -1, np.int32)
        table = self._short[channel]
        found = table[numbers]
        if found.min() < 0:
            new = np.unique(numbers[found < 0])
            table[new] = self._new(channel, new, 11)
            found = table[numbers]
        return found

    def _long_index(self, channel: str, numbers: Array) -> Array:
        import numpy as np

        known, index = self._long.get(channel, (np.zeros(0, np.int64), np.zeros(0, np.int32)))
        at = np.searchsorted(known, numbers)
        miss = at == known.size
        if known.size:
            miss |= known[np.minimum(at, known.size - 1)] != numbers
        if miss.any():
            new = np.unique(numbers[miss])
            known, index = np.append(known, new), np.append(index, self._new(channel, new, 29))
            order = np.argsort(known)
            known, index = known[order], index[order]
            self._long[channel] = known, index
            at = np.searchsorted(known, numbers)
        return index[at]

    def _new(self, channel: str, numbers: Array, width: Width) -> Array:
        import numpy as np

        first = len(self.lines)
        self.lines += [Line(channel, int(number), width) for number in numbers]
        return np.arange(first, len(self.lines), dtype=np.int32)
