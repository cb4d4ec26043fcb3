"""From candump text to decoded exchanges: ours beside what a user would otherwise chain together, in one run.

The rivals stop at messages (tshark: at decoded ones); ours also pairs, and gives service, sub-function, identifier,
response code and stamps as arrays. What each found is compared with what was put in, message by message.
"""

from __future__ import annotations

import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from statistics import median

from tests.bench import rivals
from tests.bench.captures import Capture, Messages, dense, segments, sparse
from witnessmark.recording.bulk.exchanges import Exchanges
from witnessmark.recording.conversation import Conversation
from witnessmark.recording.file import open_recording
from witnessmark.recording.meaning import describe
from witnessmark.recording.reading import Reading, read_recording
from witnessmark.wire.isotp.passive import Message, PassiveReassembler
from witnessmark.wire.uds.head import head

Row = dict[str, object]

RUNS = 5
DENSE_FRAMES, SPARSE_FRAMES = 200_000, 1_000_000


def run() -> list[Row]:
    """Return every figure."""
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as folder:
        for units in (2, 8):
            rows += dense_rows(Path(folder) / f"dense{units}.log", dense(DENSE_FRAMES, units), f"{units} units")
        rows += sparse_rows(Path(folder) / "sparse.log", sparse(SPARSE_FRAMES))
    return rows + live_rows(dense(20_000, 8))


def dense_rows(path: Path, capture: Capture, label: str, runs: int = RUNS) -> list[Row]:
    """Measure all readers in turn, `runs` times, and hold what they found against what was put in."""
    path.write_bytes(capture.text)
    readers: dict[str, Callable[[Path], object]] = {
        "ours": read,
        "python-can + can-isotp": rivals.python_can_and_can_isotp,
        "scapy": rivals.scapy_builder,
    }
    if rivals.has_tshark():
        readers["tshark"] = rivals.tshark
    spent: dict[str, list[float]] = {name: [] for name in readers}
    found: dict[str, object] = {}
    for _ in range(runs):
        for name, reader in readers.items():
            start = time.perf_counter()
            found[name] = reader(path)
            spent[name].append(time.perf_counter() - start)
    seconds = {name: median(times) for name, times in spent.items()}
    if "tshark" in seconds:
        seconds["tshark"] -= _tshark_start(path.with_name("one.log"), capture)
    reading = found.pop("ours")
    assert isinstance(reading, Reading)
    rows = [_row(f"{label}: ours", capture.frames / seconds["ours"], "frames/s", compared(reading, capture))]
    wanted = {"python-can + can-isotp": 8, "scapy": 20, "tshark": 4}
    for name, messages in found.items():
        assert isinstance(messages, dict)
        note = f"{_alike(messages, capture)} of {_total(capture)} messages right"
        rows.append(_row(f"{label}: {name}", capture.frames / seconds[name], "frames/s", note))
        rows.append(_row("  ours is faster", seconds[name] / seconds["ours"], "x", f"wanted: {wanted[name]}"))
    if "tshark" not in readers:
        rows.append(_row(f"{label}: tshark", "not installed", "", "Debian package tshark"))
    return rows


def sparse_rows(path: Path, capture: Capture, runs: int = RUNS) -> list[Row]:
    """Measure finding and reading a few diagnostic frames among many others against a bare loop over the lines."""
    path.write_bytes(capture.text)
    ours, loop = [], []
    for _ in range(runs):
        start = time.perf_counter()
        reading = read(path)
        ours.append(time.perf_counter() - start)
        start = time.perf_counter()
        with path.open("rb") as file:
            for _line in file:
                pass
        loop.append(time.perf_counter() - start)
    share = f"{sum(map(_frames_of, capture.pairs)) / capture.frames:.1%} diagnostic"
    return [
        _row(f"sparse, {share}: ours", capture.frames / median(ours), "frames/s", compared(reading, capture)),
        _row("sparse: bare loop over the lines", capture.frames / median(loop), "frames/s", "reads nothing"),
        _row("  ours takes", median(ours) / median(loop), "x", "wanted: at most 3"),
    ]


def live_rows(capture: Capture) -> list[Row]:
    """Measure one frame at a time through reassembly and decode, as when listening."""
    frames = []
    for line in capture.text.splitlines():
        stamp, _, frame = line.split()
        name, _, data = frame.partition(b"#")
        frames.append((int(name, 16), bytes.fromhex(data.decode("ascii")), int(stamp[1:-1].replace(b".", b"")) * 1000))
    rows = []
    for label, decode in (("head", head), ("head and text", lambda payload: (head(payload), describe(payload)))):
        reassembler = PassiveReassembler()
        every, completing = [], []
        for number, data, stamp_ns in frames:
            start = time.perf_counter_ns()
            told = reassembler.feed(number, data, stamp_ns)
            for part in told:
                if isinstance(part, Message):
                    decode(part.payload)
            took = time.perf_counter_ns() - start
            every.append(took)
            if told:
                completing.append(took)
        rows.append(_row(f"one live frame, {label}", median(every) / 1000, "us", "median; wanted: under 20"))
        rows.append(_row("  that completes a message", median(completing) / 1000, "us", "median"))
    return rows


def read(path: Path) -> Reading:
    """Ours, from the file to the arrays."""
    return read_recording(open_recording(path))


def compared(reading: Reading, capture: Capture) -> str:
    """Compare every message and every pair; raises AssertionError when one is lost, invented or paired wrongly."""
    exchanges = reading.conversations
    assert isinstance(exchanges, Exchanges)
    found: Messages = {}
    table = exchanges.told.table
    for place in range(table.line.size):
        part = exchanges.told.message(place)
        assert isinstance(part, Message), "a message was lost"
        found.setdefault(exchanges.told.frames.lines[int(table.line[place])].name, []).append(part.payload)
    assert found == capture.messages, "messages differ"
    assert Counter(map(_pair, exchanges)) == Counter(capture.pairs), "pairs differ"
    return f"0 of {_total(capture)} messages lost, 0 invented, {len(exchanges)} pairs right"


def _pair(one: Conversation) -> tuple[str, bytes, str, bytes]:
    assert one.request is not None
    (answer,) = one.answers
    return one.request.key.name, one.request.payload, answer.key.name, answer.payload


def _alike(found: Messages, capture: Capture) -> int:
    """How many of the messages that were put in a rival found, whatever the order."""
    return sum(
        (Counter(messages) & Counter(found.get(name, []))).total() for name, messages in capture.messages.items()
    )


def _total(capture: Capture) -> int:
    return sum(map(len, capture.messages.values()))


def _frames_of(pair: tuple[str, bytes, str, bytes]) -> int:
    answer = len(segments(pair[3]))
    return 1 + answer + (answer > 1)


def _tshark_start(path: Path, capture: Capture) -> float:
    """How long tshark takes for one frame: what is not reading, and is taken off."""
    path.write_bytes(capture.text.splitlines(keepends=True)[0])
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        rivals.tshark(path)
        times.append(time.perf_counter() - start)
    return median(times)


def _row(name: str, value: object, unit: str, note: str) -> Row:
    return {"name": name, "value": round(value) if unit == "frames/s" else value, "unit": unit, "note": note}
