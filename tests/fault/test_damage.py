"""A slice of the campaign: each file damaged in each way a few times."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.fault import damage


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Iterator[damage.Sound]:
    made = damage.sound(tmp_path_factory.mktemp("sound"))
    yield made
    made.shop.journal.close()


@pytest.mark.parametrize("name", damage.FILES)
@pytest.mark.parametrize("way", damage.WAYS)
def test_damage_is_named_or_changes_nothing(sound: damage.Sound, name: str, way: str, tmp_path: Path) -> None:
    numbers = random.Random(f"{name} {way}")
    for _ in range(4):
        assert damage.trial(sound, tmp_path, name, way, numbers)


def test_the_trial_sees_damage_where_it_counts(sound: damage.Sound, tmp_path: Path) -> None:
    class End(random.Random):
        def randrange(self, start: int, *_: int) -> int:
            return start // 2

    found = {name: damage.trial(sound, tmp_path, name, "cut off", End()) for name in damage.FILES}
    assert found == {
        "bay.journal": found["bay.journal"],
        "bay.journal-wal": "named: end damaged",
        "bay.journal.head": "nothing changed that counts",
    }
    assert found["bay.journal"] != "nothing changed that counts"
