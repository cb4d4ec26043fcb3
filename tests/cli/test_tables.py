"""Tables on the command line: as wide as the terminal, and no word of theirs lost or torn."""

from __future__ import annotations

import pytest

from witnessmark.cli.tables import draw
from witnessmark.mapping.show import Table

TABLE = Table(
    "services",
    ("service", "name", "state", "refusals", "evidence"),
    (
        ("01", "current powertrain diagnostic data", "does not have it", "11 serviceNotSupported x1", "probed 1 time"),
        ("2F", "InputOutputControlByIdentifier", "answers", "", "heard 45 times in bay.log, 2026-05-04"),
    ),
)


@pytest.mark.parametrize("width", [40, 80, 89, 98, 99, 100, 110, 120, 150, 200])
def test_a_table_keeps_every_word_whole_at_any_width(
    width: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    draw(TABLE)
    shown = capsys.readouterr().out
    assert all(len(line) <= width for line in shown.splitlines())
    words = shown.split()
    assert all(word in words for row in TABLE.rows for cell in row for word in cell.split())
    assert ("name:" in words) == (width < 99), "a list where a cell would take more than three lines"
