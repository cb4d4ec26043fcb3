"""A slice of the campaign: every named point once, a few cut-off writes, a few random moments."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fault import kill

SURVIVED = {"killed": True, "lost": 0, "verdict": "consistent, unanchored"}


@pytest.mark.parametrize("point", kill.POINTS)
def test_nothing_acknowledged_is_lost_when_killed_at(point: str, tmp_path: Path) -> None:
    found = kill.at_point(kill.new_journal(tmp_path), point)
    assert found.pop("acknowledged") == 0 if "head file" in point else found.pop("acknowledged")
    assert found == SURVIVED


@pytest.mark.parametrize("byte", [40_001, 77_777, 123_456, 250_000])
def test_nothing_acknowledged_is_lost_when_a_write_is_cut_off(byte: int, tmp_path: Path) -> None:
    found = kill.in_a_write(kill.new_journal(tmp_path), byte)
    assert found.pop("acknowledged")
    assert found == SURVIVED


def test_nothing_acknowledged_is_lost_at_random_moments_one_after_another(tmp_path: Path) -> None:
    path = kill.new_journal(tmp_path)
    for delay_s in (0, 0.002, 0.005, 0.011):
        found = kill.at_random(path, delay_s)
        assert found.pop("acknowledged")
        assert found == SURVIVED
