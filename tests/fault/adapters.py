"""Every fault on every adapter, and every way in which a plugin breaks: the tests are a slice of it.

The cases stand in `tests/plugins/test_job_faults.py` and `test_broken_plugin.py`; each runs a job on a real adapter.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator

from tests.rules.source import ROOT

FILES = ("tests/plugins/test_job_faults.py", "tests/plugins/test_broken_plugin.py")
WITHIN_S = 1800


def run(count: int, seed: int) -> Iterator[str]:
    """Run the product `count` times; the order of its cases is their own, so `seed` changes nothing."""
    for _ in range(count):
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *FILES]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=WITHIN_S, check=False)
        assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
        yield done.stdout.strip().splitlines()[-1]
