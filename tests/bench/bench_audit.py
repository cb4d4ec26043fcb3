"""The audit's figures: a job of 2,000 entries of every shape, opened and asked all questions in its own process."""

from __future__ import annotations

import subprocess
import sys

from tests.audit.long_jobs import SHAPES

Row = dict[str, object]

ENTRIES = 2000
GOES = 3

SCRIPT = """
import gc, sys, time
from tests.audit.long_jobs import SHAPES
from tests.audit.shipped import QUESTIONS
from tests.bench.bench_audit import rounds
from witnessmark import quantity
from witnessmark.audit.case import open_case
from witnessmark.audit.run import audit

def cpu_ms(work):
    begin = time.process_time()
    work()
    return (time.process_time() - begin) * 1e3

shape, questions = sys.argv[1], list(QUESTIONS.values())
count = rounds(shape)
job, twice = SHAPES[shape](count), SHAPES[shape](2 * count)
units = cpu_ms(lambda: quantity.convert(quantity.parse("1 L", place=""), "mL"))
gc.collect()
first = cpu_ms(lambda: audit(job, questions))
opened = cpu_ms(lambda: open_case(job))
again = min(cpu_ms(lambda: audit(job, questions)) for _ in range(3))
longer = min(cpu_ms(lambda: audit(twice, questions)) for _ in range(3))
print(len(job), first, opened, longer / again * len(job) / len(twice), units)
"""
"""The first audit of the process is the one that counts; what twice as many entries cost is told by later ones."""


def run() -> list[Row]:
    """Return what each shape costs, and what one twice as long costs against it."""
    rows: list[Row] = []
    for shape in SHAPES:
        goes = [_measured(shape) for _ in range(GOES)]
        count, first, opened, growth, units = (sorted(column)[GOES // 2] for column in zip(*goes, strict=True))
        note = f"{opened:.0f} ms of it opening; median of {GOES}; wanted: under 100"
        rows.append(_row(f"audit of {count:.0f} entries: {shape}", first, "ms CPU", note))
        rows.append(_row("an entry of twice as many / one of these", growth, "x", "1 where it grows with the job"))
    rows.append(_row("units loaded once a process, besides", units, "ms CPU", "pint's registry"))
    return rows


def rounds(shape: str) -> int:
    """Return how many rounds make at least `ENTRIES` entries."""
    few, more = (len(SHAPES[shape](count)) for count in (2, 4))
    each = (more - few) / 2
    return int(-((few - 2 * each - ENTRIES) // each))


def _measured(shape: str) -> list[float]:
    done = subprocess.run([sys.executable, "-c", SCRIPT, shape], capture_output=True, text=True, check=True)
    return [float(figure) for figure in done.stdout.split()]


def _row(name: str, value: float, unit: str, note: str) -> Row:
    return {"name": name, "value": round(value, 2), "unit": unit, "note": note}
