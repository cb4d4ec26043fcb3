"""What was keyed in from a card of another day: the papers say when the work was done, by whom, and who typed it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from tests.cli.bay import Bay
from tests.cli.test_empty_card import BEFORE, CLOSES, open_job
from tests.cli.test_entering import BOXED, DAY

from witnessmark.report.drawing.timeline_svg import moments, overview

NOT_DRAWN = "Of 1 moment only the day is known: not drawn, or drawn as open to where it may have been."


@pytest.fixture
def job(bay: Bay, tmp_path: Path) -> str:
    (tmp_path / "boxed.toml").write_text(BOXED, encoding="utf-8")
    return open_job(bay, tmp_path / "boxed.toml")


def keyed(bay: Bay, job: str, *lines: str) -> dict[str, Any]:
    bay.fine("job", "enter", job, *DAY, "--done-by", "t-heron", typed="\n".join(lines) + "\n\n")
    told: dict[str, Any] = json.loads(bay.run("sheet", job, "--json").stdout)
    return told


def paper(bay: Bay, *words: str) -> str:
    bay.fine(*words, "-o", bay.folder / "paper.html")
    html = (bay.folder / "paper.html").read_text(encoding="utf-8")
    return " ".join(re.sub(r"<[^>]*>", "", html).split())


def test_the_time_of_a_job_is_that_of_the_work_and_beside_it_when_it_was_typed(bay: Bay, job: str) -> None:
    told = keyed(bay, job, *BEFORE, CLOSES, "10:50")["job"]
    assert (told["date"], told["first"], told["last"]) == ("2026-03-02", "10:40:00", "10:51:00")
    assert told["entered"].startswith("entered afterwards, 20")
    for name in ("sheet", "statement"):
        assert f"2026-03-02 10:40:00 to 10:51:00, {told['zone']}; {told['entered']}" in paper(bay, name, job)


def test_what_the_card_leaves_out_was_left_out_on_its_day_and_not_as_it_was_typed(bay: Bay, job: str) -> None:
    told = keyed(bay, job, "- the label is torn", "10:41 DOT 4")["job"]
    assert (told["date"], told["first"], told["last"]) == ("2026-03-02", "10:41:00", "10:42:00")


def test_where_no_time_is_written_there_is_the_day_alone(bay: Bay, job: str) -> None:
    told = keyed(bay, job, *["?"] * 6)
    assert (told["job"]["date"], told["job"]["time_known"]) == ("2026-03-02", False)
    assert "2026-03-02, no time is written" in paper(bay, "statement", job)
    assert 'class="step"' not in overview(told), "nothing that nobody knows the time of is drawn"


def test_a_moment_that_is_not_written_is_not_drawn_near_the_typing_and_that_is_said(bay: Bay, job: str) -> None:
    told = keyed(bay, job, *BEFORE[:2], "?", BEFORE[3], CLOSES, "10:50")
    line = told["timeline"]
    assert line["not_drawn"] == NOT_DRAWN
    assert (min(moments(line)), max(moments(line))) == (0, 11 * 60_000), "nothing lies outside of the work"
    opening = next(one for one in line["steps"] if one["text"] == "opening")
    assert opening["at"] == {"low_ms": None, "high_ms": None, "text": "2026-03-02, time not known"}
    assert NOT_DRAWN in paper(bay, "sheet", job) and f"A: {NOT_DRAWN}" in paper(bay, "compare", job, job)


def test_an_opening_with_a_mark_and_no_time_is_drawn_as_open_to_where_it_may_have_been(bay: Bay, job: str) -> None:
    told = keyed(bay, job, *BEFORE[:2], "? done", BEFORE[3], CLOSES, "10:50")
    (opening,) = told["timeline"]["openings"]
    assert (opening["from"]["low_ms"], opening["from"]["high_ms"]) == (None, opening["to"]["low_ms"])
    assert told["passes"][0]["opened"] == "2026-03-02, time not known" and "unsure nipple-line" in overview(told)


def test_a_statement_says_who_did_it_and_who_typed_it(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE, CLOSES, "10:50")
    said = paper(bay, "statement", job)
    assert "t-heron did what 7 entries say, entered by t-otter." in said
    assert "t-otter entered or did what 1 entry says." in said


def test_job_show_says_the_date_and_that_it_was_entered_afterwards(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE[:2], "?")
    shown = bay.fine("job", "show", job).splitlines()
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", shown[0]) and "entered afterwards" not in shown[1]
    assert shown[2] == "2026-03-02" and re.search(r"\[entered afterwards, 20\S+ \d\d:\d\d, by t-otter\]$", shown[3])
    assert shown[-1].split()[1:3] == ["not", "known"]
