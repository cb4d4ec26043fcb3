"""The bulk reading from end to end: candump text in, a `Reading` out, or None where the plain reading has to do it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from witnessmark.errors import InputError
from witnessmark.recording.bulk.exchanges import Exchanges
from witnessmark.recording.bulk.heads import Heads, read_heads
from witnessmark.recording.bulk.pairing import pair_rows
from witnessmark.recording.bulk.reassembly import (
    FIRST,
    FLOW,
    REFUSED,
    SINGLE,
    Frames,
    Table,
    Told,
    escaped,
    kinds,
    reassemble,
)
from witnessmark.recording.bulk.rows import Rows, read_rows
from witnessmark.recording.bulk.text import scan
from witnessmark.recording.census import SPOKEN, Census, Utterance
from witnessmark.recording.conversation import Conversation
from witnessmark.recording.finding import Found, Named, find
from witnessmark.recording.line import NO_TIME_NS, Line, is_legislated
from witnessmark.recording.overflow import OVERFLOW_BYTE, with_refusal
from witnessmark.recording.pairing import pair
from witnessmark.recording.reading import Reading, is_mixed, may_be_extended
from witnessmark.recording.source import Buffer

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[Any]


def read_text(
    content: Buffer,
    name: str,
    report: Callable[[InputError], None],
    progress: Callable[[int], None] | None = None,
    named: frozenset[Named] = frozenset(),
) -> tuple[Reading, int] | None:
    """Read candump text into conversations; also return how many frames it holds.

    None: this text is not for bulk reading, and what `report` got does not count.
    """
    import numpy as np

    rows = scan(content, name, report, progress)
    if rows is None or any(is_mixed(line) for line in rows.lines) or any(ext is not None for _, ext in named):
        return None
    candidates = _candidates(rows, named)
    if candidates is None:
        return None
    frames, censuses = candidates
    end = read_rows(rows, np.arange(rows.line.size)[-1:])
    if end is None:
        return None
    told = reassemble(frames, int(end[0][0]) if rows.line.size else None)
    start = told.starts()
    _count(told, start, censuses, frames.lines)
    order = _in_order(rows)
    found = find({line: censuses[line] for line in order if line in censuses}, _sampler(told, start), named)
    if _may_have_addresses(rows, found):
        return None
    told, start = _only(told, start, found.lines)
    overflows = _overflows(frames)
    told = replace(told, odd={place: with_refusal(part, overflows, found) for place, part in told.odd.items()})
    heads = read_heads(start, told.table.size, _of_lines(told, found.asking))
    ends_ns = told.table.last_ns[told.table.whole & (told.table.last_ns != NO_TIME_NS)]
    backwards = int((ends_ns[1:] < ends_ns[:-1]).sum())
    return Reading(_pair(told, start, heads, found), found, backwards=backwards), rows.frames


def _overflows(frames: Frames) -> dict[Line, list[int]]:
    """When flow control with the status overflow was heard on each line."""
    import numpy as np

    overflows: dict[Line, list[int]] = {}
    for at in np.flatnonzero((frames.kind == FLOW) & (frames.data[:, 0] == OVERFLOW_BYTE)):
        overflows.setdefault(frames.lines[int(frames.line[at])], []).append(int(frames.time_ns[at]))
    return overflows


def _of_lines(told: Told, lines: frozenset[Line]) -> Array:
    """Tell the rows of some lines."""
    import numpy as np

    of: Array = np.array([line in lines for line in told.frames.lines], np.bool_)[told.table.line]
    return of


def _candidates(rows: Rows, named: frozenset[Named]) -> tuple[Frames, dict[Line, Census]] | None:
    """Read the frames of the lines that may turn out to carry diagnostics, and count all lines' frames."""
    import numpy as np

    kind = np.empty(rows.line.size, np.uint8)
    for part in rows.windows():
        kind[part] = kinds(rows.size[part], rows.first[part], rows.second[part])
    if not _look_at_escaped(rows, kind):
        return None
    services = np.frombuffer(SPOKEN, np.uint8) > 0
    services[0x7F] = True
    # One count for all: by line, kind, and whether a single frame begins with a service.
    flat, refusals = np.zeros(len(rows.lines) << 4, np.int64), np.zeros(len(rows.lines), np.int64)
    for part in rows.windows():
        begins = (kind[part] == SINGLE) & services.take(rows.second[part])
        flat += np.bincount(rows.line[part] << 4 | begins << 3 | kind[part], minlength=flat.size)
        refusals += np.bincount(rows.line[part][begins & (rows.second[part] == 0x7F)], minlength=refusals.size)
    counts = flat.reshape(-1, 2, 8)
    total, refused, first = counts.sum(axis=(1, 2)), counts[:, 0, REFUSED], counts[:, 0, FIRST]
    single, spoken = counts[:, :, SINGLE].sum(axis=1), counts[:, 1, SINGLE]
    # What can be said before anything is put together: too many frames refused, or a line of single frames alone
    # that do not begin with a service. All others are read.
    may = (refused * 10 <= total) & ((first > 0) | ((single > 0) & (spoken * 10 >= single * 9)))
    legislated = np.array([is_legislated(line) for line in rows.lines], np.bool_)
    may |= legislated | np.array([(line.number, line.ext) in named for line in rows.lines], np.bool_)
    if ((refusals > 0) & may & ~legislated).any():
        # What these refuse may begin with any number.
        may |= (refused * 10 <= total) & (single > 0)
    which = np.flatnonzero(may[rows.line])
    read = read_rows(rows, which)
    if read is None:
        return None
    frames = Frames(rows.lines, which, rows.line[which], kind[which], rows.size[which], *read)
    censuses = {
        rows.lines[number]: Census(frames=int(total[number]), refused=int(refused[number]))
        for number in map(int, np.flatnonzero(may))
    }
    return frames, censuses


