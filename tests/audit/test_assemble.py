"""Entries are joined into runs, openings, readings and pressurised spans; what nobody saw end has an open end."""

from __future__ import annotations

import msgspec
import pytest
from tests.audit.jobs import NS, WALL, Job

from witnessmark.audit.case import open_case
from witnessmark.errors import InputError
from witnessmark.range import FOREVER, Range, Span


def at(low: float, high: float | None = None) -> Range:
    return Range(WALL + round(low * NS), WALL + round((low if high is None else high) * NS))


def test_a_run_lasts_from_the_answer_to_the_start_to_the_answer_to_the_stop() -> None:
    (run,) = Job().run("p1", 10, 30).case().timeline.actuations
    assert run.ran == Span(at(10), at(30))
    assert (run.grade, run.began, run.cites) == ("sent", "yes", (1, 5))
    assert run.keepalive is not None and run.keepalive.count == 10


def test_a_refused_run_never_began() -> None:
    (run,) = Job().run("p1", 10, None, answer="negative", code="22").case().timeline.actuations
    assert (run.began, run.ran) == ("no", None)


def test_a_run_that_nobody_answered_may_have_begun() -> None:
    (run,) = Job().run("p1", 10, None, answer="silence").case().timeline.actuations
    assert (run.began, run.ran) == ("maybe", None)


def test_an_intent_without_outcome_has_an_open_end() -> None:
    (run,) = Job().run("p1", 10, None, outcome=False).case().timeline.actuations
    assert run.outcome is None
    assert run.ran is not None and run.ran.start == at(10) and run.ran.end == Range(WALL + 10 * NS, FOREVER)


def test_an_unknown_outcome_has_an_open_end_after_the_last_sign_of_life() -> None:
    job = Job().run("p1", 10, 18, result="unknown", stop="unknown", stop_answer="silence")
    (run,) = job.case().timeline.actuations
    assert run.ran is not None and run.ran.end == Range(WALL + 18 * NS, FOREVER)


def test_a_told_run_has_ranges_at_both_ends() -> None:
    (run,) = Job(grade="told").run("p1", 10, 30).case().timeline.actuations
    assert (run.grade, run.ran) == ("told", Span(at(9, 11), at(29, 31)))


def test_a_told_run_nobody_ended_has_an_open_end() -> None:
    (run,) = Job(grade="told").run("p1", 10, None).case().timeline.actuations
    assert run.ran is not None and run.ran.end.high == FOREVER


def test_an_opening_is_joined_with_its_closing() -> None:
    (one,) = Job().open("rr", "p1", 10).close("rr", 40).case().timeline.openings
    assert (one.open, one.cites) == (Span(at(9, 11), at(39, 41)), (1, 2))


def test_a_nipple_opened_twice_gives_two_openings() -> None:
    job = Job().open("rr", "p1", 10).close("rr", 20).open("rr", "p1", 30).close("rr", 40)
    assert [one.open.start for one in job.case().timeline.openings] == [at(9, 11), at(29, 31)]


def test_a_nipple_never_closed_has_an_open_end_and_nothing_sure() -> None:
    (one,) = Job().open("rr", "p1", 10).case().timeline.openings
    assert (one.closed, one.open.end.high, one.open.sure) == (None, FOREVER, None)


def test_a_closing_without_opening_says_that_it_was_open_before() -> None:
    (one,) = Job().close("rr", 40).case().timeline.openings
    assert (one.opened, one.open.start.low, one.open.end) == (None, -FOREVER, at(39, 41))


def test_the_feed_is_under_pressure_until_it_is_let_off_or_taken_off() -> None:
    job = Job().pressurise(10).pressurise(20).depressurise(100).pressurise(200).step("off", 300, "feed-off")
    spans = [span for span, _ in job.case().timeline.pressurised]
    assert spans == [Span(at(9, 11), at(99, 101)), Span(at(199, 201), at(299, 301))]


def test_a_step_left_out_changes_nothing() -> None:
    assert Job().step("pressurise", 10, "pressurise", act="skipped").case().timeline.pressurised == ()


def test_a_reading_keeps_its_text_and_unit() -> None:
    (gauge,) = Job().read("feed-pressure", "30.0 psi", 10).case().timeline.gauges
    assert str(gauge.amount) == "30.0 psi"


def test_the_run_that_counts_is_the_last_completed() -> None:
    job = Job().run("p1", 10, 15, result="stopped").run("p1", 20, 40).run("p1", 60, 61, result="stopped")
    run = job.case().timeline.run_that_counts("p1")
    assert run is not None and run.ran is not None and run.ran.start == at(20)


def test_without_a_completed_run_the_last_that_began_counts() -> None:
    job = Job().run("p1", 10, 15, result="stopped").run("p1", 20, None, answer="negative", code="22")
    run = job.case().timeline.run_that_counts("p1")
    assert run is not None and run.seq == 1


def test_a_kind_not_known_here_is_left_alone() -> None:
    job = Job()
    job.add("later-kind", {"anything": "x"}, 5)
    assert job.case().timeline.acts == ()


def test_a_body_that_cannot_be_read_names_its_entry() -> None:
    job = Job()
    job.add("step", {"step": 7, "act": "done"}, 5)
    with pytest.raises(InputError, match="entry 1"):
        job.case()


def test_a_value_was_read_before_it_was_entered() -> None:
    (gauge,) = Job(u=2).read("feed-pressure", "2.0 bar", 10).case().timeline.gauges
    assert gauge.at == at(8, 10)


def test_a_reading_that_did_something_is_an_act_as_well() -> None:
    job = Job()
    body = {"what": "volume-in", "amount": {"value": "700", "unit": "mL"}, "step": "filled", "affects": "refill"}
    job.add("reading", body, 10)
    (act,) = job.case().timeline.acts_affecting("refill")
    assert (act.step, act.said) == ("filled", "700 mL")


def test_a_run_that_was_heard_late_is_as_long_as_it_may_have_been() -> None:
    job = Job(grade="heard").run("p1", 100, 120)
    entries = list(job.entries())
    at = next(index for index, one in enumerate(entries) if one.kind == "outcome")
    late = {"from_late_ns": "300000000", "to_late_ns": "100000000"}
    entries[at] = msgspec.structs.replace(entries[at], body=entries[at].body | late)
    (run,) = open_case(entries).timeline.actuations
    assert run.ran is not None
    length = run.ran.length()
    assert (length.low, length.high) == (19_900_000_000, 20_300_000_000)
