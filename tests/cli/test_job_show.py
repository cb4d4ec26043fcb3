"""`job show` gives an entry the time that the papers give it, whatever its clock stood at."""

from __future__ import annotations

import json
import re
from datetime import datetime

import pytest
from tests.cli.bay import Bay

from witnessmark.clock import NS, ManualClock
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft, occurred
from witnessmark.journal.store import Journal

PARTS = (0, 1, 400, 499, 500, 501, 900, 999)
"""Thousandths of a second at which something was done."""


def step(bay: Bay, at_ns: int, within_ns: int = 0) -> None:
    """Write a step that was done at a moment, known to within so much each way, as it was done."""
    body = bodies.to_body(bodies.StepDone(step="make-safe", act="done"))
    with Journal.open(bay.shop.journal_path, ManualClock(at_ns), write=True) as journal:
        when = occurred(at_ns - within_ns, at_ns + within_ns, basis="touch" if within_ns else "clock")
        journal.append(Draft("step", journal.jobs()[0].job, "person:t-otter", occurred=when, body=body))


def shown(bay: Bay, job: str) -> dict[int, str]:
    """Return the time that `job show` gives each entry of a job, as a paper would print it."""
    found = re.findall(r"^ *(\d+)  (\S+)(?: +(±[\d.]+ s))? ", bay.fine("job", "show", job), re.MULTILINE)
    return {int(seq): f"{clock} {spread}".strip() for seq, clock, spread in found}


def test_every_entry_has_the_same_second_as_on_the_papers(bay: Bay) -> None:
    bay.open_job()
    job = bay.entries()[1].job or ""
    noon = round(datetime.now().astimezone().replace(hour=12, minute=0, second=0, microsecond=0).timestamp()) * NS
    for number, thousandths in enumerate(PARTS):
        step(bay, noon + number * 10 * NS + thousandths * NS // 1000, (number % 3) * NS)
    papers = {one["seq"]: one["at"] for one in json.loads(bay.fine("sheet", job, "--json"))["entries"]}
    mine = shown(bay, job)
    assert mine == {seq: at[-len(mine[seq]) :] for seq, at in papers.items()} and len(mine) == len(PARTS) + 1


@pytest.mark.parametrize("far_ns", [16161865572743293329, 10**20 - 1])
def test_a_clock_that_is_centuries_ahead_keeps_no_list_and_no_paper_back(bay: Bay, far_ns: int) -> None:
    bay.open_job()
    job = bay.entries()[1].job or ""
    step(bay, far_ns)
    assert job in bay.fine("job", "list") and "make safe" in bay.fine("job", "show", job)
    for what in ("sheet", "statement", "tag"):
        bay.fine(what, job, "-o", bay.folder / f"{what}.html")
    assert "the clocks put" in (bay.folder / "statement.html").read_text(encoding="utf-8")
    bay.fine("compare", job, job, "-o", bay.folder / "compare.html")
    bay.run("audit", job)
