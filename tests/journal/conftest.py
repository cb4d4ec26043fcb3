"""What the tests of the journal share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.journal.shop import Shop, open_shop


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop with a key and two jobs of five entries each, written in turn: 12 entries."""
    made = open_shop(tmp_path)
    made.work(5)
    with made.journal:
        yield made
