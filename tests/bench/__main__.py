"""`make bench [PART=name]`: runs every `bench_*.py` here, or the parts named, and prints their figures as tables.

A part has `run() -> list of rows`; a row has name, value, unit and note.
"""

from __future__ import annotations

import platform
import sys
from importlib import import_module
from pathlib import Path


def parts() -> list[str]:
    """Name the parts there are."""
    return sorted(path.stem.removeprefix("bench_") for path in Path(__file__).parent.glob("bench_*.py"))


def machine() -> str:
    """Describe the machine that the figures were taken on."""
    info = Path("/proc/cpuinfo")
    models = []
    if info.exists():
        models = [
            line.partition(":")[2].strip() for line in info.read_text().splitlines() if line.startswith("model name")
        ]
    cores = f"{len(models)} x {models[0]}" if models else platform.processor() or platform.machine()
    return f"{cores}, {platform.system()} {platform.release()}, Python {platform.python_version()}"


def table(rows: list[dict[str, object]]) -> str:
    """Lay rows out in columns."""
    cells = [[str(row["name"]), _shown(row["value"]), str(row["unit"]), str(row["note"])] for row in rows]
    widths = [max(len(cell[column]) for cell in cells) for column in range(3)]
    return "\n".join(
        f"  {name:<{widths[0]}}  {value:>{widths[1]}} {unit:<{widths[2]}}  {note}".rstrip()
        for name, value, unit, note in cells
    )


def _shown(value: object) -> str:
    if isinstance(value, int):
        return f"{value:,}"
    return f"{value:,.2f}" if isinstance(value, float) else str(value)


def main(wanted: list[str]) -> int:
    """Run the parts and print their tables; 2 for a part that there is not."""
    unknown = set(wanted) - set(parts())
    if unknown:
        print(f"no part {' '.join(sorted(unknown))}; there is {' '.join(parts())}", file=sys.stderr)
        return 2
    print(machine())
    for part in wanted or parts():
        print(f"\n{part}", flush=True)
        print(table(import_module(f"tests.bench.bench_{part}").run()), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
