"""What the sheet shows of a visit: the pressure is the one read last before the opening that the run had."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job

from witnessmark.audit.grounds.visits import visits


def pressure(job: Job) -> str:
    (visit,) = visits(job.case())
    return str(visit.pressure.amount) if visit.pressure else ""


@pytest.mark.parametrize("ran", [True, False], ids=["ran", "never ran"])
def test_a_visit_that_was_opened_once_shows_what_was_read_before_that(ran: bool) -> None:
    job = Job(scope="nipples rr").read("feed-pressure", "2.0 bar", 5, pass_id="p1").open("rr", "p1", 10)
    job = job.run("p1", 14, 34) if ran else job
    assert pressure(job.close("rr", 40, "p1").read("feed-pressure", "1.9 bar", 50)) == "2.0 bar"


def test_one_that_was_closed_to_read_the_pressure_again_shows_what_was_read_then() -> None:
    job = Job(scope="nipples rr").read("feed-pressure", "2.0 bar", 5, pass_id="p1").open("rr", "p1", 10)
    job.close("rr", 100, "p1").read("feed-pressure", "2.1 bar", 105, pass_id="p1").open("rr", "p1", 115)
    assert pressure(job.run("p1", 120, 140).close("rr", 146, "p1")) == "2.1 bar"


def test_one_that_was_read_for_another_pass_shows_where_the_audit_goes_by_it() -> None:
    job = Job(scope="nipples rr").read("feed-pressure", "2.0 bar", 5, pass_id="p2").open("rr", "p1", 10)
    assert pressure(job.close("rr", 40, "p1")) == "2.0 bar"