def _may_have_addresses(rows: Rows, found: Found) -> bool:
    """Say whether an identifier that was not found may be one of extended addressing, which is not read in bulk: nine
    in ten of its frames are sound behind an address byte, and one of them begins with a service."""
    import numpy as np

    known = frozenset(found.lines)
    may = np.array([may_be_extended(line) and line not in known for line in rows.lines], np.bool_)
    if not may.any():
        return False
    many = len(rows.lines)
    total, reserved = np.zeros((2, many), np.int64)
    for part in rows.windows():
        total += np.bincount(rows.line[part], minlength=many)
        reserved += np.bincount(rows.line[part][rows.second[part] >= 0x40], minlength=many)
    may &= reserved * 10 <= total
    which = np.flatnonzero(may[rows.line])
    if not which.size:
        return False
    read = read_rows(rows, which)
    if read is None:
        return True
    size, data = rows.size[which].astype(np.int32), read[1]
    form, count = data[:, 1] >> 4, data[:, 1] & 15
    single = (form == 0) & (count > 0) & (count <= size - 2)
    first = (form == 1) & (size == 8)
    sound = single | first | ((form == 2) & (size > 2)) | ((form == 3) & (size > 3))
    services = np.frombuffer(SPOKEN, np.uint8) > 0
    services[0x7F] = True
    speaks = (single & services[data[:, 2]]) | (first & (services[data[:, 3]] | (data[:, 1] == 0x10)))
    line = rows.line[which]
    good = np.bincount(line[sound], minlength=many)
    spoken = np.bincount(line[speaks], minlength=many)
    return bool((may & ((total - good) * 10 <= total) & (spoken > 0)).any())


def _look_at_escaped(rows: Rows, kind: Array) -> bool:
    """Refuse the first frames with the escape length that do not need it; False when times cannot be read."""
    at = escaped(kind, rows.first, rows.second)
    if not at.size:
        return True
    read = read_rows(rows, at)
    if read is None:
        return False
    data = read[1]
    kind[at[(data[:, 2:4] == 0).all(axis=1) & (data[:, 4] < 16)]] = REFUSED
    return True


def _count(told: Told, start: Array, censuses: dict[Line, Census], lines: Sequence[Line]) -> None:
    import numpy as np

    table, spoken = told.table, np.frombuffer(SPOKEN, np.uint8)
    speech = np.where(table.size > 0, spoken[start[:, 0]], 0)
    refusal = (start[:, 0] == 0x7F) & (table.size > 0)
    speech[refusal] = np.where(table.size[refusal] >= 3, 2, 0)
    many = len(lines)

    def count(where: Array, weights: Array | None = None) -> Array:
        return np.bincount(table.line[where], weights=None if weights is None else weights[where], minlength=many)

    segmented = table.whole & (table.frames_in > 1) & (speech > 0)
    columns = (
        ("whole", count(table.whole)),
        ("spoken", count(table.whole & (speech > 0))),
        ("asked", count(table.whole & (speech == 1))),
        ("segmented", count(segmented)),
        ("inside", count(segmented, table.frames_in)),
        ("begun", count(~table.whole & (speech > 0))),
        ("begun_asked", count(~table.whole & (speech == 1))),
    )
    for number, line in enumerate(lines):
        if line in censuses:
            for name, values in columns:
                setattr(censuses[line], name, int(values[number]))


def _in_order(rows: Rows) -> list[Line]:
    """The lines as they first appear in the file."""
    import numpy as np

    first = np.zeros(len(rows.lines), np.int64)
    for part in reversed(list(rows.windows())):
        first[rows.line[part][::-1]] = np.arange(part.start, part.stop)[::-1]
    return [rows.lines[number] for number in np.argsort(first, kind="stable")]


def _sampler(told: Told, start: Array) -> Callable[[Line, int], list[Utterance]]:
    import numpy as np

    table, index = told.table, {line: number for number, line in enumerate(told.frames.lines)}

    def sample(line: Line, size: int) -> list[Utterance]:
        places = np.flatnonzero((table.line == index[line]) & (table.size > 0))[:size]
        content = start[places].tobytes()
        sizes = np.minimum(table.size[places], 4).tolist()
        starts = [content[at : at + length] for at, length in zip(range(0, len(content), 4), sizes, strict=True)]
        columns = (places, table.first_ns[places], table.last_ns[places], table.whole[places])
        told, first_ns, last_ns, whole = (column.tolist() for column in columns)
        return list(map(Utterance, told, starts, first_ns, last_ns, whole))

    return sample


def _only(told: Told, start: Array, lines: Sequence[Line]) -> tuple[Told, Array]:
    """Keep what was told on some lines."""
    import numpy as np

    wanted = frozenset(lines)
    keep = _of_lines(told, wanted)
    if keep.all():
        return told, start
    places = np.cumsum(keep) - 1
    odd = {int(places[place]): part for place, part in told.odd.items() if keep[place]}
    return Told(Table(*(column[keep] for column in told.table)), told.payloads, told.frames, odd), start[keep]


def _pair(told: Told, start: Array, heads: Heads, found: Found) -> Sequence[Conversation]:
    opener = pair_rows(told, start, heads, found)
    if opener is None:
        every = (told.message(place) for place in range(told.table.line.size))
        return pair(every, found.requesters, found.functional, found.asking)
    return Exchanges(told, heads, opener, found)
