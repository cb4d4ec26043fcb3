"""What the tests of the command line share."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay


@pytest.fixture
def bay(tmp_path: Path) -> Bay:
    """An empty bay."""
    return Bay(tmp_path / "bay1")
