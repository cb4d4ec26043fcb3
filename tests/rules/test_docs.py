"""What a page shows was run: the blocks between cog markers are what the code gives today."""

from __future__ import annotations

import subprocess
import sys

from tests.rules.source import ROOT


def test_the_pages_show_what_the_code_gives_today() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "cogapp", "--check", "--diff", "README.md", "DEVELOPERS.md", "docs/iso-tp.md"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, f"run make docs\n{done.stdout}{done.stderr}"
