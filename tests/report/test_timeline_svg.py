"""The drawing puts each moment in its place and shows what is uncertain."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

import pytest
from tests.audit.jobs import NS, WALL, Job, clean
from tests.report.test_facts import of

from witnessmark.journal import bodies
from witnessmark.report.drawing.axis import BREAK_WIDTH, axis
from witnessmark.report.drawing.closeup_svg import closeup
from witnessmark.report.drawing.timeline_svg import clock, overview
from witnessmark.report.times import Times

SVG = "{http://www.w3.org/2000/svg}"


def drawn(job: Job) -> ElementTree.Element:
    return ElementTree.fromstring(str(overview(of(job))))


def with_class(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [one for one in root.iter() if name in (one.get("class") or "").split()]


def extent(one: ElementTree.Element) -> tuple[float, float]:
    left = float(one.attrib["x"])
    return left, left + float(one.attrib["width"])


def scale(job: Job) -> Any:
    from witnessmark.report.drawing.timeline_svg import LEFT, RIGHT, moments

    return axis(moments(of(job)["timeline"]), LEFT, RIGHT)


def test_a_run_is_drawn_from_its_start_to_its_end() -> None:
    job = Job().open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1")
    (run,) = with_class(drawn(job), "run-sent")
    place = scale(job)
    assert extent(run) == pytest.approx((place(105_000), place(125_000)), abs=0.2)


@pytest.mark.parametrize("grade", ["sent", "heard", "told"])
def test_a_run_is_drawn_in_the_manner_of_its_grade(grade: bodies.Grade) -> None:
    told = of(Job(grade=grade).open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1"))
    for drawing in (overview(told), closeup(told, 0)):
        root = ElementTree.fromstring(str(drawing))
        assert {kind for kind in ("sent", "heard", "told") if with_class(root, f"run-{kind}")} == {grade}
    words = " ".join(one.text or "" for one in ElementTree.fromstring(str(closeup(told, 0))).iter(f"{SVG}text"))
    assert (grade in words) == (grade != "sent")


def test_what_is_sure_of_an_opening_is_solid_and_the_rest_is_hatched() -> None:
    job = Job(u=4).open("rr", "p1", 100).close("rr", 130, "p1")
    root, place = drawn(job), scale(job)
    (solid,) = with_class(root, "nipple")
    (hatched,) = with_class(root, "unsure")
    assert extent(solid) == pytest.approx((place(105_000), place(127_000)), abs=0.2)
    assert extent(hatched) == pytest.approx((place(97_000), place(135_000)), abs=0.2)
    assert hatched.attrib["fill"].startswith("url(#")


def test_an_opening_without_end_has_an_arrow_to_the_edge_and_nothing_solid() -> None:
    root = drawn(Job().open("rr", "p1", 100).read("level", "1 mm", 200))
    assert len(with_class(root, "arrow")) == 1
    assert extent(with_class(root, "unsure")[0])[1] == pytest.approx(748, abs=0.2)
    assert with_class(root, "nipple") == []


def test_a_refused_run_is_a_cross_and_an_unanswered_one_a_question_mark() -> None:
    assert len(with_class(drawn(Job().run("p1", 10, None, answer="negative", code="22")), "cross")) == 1
    asked = drawn(Job().run("p1", 10, None, answer="silence"))
    assert "?" in [one.text for one in asked.iter(f"{SVG}text")]


def test_each_reading_is_a_point_with_a_whisker() -> None:
    root = drawn(clean())
    assert len(with_class(root, "point")) == 5
    assert len(with_class(root, "whisker")) >= 5


def test_a_long_pause_is_a_break_with_its_length() -> None:
    root = drawn(Job().open("rr", "p1", 100).close("rr", 160, "p1").step("look", 160 + 3600))
    assert len(with_class(root, "break")) == 1
    assert "60 min" in [one.text for one in root.iter(f"{SVG}text")]


def test_the_length_of_a_break_is_printed_over_no_minute() -> None:
    job = Job(u=0)
    for at in (0, 300, 600, 900, 1205, 1985, 2100, 2300):
        job.step("look", at)
    said = {one.text: float(one.attrib["x"]) for one in drawn(job).iter(f"{SVG}text") if one.text}
    minutes = [x for text, x in said.items() if text.endswith(" min") and text != "13 min"]
    assert len(minutes) > 1 and all(abs(x - said["13 min"]) >= 40 for x in minutes)


def test_places_grow_with_time_also_over_a_break() -> None:
    place = axis([0, 60_000, 7_200_000, 7_260_000], 0, 500)
    xs = [place(ms) for ms in range(0, 7_260_000, 20_000)]
    assert xs == sorted(xs)
    assert (place(-10_000_000), place(10_000_000)) == (0, 500)
    assert place.sections[1].left - place.sections[0].right == BREAK_WIDTH


def test_however_many_breaks_there_are_all_of_it_lies_on_the_paper() -> None:
    days = [day * 86_400_000 for day in range(40)]
    place = axis(days, 0, 500)
    xs = [place(ms) for day in days for ms in (day, day + 43_200_000)]
    assert xs == sorted(xs) and place.sections[-1].right == pytest.approx(500)


def test_there_are_never_too_many_ticks() -> None:
    for minutes in (1, 7, 30, 90, 600):
        place = axis(range(0, minutes * 60_000, 60_000), 0, 500)
        assert 1 <= len(place.ticks()) <= 13


def test_a_close_up_is_made_for_each_visit_that_has_entries() -> None:
    told = of(Job().open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1"))
    drawing = closeup(told, 0)
    assert drawing is not None
    root = ElementTree.fromstring(str(drawing))
    words = [one.text for one in root.iter(f"{SVG}text")]
    assert "20.0 s" in words and "28.0 to 32.0 s" in words
    assert closeup(told, 1) is None


def test_text_in_a_drawing_is_escaped() -> None:
    job = Job().step("<b>&", 10, said="x")
    assert "<b>" not in str(overview(of(job)))


def test_the_clock_goes_over_midnight() -> None:
    assert clock("23:59:50", 15_000) == "00:00:05"
    assert clock("past the year 9999", 15_000) == ""


def test_a_job_begun_in_the_last_half_second_of_a_day_begins_with_the_next() -> None:
    midnight = (WALL // (86_400 * NS) + 1) * 86_400 * NS
    times = Times(midnight - NS // 2)
    assert (times.clock(midnight - NS // 2), times.date(midnight - NS // 2)) == ("00:00:00", times.date(midnight))
    assert times.clock(midnight - NS) == f"{times.date(WALL)} 23:59:59"


def test_an_end_of_the_program_goes_through_all_lanes_over_all_of_the_time_in_which_it_was() -> None:
    job = clean()
    before = len(with_class(drawn(job), "break"))
    end = of(job)["timeline"]["end_ms"] / 1000
    job.add("left", bodies.Left(how="unseen", after=3), end + 20, u=10, entered=end + 30)
    root, place = drawn(job), scale(job)
    (at,) = (one["at"] for one in of(job)["timeline"]["ended"])
    assert at["high_ms"] - at["low_ms"] == 20_000
    lines = [one.attrib["d"] for one in with_class(root, "break")][before:]
    assert [line.partition(",")[0] for line in lines] == [f"M{place(at[side]):.1f}" for side in ("low_ms", "high_ms")]
    assert any("no entry says how the program ended" in (one.text or "") for one in root.iter(f"{SVG}title"))
