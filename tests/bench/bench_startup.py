"""How long `witnessmark --help` takes against a bare click program, whole processes, in turn."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

BARE = "import click\n@click.command()\ndef main():\n    '''Do nothing.'''\nmain(['--help'])\n"
RUNS = 15


def run() -> list[dict[str, object]]:
    """Return the two medians and their ratio. Ours is the installed command, entry script and all."""
    with tempfile.TemporaryDirectory() as folder:
        script = Path(folder) / "bare.py"
        script.write_text(BARE, encoding="utf-8")
        bare_command = [sys.executable, str(script)]
        our_command = [str(Path(sys.executable).with_name("witnessmark")), "--help"]
        spent: dict[str, list[float]] = {"bare": [], "ours": []}
        for _ in range(RUNS):
            spent["bare"].append(_seconds(bare_command))
            spent["ours"].append(_seconds(our_command))
    bare, ours = median(spent["bare"]), median(spent["ours"])
    return [
        {
            "name": "bare click program --help",
            "value": round(bare * 1000, 1),
            "unit": "ms",
            "note": f"median of {RUNS}",
        },
        {"name": "witnessmark --help", "value": round(ours * 1000, 1), "unit": "ms", "note": f"median of {RUNS}"},
        {"name": "ratio", "value": round(ours / bare, 2), "unit": "x", "note": "wanted: under 2"},
    ]


def _seconds(command: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start
