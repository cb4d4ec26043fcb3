"""The lock: one holder, named to the second, freed by the kernel."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from witnessmark.clock import ManualClock
from witnessmark.errors import JournalError
from witnessmark.journal import lock as locks
from witnessmark.journal.lock import InUse, Lock

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
        with pytest.raises(JournalError, match=f"bay page \\(process {os.getpid()} on .*, since [0-9:]+, for 5 min\\)"):
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


def test_two_that_write_of_a_job_beside_the_holder_of_another_come_one_after_the_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(locks, "TRIES", 1)
    path, clock = tmp_path / "lock", ManualClock()
    with (
        Lock(path, "job run", clock, "J1"),
        locks.beside(path, "job enter", clock, "J2"),
        pytest.raises(InUse, match="does not end"),
        locks.beside(path, "job release", clock, "J2"),
    ):
        raise AssertionError("both write")


def test_a_holder_that_comes_while_one_writes_of_its_job_begins_only_after_that(tmp_path: Path) -> None:
    path, clock, order = tmp_path / "lock", ManualClock(), list[str]()

    def run() -> None:
        with Lock(path, "job run", clock, "J2"):
            order.append("begun")

    first, second = Lock(path, "job run", clock, "J1"), threading.Thread(target=run)
    with locks.beside(path, "job enter", clock, "J2"):
        first.close()
        second.start()
        while _held_by(path) != "J2":  # it has the lock now, and waits
            pass
        order.append("written")
    second.join()
    assert order == ["written", "begun"]


def _held_by(path: Path) -> str:
    """Return on which job the lock is held, by its text."""
    try:
        return str(json.loads(path.read_text())["job"])
    except ValueError:
        return ""


def test_the_text_of_a_holder_that_is_gone_lets_nobody_in_beside_the_next_one(tmp_path: Path) -> None:
    path, clock = tmp_path / "lock", ManualClock()
    Lock(path, "job run", clock, "J1").close()
    with (
        Lock(path, "job run", clock, "J2"),
        pytest.raises(InUse, match="job run of job J2"),
        locks.beside(path, "job enter", clock, "J2"),
    ):
        raise AssertionError("both write")


@pytest.mark.parametrize(
    ("held", "wanted", "way"),
    [("J1", "J2", "pause it at that screen"), ("J1", "J1", "go on at that screen"), ("", "J2", "end that one first")],
)
def test_who_works_on_which_job_where_and_since_when_is_told_with_the_way_on(
    tmp_path: Path, held: str, wanted: str, way: str
) -> None:
    clock = ManualClock()
    with Lock(tmp_path / "lock", "job run", clock, held, "t-otter"), pytest.raises(InUse) as refused:
        Lock(tmp_path / "lock", "job run", clock, wanted)
    of = f" of job {held}" if held else ""
    assert f"in use by job run{of} by t-otter (process {os.getpid()} on " in str(refused.value)
    assert ", since " in str(refused.value) and way in refused.value.hint
    assert refused.value.job == held
