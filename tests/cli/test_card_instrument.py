"""With what a value on a card was read, and what a container said: as the card has it, and nobody's guess."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay
from tests.cli.test_empty_card import BEFORE, CLOSES, findings, keyed
from tests.cli.test_entering import BOXED

NAMED = BOXED.replace('unit = "bar"\n', 'unit = "bar"\ninstrument = "gauge"\n')


@pytest.mark.parametrize(
    ("feed", "closes", "named", "said"),
    [
        ("", "", ["", ""], "no instrument named in 1 of 1"),
        (" with", ", with", ["gauge", "torque wrench"], "nobody recorded until when its instrument is calibrated"),
        (", with the old gauge", " with ?", ["the old gauge", ""], "no instrument named in 1 of 1"),
    ],
)
def test_a_reading_names_its_instrument_where_the_line_does_and_else_there_is_no_proof(
    bay: Bay, tmp_path: Path, feed: str, closes: str, named: list[str], said: str
) -> None:
    (tmp_path / "named.toml").write_text(NAMED, encoding="utf-8")
    words = ("--procedure", tmp_path / "named.toml", "--grade", "told", "--vehicle", "v-1")
    job = bay.fine("job", "open", *words).split()[1]
    lines = (BEFORE[0], BEFORE[1] + feed, *BEFORE[2:], CLOSES + closes, "10:50")
    told, _ = keyed(bay, job, *lines)
    assert "6 of 6" in told and "then with if it was read with the torque wrench, or with and what else it was" in told
    assert [one.body.get("instrument", "") for one in bay.entries(job, kind="reading")] == named
    found = findings(bay, job)["who"]
    assert found["answer"] == "no proof" and said in found["text"]


def test_words_that_name_no_fluid_are_asked_once_more(bay: Bay, tmp_path: Path) -> None:
    (tmp_path / "named.toml").write_text(NAMED, encoding="utf-8")
    words = ("--procedure", tmp_path / "named.toml", "--grade", "told", "--vehicle", "v-1")
    job = bay.fine("job", "open", *words).split()[1]
    told, made = keyed(
        bay, job, "10:40 45", "10:40 22:19:40", "10:40 8 clear capped", "10:40 DOT 5.1", "10:41 " + "4" * 198
    )
    assert told.count("names no grade or class of fluid that is known") == 1 and "REALLY? '45' names" in told
    assert "'22:19:40' has no place" in told and "'8 clear capped' has no place on this line" in told
    assert [one.body.get("answer") for one in made] == ["DOT 5.1"] and "a number of 198 digits" in told
