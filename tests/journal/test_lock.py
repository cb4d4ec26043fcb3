"""The lock: one holder, named to the second, freed by the kernel."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from witnessmark.clock import ManualClock
from witnessmark.errors import JournalError
from witnessmark.journal.lock import Lock

HOLD = """
import sys, pathlib
from witnessmark.clock import ManualClock
from witnessmark.journal.lock import Lock
lock = Lock(pathlib.Path(sys.argv[1]), "job run", ManualClock())
print("held", flush=True)
sys.stdin.read()
"""


def test_a_second_holder_is_told_who_has_it(tmp_path: Path) -> None:
    clock = ManualClock()
    with Lock(tmp_path / "lock", "bay page", clock):
        clock.advance(300)
        with pytest.raises(JournalError, match=f"bay page \\(process {os.getpid()} on .*, for 5 min\\)"):
            Lock(tmp_path / "lock", "job run", clock)


def test_it_is_free_after_closing(tmp_path: Path) -> None:
    Lock(tmp_path / "lock", "one", ManualClock()).close()
    Lock(tmp_path / "lock", "two", ManualClock()).close()


def test_the_kernel_frees_it_when_the_holder_is_killed(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(JournalError, match=f"process {holder.pid} "):
            Lock(path, "second", ManualClock())
        holder.kill()
        holder.wait()
    Lock(path, "second", ManualClock()).close()


def test_a_holder_without_a_name_is_still_a_holder(tmp_path: Path) -> None:
    with Lock(tmp_path / "lock", "one", ManualClock()):
        (tmp_path / "lock").write_text("{")
        with pytest.raises(JournalError, match="another process"):
            Lock(tmp_path / "lock", "two", ManualClock())


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="cannot be opened"):
        Lock(tmp_path / "none" / "lock", "one", ManualClock())
