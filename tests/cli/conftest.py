"""What the tests of the command line share."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay, at

from witnessmark.clock import ManualClock, SystemClock


@pytest.fixture
def bay(tmp_path: Path) -> Bay:
    """An empty bay."""
    return Bay(tmp_path / "bay1")


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> ManualClock:
    """The machine's clock, which stands at nine in the morning of 2026-03-02."""
    made = ManualClock(at("09:00:00"))
    monkeypatch.setattr(SystemClock, "stamp", lambda _, device_ns=None: made.stamp(device_ns))
    return made
