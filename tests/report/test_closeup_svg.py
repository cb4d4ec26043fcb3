"""A close-up draws the attempt that page one gives times of, and says what of the visit it does not draw."""

from __future__ import annotations

from xml.etree import ElementTree

from tests.audit.jobs import Job
from tests.report.test_facts import of
from tests.report.test_taken_back import TYPED, amend
from tests.report.test_timeline_svg import SVG, with_class

from witnessmark.report.drawing.closeup_svg import below, closeup
from witnessmark.report.sheet import sheet


def close(job: Job) -> tuple[ElementTree.Element, list[str], str]:
    """Return the drawing of the first visit, the words in it, and what is said below it."""
    told = of(job)
    root = ElementTree.fromstring(str(closeup(told, 0)))
    return root, [one.text or "" for one in root.iter(f"{SVG}text")], below(told, 0)


def again(at: float) -> Job:
    """Return a job whose first visit was stopped after 6 s, and done again for 12 s, opened anew at `at`."""
    job = Job(u=0).open("rr", "p1", 6).run("p1", 10, 16, result="stopped").close("rr", 30, "p1")
    job.step("run-again", 31, pass_id="p1").open("rr", "p1", at).run("p1", at + 10, at + 22)
    return job.close("rr", at + 30, "p1")


def test_of_a_visit_done_again_the_counted_run_is_drawn_with_its_clock_and_the_other_is_named() -> None:
    root, words, said = close(again(2400))
    assert "12.0 s" in words and "6.0 s" not in words
    assert "0 s" in words and of(again(2400))["passes"][0]["opened"] == "15:46:40" and "15:46:50" in words
    assert (len(with_class(root, "run-sent")), with_class(root, "not-counted")) == (1, [])
    assert said == "Not drawn, not counted: a run of 6.0 s at 15:06:50 and an opening."
    assert said in sheet(of(again(2400)))


def test_where_there_is_room_the_other_attempt_is_drawn_as_one_that_does_not_count() -> None:
    job = Job(u=0).open("rr", "p1", 6).run("p1", 10, 16, result="stopped").run("p1", 60, 80).close("rr", 90, "p1")
    root, words, said = close(job)
    assert len(with_class(root, "not-counted")) == len(with_class(root, "run-sent")) == 1
    assert "6.0 s, not counted" in words and said == ""
    assert "of an attempt that does not count" in sheet(of(job))
    assert "of an attempt that does not count" not in sheet(of(again(2400)))


def test_the_run_is_drawn_also_where_its_nipple_was_open_for_longer_than_a_close_up_shows() -> None:
    job = Job(u=0).open("rr", "p1", 6).run("p1", 1500, 1520).close("rr", 1530, "p1")
    root, words, said = close(job)
    assert "20.0 s" in words and "0 s" in words and said == "What counts lasted longer than is drawn."
    assert len(with_class(root, "run-sent")) == 1


def test_of_a_visit_that_was_taken_back_whole_what_was_written_is_drawn_as_it_was() -> None:
    job = Job(u=0).open("rr", "p1", 6, **TYPED).close("rr", 30, "p1", **TYPED)
    for seq in (1, 2):
        amend(job, seq, withdrawn=True)
    root, words, _ = close(job)
    assert of(job)["timeline"]["openings"][0]["counts"] is False
    assert (len(with_class(root, "nipple")), with_class(root, "not-counted")) == (1, []) and "24.0 s" in words
