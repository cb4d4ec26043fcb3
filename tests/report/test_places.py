"""No label of a drawing runs into another one, into a bar that is not its own, or out of the drawing."""

from __future__ import annotations

from itertools import combinations
from typing import Any, NamedTuple
from xml.etree import ElementTree

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.report.test_attempts import thrice
from tests.report.test_facts import of

from witnessmark.report.drawing.closeup_svg import closeup
from witnessmark.report.drawing.timeline_svg import overview
from witnessmark.report.places import Spot, Taken

SVG = "{http://www.w3.org/2000/svg}"
WIDE, SMALL_WIDE, HIGH = 5.6, 4.9, 8.0
"""About how wide a letter is and how high a line, for type of 11.5 and 10 units; measured on paper, no source."""


class Box(NamedTuple):
    left: float
    right: float
    top: float
    bottom: float
    words: str

    def meets(self, other: Box) -> bool:
        return (
            self.left < other.right - 0.3
            and other.left < self.right - 0.3
            and self.top < other.bottom - 0.3
            and other.top < self.bottom - 0.3
        )


def labels(root: ElementTree.Element) -> list[Box]:
    return [box(one) for one in root.iter(f"{SVG}text")]


def box(one: ElementTree.Element) -> Box:
    words, x, y = one.text or "", float(one.attrib["x"]), float(one.attrib["y"])
    letter = SMALL_WIDE if "small" in one.attrib["class"].split() else WIDE
    wide = float(one.get("textLength") or letter * len(words))
    left = x - {"end": wide, "middle": wide / 2}.get(one.get("text-anchor", ""), 0.0)
    return Box(left, left + wide, y - HIGH, y, words)


def bars(root: ElementTree.Element) -> list[Box]:
    found = []
    for one in root.iter(f"{SVG}rect"):
        left, top = float(one.attrib["x"]), float(one.attrib["y"])
        if "band" not in one.attrib["class"]:
            found.append(Box(left, left + float(one.attrib["width"]), top, top + float(one.attrib["height"]), ""))
    return found


def crowded() -> Job:
    """Two short openings hard after each other, readings a second apart."""
    job = Job(u=1.5)
    for amount, at in (("2.00 bar", 90), ("1.95 bar", 91), ("1.90 bar", 92)):
        job.read("feed-pressure", amount, at, pass_id="p1")
    job.open("rr", "p1", 100).close("rr", 104, "p1").open("rr", "p1", 108).run("p1", 109, 112)
    return job.read("feed-pressure", "2 bar", 113, pass_id="p1").close("rr", 114, "p1")


LONG = edit(('name = "rear right"', 'name = "rear right, at the upper of the two bleed points"'))
JOBS = {
    "clean": clean(),
    "three attempts": thrice(),
    "crowded": crowded(),
    "long name": Job(LONG).open("rr", "p1", 100).close("rr", 130, "p1"),
}


def drawings(facts: dict[str, Any]) -> list[ElementTree.Element]:
    made = [overview(facts), *(closeup(facts, index) for index in range(len(facts["passes"])))]
    return [ElementTree.fromstring(str(one)) for one in made if one is not None]


@pytest.mark.parametrize("name", JOBS)
def test_no_label_runs_into_another_or_out_of_the_drawing(name: str) -> None:
    for root in drawings(of(JOBS[name])):
        right = float(root.attrib["viewBox"].split()[2])
        found = labels(root)
        assert found
        assert [one for one in found if one.left < -1 or one.right > right + 1] == []
        assert [(a.words, b.words) for a, b in combinations(found, 2) if a.meets(b)] == []


@pytest.mark.parametrize("name", JOBS)
def test_a_label_stands_in_one_bar_or_in_none(name: str) -> None:
    for root in drawings(of(JOBS[name])):
        for one in labels(root):
            met = [bar for bar in bars(root) if one.meets(bar)]
            assert all(bar.left <= one.left + 0.5 and one.right - 0.5 <= bar.right for bar in met), one


def test_words_take_the_first_place_that_is_free_and_none_when_there_is_none() -> None:
    taken = Taken(0, 100)
    taken.take(10, 0, 40)
    here, there = Spot(30, "start", 10), Spot(60, "start", 10)
    assert taken.first("abc", [here, there]) == there
    assert taken.first("abc", [here, there]) is None
    assert taken.first("abc", [here, Spot(30, "start", 20)]) == Spot(30, "start", 20)
    assert taken.first("abc", [Spot(99, "start", 30), Spot(1, "end", 30)]) is None
