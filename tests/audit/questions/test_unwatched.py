"""Questions 9, 11 and 15 where much lies between two entries: a pause, an hour, other visits, a reservoir run empty."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, edit
from tests.audit.procedures import whole
from tests.audit.shipped import ask

from witnessmark.audit.grounds.unwatched import LONG_S
from witnessmark.journal import bodies
from witnessmark.procedure.words import OPEN_LAY_S


def state(job: Job, to: str, at: float) -> Job:
    job.add("state", bodies.State(state=to), at)  # type: ignore[arg-type]
    return job


def visit(*, opens: float = 20, closes: float = 60, after: float = 90, before: float = 10) -> Job:
    """Return the job of one nipple, with a reading of the feed before it opened and one after it closed."""
    job = Job(scope="nipples rr").pressurise(0).read("feed-pressure", "2.0 bar", before, pass_id="p1")
    return job.open("rr", "p1", opens).close("rr", closes, "p1").read("feed-pressure", "2.0 bar", after, pass_id="p1")


def paused(*, lay: float, left: bool = False, paused_first: bool = True, beside: str = "") -> Job:
    """Return a visit with the nipple open as the job was paused, shut 10 s after it went on.

    `beside` is what says, right before that, how the program had ended, or was added to the record then.
    """
    job = Job(scope="nipples rr").pressurise(0).read("feed-pressure", "2.0 bar", 10, pass_id="p1").open("rr", "p1", 20)
    if paused_first:
        state(job, "paused", 30)
    if left:
        job.step("left-open", 32, act="confirmed", nipple="rr", pass_id="p1")
    if beside == "unseen":
        left_so = bodies.Left(how="unseen", open_nipples=("rr",), pressurised=True, after=job.last())
        job.add("left", left_so, 25 + lay / 2, u=5 + lay / 2, entered=30 + lay)
    elif beside == "keyed in":
        job.read("voltage", "12.4 V", 5, basis="typed", entered=29 + lay)
    elif beside:
        job.add(beside, {"note": ""}, 29 + lay)
    state(job, "open", 30 + lay)
    return job.close("rr", 40 + lay, "p1").read("feed-pressure", "2.0 bar", 60 + lay, pass_id="p1")


def shut_at_the_pause() -> Job:
    """Return a visit whose nipple was shut on the paused screen, 8 s after the pause; the job lay for 48 minutes."""
    job = Job(scope="nipples rr").pressurise(0).read("feed-pressure", "2.0 bar", 10, pass_id="p1").open("rr", "p1", 20)
    state(job, "paused", 30).close("rr", 38, "p1")
    return state(job, "open", 2910).read("feed-pressure", "2.0 bar", 2930, pass_id="p1")


def others_between() -> Job:
    """Return two visits between two readings of the feed, one before the first and one after the second."""
    job = Job(scope="nipples rr,rl").pressurise(0).read("feed-pressure", "2.0 bar", 10)
    job.open("rr", "p1", 20).close("rr", 40, "p1").open("rl", "p2", 50).close("rl", 60, "p2")
    return job.read("feed-pressure", "2.0 bar", 80)


@pytest.mark.parametrize(
    ("job", "closed", "pressure", "said"),
    [
        (visit(), "met", "met", ""),
        (paused(lay=2880), "no proof", "no proof", "while the job lay for 48 min"),
        (paused(lay=OPEN_LAY_S + 10), "no proof", "no proof", "while the job lay"),
        (paused(lay=OPEN_LAY_S + 30, paused_first=False), "no proof", "no proof", "while the job lay"),
        (paused(lay=240, paused_first=False, beside="unseen"), "no proof", "no proof", "lay for 4 min"),
        (paused(lay=240, paused_first=False, beside="sheet"), "no proof", "no proof", "lay for 4 min"),
        (paused(lay=240, paused_first=False, beside="keyed in"), "no proof", "no proof", "lay for 4 min"),
        (paused(lay=240, paused_first=False, beside="handed-over"), "no proof", "no proof", "lay for 4 min"),
        (paused(lay=30), "met", "met", "p1, rear right: closed, 48.0 to 52.0 s after it was opened; it was open when"),
        (paused(lay=2880, left=True), "not met", "no proof", "left open while the job was paused"),
        (paused(lay=OPEN_LAY_S - 8, left=True), "no proof", "met", "may have been left open"),
        (paused(lay=30, left=True), "met", "met", "it was open when the job was paused, as was said"),
        (shut_at_the_pause(), "met", "no proof", ""),
        (visit(closes=20 + LONG_S - 10, after=LONG_S + 40), "met", "met", ""),
        (visit(closes=20 + LONG_S + 10, after=LONG_S + 40), "no proof", "no proof", "nobody can say"),
        (visit(after=60 + LONG_S + 10), "met", "no proof", ""),
        (others_between(), "met", "no proof", ""),
    ],
    ids=["near", "paused", "paused for some minutes", "left without a pause", "killed",
         "a sheet printed meanwhile", "keyed in meanwhile", "handed over meanwhile", "paused shortly",
         "said to stay open", "said to stay open and shut about then", "said to stay open and shut at once",
         "shut as it was paused", "open for long", "open for too long", "read long after", "others in between"],
)  # fmt: skip
def test_two_entries_far_apart_prove_nothing_of_what_lies_between(
    job: Job, closed: str, pressure: str, said: str
) -> None:
    assert (ask(9, job).answer, ask(11, job).answer) == (closed, pressure), (ask(9, job), ask(11, job))
    assert said in ask(9, job).text


def ran_empty(*again: str, filled: float = 5) -> Job:
    """Return two visits, then a reservoir that ran empty and was filled, and the visits `again` made once more."""
    job = whole().read("volume-in", "500 mL", filled, affects="refill").pressurise(6)
    now = 10.0
    for pass_id, nipple in (("p1", "rr"), ("p2", "rl")):
        job.read("feed-pressure", "2.0 bar", now, pass_id=pass_id).open(nipple, pass_id, now + 10)
        job.close(nipple, now + 20, pass_id).read("volume", "100 mL", now + 30, pass_id=pass_id)
        now += 60
    job.step("air-drawn", now, "empty").step("said-refill", now + 10, "refill")
    for pass_id, nipple in (("p1", "rr"), ("p2", "rl")):
        if pass_id in again:
            job.open(nipple, pass_id, now + 30).run(pass_id, now + 32, now + 38).close(nipple, now + 40, pass_id)
            job.read("volume", "100 mL", now + 50, pass_id=pass_id)
            now += 60
    return job


@pytest.mark.parametrize(
    ("again", "said"),
    [
        (("p1",), "no entry shows that p2 was done again after it"),
        (("p1", "p2"), "each pass begun before was done again after it"),
    ],
)
def test_a_reservoir_that_ran_empty_was_not_kept_from_it_and_what_was_done_again_is_named(
    again: tuple[str, ...], said: str
) -> None:
    found = ask(15, ran_empty(*again))
    assert found.answer == "not met" and "ran empty, entry " in found.text and said in found.text, found.text


@pytest.mark.parametrize(
    ("result", "said"),
    [
        ("never", "no entry shows that p1 was done again after it"),
        ("stopped", "each pass begun before was done again after it"),
    ],
    ids=["did not start after all", "cut short"],
)
def test_a_pass_is_not_done_again_after_it_ran_empty_where_its_wire_command_did_not_run(result: str, said: str) -> None:
    job = Job(grade="told").open("rr", "p1", 20).run("p1", 24, 40, result="stopped").step("air-drawn", 45, "empty")
    job.close("rr", 50, "p1").open("rr", "p1", 70).run("p1", 74, 78, result=result).close("rr", 90, "p1")
    found = ask(15, job)
    assert found.answer == "not met" and said in found.text, found.text


def both_at_once(*again: str) -> Job:
    """Return one visit of two nipples, a reservoir that ran empty and was filled, and the nipples `again` once more."""
    pair = edit(
        ('nipples = ["fl"]', 'nipples = ["fl", "fr"]'), ("pressure_limit =", 'reservoir = "500 mL"\npressure_limit =')
    )
    job = Job(pair, scope="nipples fl").read("volume-in", "500 mL", 5, affects="refill")
    job.open("fl", "p4", 100).open("fr", "p4", 105).close("fl", 130, "p4").close("fr", 135, "p4")
    job.step("air-drawn", 140, "empty").step("said-refill", 145, "refill")
    for at, nipple in enumerate(again):
        job.open(nipple, "p4", 200 + 20 * at).close(nipple, 210 + 20 * at, "p4")
    return job.read("volume", "100 mL", 260, pass_id="p4")


def test_of_a_visit_with_two_nipples_each_is_done_again_after_it_ran_empty() -> None:
    found = ask(15, both_at_once("fl"))
    assert found.answer == "not met" and "no entry shows that front right of p4 was done again" in found.text, (
        found.text
    )
    assert "each pass begun before was done again" in ask(15, both_at_once("fl", "fr")).text


def test_what_was_open_before_it_ran_empty_is_not_shown_to_have_been_closed_in_time() -> None:
    answers = {one.subject: one.answer for one in ask(9, ran_empty()).details}
    assert answers["p1, rear right"] == answers["p2, rear left"] == "no proof"


def test_drawing_the_old_fluid_out_before_anything_is_opened_is_no_running_empty() -> None:
    job = whole().step("said-empty", 2, "empty").read("volume-in", "500 mL", 5, affects="refill")
    job.open("fl", "p4", 100).close("fl", 130, "p4").read("volume", "100 mL", 140, pass_id="p4")
    assert ask(15, job).answer == "met"


@pytest.mark.parametrize(("width", "said"), [(2, "was open as well"), (25, "may have been open as well")])
def test_one_whose_closing_is_only_known_within_wide_ends_may_have_been_open_as_well(width: float, said: str) -> None:
    job = Job(scope="nipples rr,rl").pressurise(0).open("rl", "p2", 5).read("feed-pressure", "2.0 bar", 10)
    job.close("rl", 30, "p2", u=width, basis="typed", entered=900)
    for act, at in ((job.open, 50), (job.close, 65)):
        act("rr", pass_id="p1", at=at, entered=900, basis="typed", u=1)
    job.read("feed-pressure", "2.0 bar", 80, entered=900, basis="typed")
    (found,) = (one for one in ask(11, job).details if one.subject.startswith("p1"))
    assert found.answer == "no proof" and f"rear left {said} between" in found.text
