"""Question 15 where the record says how much was in the reservoir: level, taken out, filled in, filled up again."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, edit
from tests.audit.shipped import ask

from witnessmark.procedure.mending import REPLACED, TIGHTENED

BEFORE = """
[[steps_before]]
id = "level-before"
text = "Read the level as it came"
act = "read"
what = "level"
unit = "mL"

[[steps_before]]
id = "removed"
text = "Draw the old fluid out"
act = "volume"
what = "volume-removed"
unit = "mL"
affects = "empty"

[pump]"""
HOLDS = 'reservoir = "800 mL"\n'
SURE = edit(("pressure_limit =", f'{HOLDS}balance_tolerance = "40 mL"\npressure_limit ='), ("[pump]", BEFORE))
UNSURE = edit(("pressure_limit =", f"{HOLDS}pressure_limit ="), ("[pump]", BEFORE))
UNASKED = edit(("pressure_limit =", f'{HOLDS}balance_tolerance = "40 mL"\npressure_limit ='))


def visit(job: Job, nipple: str, pass_id: str, at: float, ran: str) -> Job:
    job.open(nipple, pass_id, at).close(nipple, at + 30, pass_id)
    return job.read("volume", ran, at + 40, pass_id=pass_id) if ran else job


def stocked(
    ran: str, again: str = "", *, level: str = "620 mL", removed: str = "560 mL", filled: str = "700 mL",
    procedure: object = SURE, looked: str = "", drawn: str = "",
) -> Job:  # fmt: skip
    """Return two visits, the second of 100 mL; 760 mL were in the reservoir before the first unless said otherwise."""
    job = Job(procedure, scope="nipples fl,rr")  # type: ignore[arg-type]
    if level:
        job.read("level", level, 2, step="level-before")
    if removed:
        job.read("volume-removed", removed, 3, step="removed", affects="empty")
    job.read("volume-in", filled, 5, affects="refill")
    if drawn:
        job.read("volume-drawn", drawn, 10)
    visit(job, "fl", "p4", 100, ran)
    if looked:
        job.read("level", looked, 150, step="level-look")
    if again:
        job.read("volume-in", again, 160, step="level-look", affects="refill")
    return visit(job, "rr", "p1", 200, "100 mL")


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (
            stocked("611 mL"),
            "met",
            "711 mL ran out after the filling of entry 3, of 760 mL in it as read",
        ),
        (stocked("611 mL", "611 mL"), "met", "611 mL ran out"),
        (
            stocked("769 mL", "300 mL"),
            "no proof",
            "of 760 mL in it as read, 40 mL either way; it may have",
        ),
        (stocked("769 mL", "760 mL"), "no proof", "to fill it up to the mark again took 760 mL (entry 7)"),
        (stocked("810 mL", "300 mL"), "not met", "810 mL ran out"),
        (stocked("611 mL", "760 mL"), "no proof", "it may have run dry: to fill it up to the mark again took 760 mL"),
        (stocked("611 mL", "810 mL"), "no proof", "took 810 mL"),
        (stocked("769 mL", "810 mL"), "not met", "took 810 mL"),
        (stocked("", "810 mL"), "not met", "took 810 mL"),
        (stocked("", "300 mL"), "met", "100 mL ran out after the filling of entry 6"),
        (stocked("", "719 mL"), "met", "no entry of how much ran out at p4; it did not run dry, for to fill"),
        (stocked("", "720 mL"), "no proof", "no entry of how much ran out at p4"),
        (stocked("", looked="150 mL"), "met", "dry, for 150 mL stood in it then (entry 6)"),
        (stocked("", looked="40 mL"), "not met", "level, entry 6: 100 mL ran out"),
        (stocked("", looked="340 mL", filled="200 mL"), "met", "for 340 mL stood in it then"),
        (stocked("", looked="341 mL", filled="200 mL"), "no proof", "no entry of how much ran out at p4"),
        (stocked("", "760 mL"), "no proof", "no entry of how much ran out at p4; to fill it up to the mark again took"),
        (stocked("660 mL", "600 mL", filled="640 mL"), "met", "of 700 mL in it as read"),
        (stocked("661 mL", "600 mL", filled="640 mL"), "no proof", "it may have run dry"),
        (stocked("741 mL", "700 mL", filled="640 mL"), "not met", "741 mL ran out"),
        (
            stocked("700 mL", "640 mL", level="650 mL", removed="", filled="100 mL"),
            "no proof",
            "of 60 to 790 mL in it",
        ),
        (stocked("650 mL", "650 mL", level=""), "met", "of 660 to 800 mL in it as read"),
        (stocked("690 mL", "500 mL", level=""), "no proof", "of 660 to 800 mL in it as read; it may have"),
        (stocked("700 mL", "700 mL", level="950 mL", removed="10 mL"), "met", "the reservoir held at most 800 mL"),
        (stocked("759 mL", "700 mL", procedure=UNSURE), "met", "of 760 mL in it as read"),
        (stocked("769 mL", "700 mL", procedure=UNSURE), "no proof", "of 760 mL in it as read; it may"),
        (stocked("801 mL", "700 mL", procedure=UNSURE), "not met", "801 mL ran out"),
        (stocked("790 mL", "790 mL", level="", removed="", procedure=UNASKED), "met", "held at most 800 mL"),
        (stocked("790 mL", "800 mL", level="", removed="", procedure=UNASKED), "no proof", "took 800 mL"),
        (stocked("", "803 mL", level="", removed="", procedure=UNASKED), "no proof", "again took 803 mL"),
        (stocked("", "841 mL", level="", removed="", procedure=UNASKED), "not met", "took 841 mL"),
        (stocked("803 mL", "300 mL", level="", removed="", procedure=UNASKED), "no proof", "are sure to 40 mL either"),
        (stocked("841 mL", "300 mL", level="", removed="", procedure=UNASKED), "not met", "841 mL ran out"),
        (stocked("", "803 mL", filled="720 mL"), "no proof", "took 803 mL"),
        (stocked("803 mL", "300 mL", filled="720 mL"), "no proof", "of 780 mL in it as read, 40 mL either way; it may"),
        (stocked("821 mL", "300 mL", filled="720 mL"), "not met", "821 mL ran out"),
        (stocked("661 mL", "600 mL", level="", procedure=UNASKED), "no proof", "of 660 to 800 mL in it"),
        (stocked("611 mL", looked="150 mL"), "met", "100 mL ran out after the level of entry 7, of 150 mL in it"),
        (stocked("611 mL", looked="120 mL"), "no proof", "level, entry 7: 100 mL ran out"),
        (stocked("611 mL", looked="40 mL"), "not met", "level, entry 7: 100 mL ran out"),
        (stocked("711 mL", "300 mL", looked="20 mL"), "met", "of 320 mL in it"),
        (stocked("611 mL", "300 mL", drawn="200 mL"), "not met", "drawing off, entry 4: 611 mL ran out"),
        (
            stocked("500 mL", "700 mL", drawn="200 mL"),
            "met",
            "500 mL ran out after the drawing off of entry 4, of 560",
        ),
    ],
)
def test_what_ran_out_is_held_against_what_was_in_it(job: Job, answer: str, text: str) -> None:
    found = ask(15, job)
    shown = found.text + "".join(f" {one.subject}: {one.text}" for one in found.details)
    assert (found.answer, text in shown) == (answer, True), found


@pytest.mark.parametrize("gone", ["level-before", "removed"])
def test_what_may_have_been_too_much_stays_so_without_what_was_read_before(gone: str) -> None:
    job = stocked("769 mL", "760 mL", **{"level": ""} if gone == "level-before" else {"removed": ""})
    assert ask(15, job).answer == "no proof"


def test_what_was_in_it_cites_the_entries_that_say_so() -> None:
    found = ask(15, stocked("611 mL", "300 mL"))
    assert {1, 2, 3} <= set(found.cites), found.cites


def straddled(seen: str) -> Job:
    """Return a visit done again: 515 mL ran of 760 mL, it was filled up with `seen` or read so, then 131 mL more."""
    job = Job(SURE, scope="nipples fl").read("level", "620 mL", 2, step="level-before")
    job.read("volume-removed", "560 mL", 3, step="removed", affects="empty").read(
        "volume-in", "700 mL", 5, affects="refill"
    )
    job.open("fl", "p4", 100).close("fl", 130, "p4").step("run-again", 140, pass_id="p4")
    if seen == "level":
        job.read("level", "245 mL", 150, step="level-look")
    else:
        job.read("volume-in", seen, 150, step="level-look", affects="refill")
    job.open("fl", "p4", 200).close("fl", 230, "p4").read("volume", "646 mL", 240, pass_id="p4")
    return job.read("volume-in", "1 mL", 250, affects="level-set")


@pytest.mark.parametrize(
    ("seen", "ran", "left"),
    [
        ("515 mL", 646 - 515 + 40, (720 - 171 + 1, 800 - 91 + 1)),
        ("level", 646 - (720 - 285), (0 + 1, 285 - (646 - (800 - 205)) + 1)),
    ],
)
def test_of_a_bottle_that_holds_what_ran_before_it_was_seen_the_rest_ran_after_it(
    seen: str, ran: int, left: tuple[int, int]
) -> None:
    """Of 646 mL read after it was filled up with 515 mL, 40 mL either way, 91 to 171 mL ran out after it."""
    _, then, last = ask(15, straddled(seen)).details
    assert f"at most {ran} mL ran out" in then.text
    assert f"of {left[0]} to {left[1]} mL in it as read" in last.text


SHARED = edit(
    ("pressure_limit =", f'{HOLDS}balance_tolerance = "40 mL"\npressure_limit ='),
    ('nipples = ["rl"]', 'nipples = ["rl"]\nbottle_with = "p3"'),
)


def test_a_pass_that_shared_a_bottle_and_is_done_again_with_its_own_ran_into_each_once() -> None:
    """Of 200 mL in the bottle of both nothing ran into the one of 50 mL that was read after it was done again."""
    job = Job(SHARED, scope="nipples rl,fr").read("volume-in", "700 mL", 5, affects="refill")
    visit(visit(job, "rl", "p2", 100, ""), "fr", "p3", 200, "200 mL").read("volume-in", "200 mL", 250, affects="refill")
    job.step("run-again", 290, pass_id="p2").open("rl", "p2", 300).run("p2", 301, 321).close("rl", 330, "p2")
    found = ask(15, job.read("volume", "50 mL", 340, pass_id="p2"))
    texts = [one.text.partition(",")[0] for one in found.details]
    assert texts == ["200 mL ran out after the filling of entry 1", "50 mL ran out after the filling of entry 7"]
    assert found.answer == "met"


def _filled() -> Job:
    job = Job(SURE, scope="nipples fl,rr").read("level", "620 mL", 2, step="level-before")
    job.read("volume-removed", "560 mL", 3, step="removed", affects="empty")
    return job.read("volume-in", "700 mL", 5, affects="refill")


def mended(what: str = REPLACED) -> Job:
    """Return two visits after which 260 of 760 mL are left, and a mend for which a line was opened."""
    job = stocked("400 mL").step("mended", 300, act="confirmed", answer=what)
    return job.step("mended-at", 302, act="confirmed", nipple="rr")


def slipped(*said: str) -> Job:
    """Return a mend, and looks at the reservoir after it with slips that take them back."""
    job = mended()
    for at, what in enumerate(said):
        step, answer = ("level-look", "") if what == "look" else ("put-right", "level-look")
        job.step(step, 310 + at, act="confirmed", answer=answer)
    return job


def bled(job: Job) -> Job:
    return visit(job, "rr", "p1", 400, "100 mL")


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (mended(TIGHTENED), "met", "500 mL ran out"),
        (mended(), "no proof", "no entry says what stood in the reservoir after a line was opened"),
        (bled(mended()), "no proof", "for the mend of entry"),
        (bled(mended().read("level", "250 mL", 310, step="level-look")), "met", "for 250 mL stood in it then"),
        (bled(mended().read("level", "120 mL", 310, step="level-look")), "no proof", "it may have run dry"),
        (bled(mended().read("level", "40 mL", 310, step="level-look")), "not met", "100 mL ran out after the level"),
        (
            bled(mended().read("level", "341 mL", 310, step="level-look")),
            "no proof",
            "that is more than was left, and no",
        ),
        (mended().read("level", "250 mL", 310, step="level"), "met", "for 250 mL stood in it then"),
        (bled(mended().read("volume-in", "510 mL", 310, affects="refill")), "met", "to fill it up to the mark"),
        (
            bled(mended().read("volume-in", "720 mL", 310, affects="refill")),
            "no proof",
            "took 720 mL (entry 12); it may have run dry",
        ),
        (bled(mended().step("said-refill", 310, "refill")), "no proof", "no entry says what stood in"),
        (mended().step("level-look", 310, act="confirmed"), "met", "it was seen to stand well above"),
        (bled(mended().step("level-look", 310, act="confirmed")), "no proof", "after the look of entry"),
        (
            mended()
            .step("level-look", 310, act="confirmed")
            .step("put-right", 312, act="confirmed", answer="level-look"),
            "no proof",
            "no entry says what stood in",
        ),
        (slipped("look", "look", "slip", "slip"), "no proof", "no entry says what stood in"),
        (slipped("look", "look", "slip"), "met", "it was seen to stand well above where it draws air (entry 12)"),
        (slipped("look", "slip", "slip", "look"), "met", "it was seen to stand well above"),
        (mended().step("level-look", 310, act="confirmed", looked=True, said="low"), "no proof", "says what stood in"),
        (
            bled(bled(mended()).read("level", "150 mL", 450, step="level-look").read("volume-in", "600 mL", 460)),
            "met",
            "for 150 mL stood in it then",
        ),
    ],
)
def test_what_a_line_lost_that_was_opened_for_a_mend_nobody_knows_until_it_is_seen(
    job: Job, answer: str, text: str
) -> None:
    found = ask(15, job)
    shown = found.text + "".join(f" {one.subject}: {one.text}" for one in found.details)
    assert (found.answer, text in shown) == (answer, True), found


def test_a_line_opened_before_the_first_filling_is_no_proof() -> None:
    job = Job(UNASKED, scope="nipples fl,rr").step("mended", 1, act="confirmed", answer=REPLACED)
    job.step("mended-at", 2, act="confirmed", nipple="rr").read("volume-in", "700 mL", 5, affects="refill")
    found = ask(15, visit(visit(job, "fl", "p4", 100, "100 mL"), "rr", "p1", 200, "100 mL"))
    assert (found.answer, found.cites) == ("no proof", (2, 3)), found


@pytest.mark.parametrize("seen", ["20 mL", "700 mL", "look"])
def test_what_stood_in_it_before_its_level_was_set_nothing_shows_afterwards(seen: str) -> None:
    job = (mended() if seen == "look" else visit(_filled(), "fl", "p4", 100, "")).step("level-set", 305, "level-set")
    if seen == "look":
        job.step("level-look", 310, act="confirmed")
    elif seen == "20 mL":
        job.read("volume-in", seen, 310, step="level-look", affects="refill")
    else:
        job.read("level", seen, 310, step="level-look")
    found = ask(15, visit(job, "rr", "p1", 400, "100 mL"))
    assert found.answer == "no proof" and "did not run dry" not in found.text, found
    assert all("setting" not in one.subject for one in found.details), found.details


def test_of_what_ran_out_after_its_level_was_set_no_more_is_said_than_that_it_may_have_been_filled() -> None:
    job = visit(_filled(), "fl", "p4", 100, "500 mL").step("level-set", 305, "level-set")
    found = ask(15, visit(job, "rr", "p1", 400, "300 mL"))
    last = found.details[1]
    assert (last.subject, last.answer) == ("setting of the level, entry 7", "no proof"), found.details
    assert "the reservoir held at most 800 mL; it may have run dry" in last.text


@pytest.mark.parametrize(("seen", "answer"), [("", "no proof"), ("760 mL", "met")])
def test_setting_its_level_may_have_drawn_it_off_until_it_is_read(seen: str, answer: str) -> None:
    job = visit(_filled(), "fl", "p4", 20, "0 mL").step("level-set", 100, "level-set")
    if seen:
        job.read("level", seen, 110, step="level-look")
    found = ask(15, visit(job, "rr", "p1", 400, "700 mL"))
    assert found.answer == answer, found


LATE = {"basis": "typed", "entered": 160.0}


def entered_late(at: float, what: str, opened: str = "touch") -> Job:
    """Return a visit of 100 to 130 s whose bottle nobody read, what was told after it of the reservoir, and another."""
    job = _filled()
    job.open("fl", "p4", 100, basis=opened, entered=150.0).close("fl", 130, "p4", basis=opened, entered=151.0)
    if what == "level":
        job.read("level", "400 mL", at, step="level-look", **LATE)
    else:
        job.read("volume-in", "300 mL", at, step="level-look", affects="refill", **LATE)
    return visit(job, "rr", "p1", 200, "500 mL")


@pytest.mark.parametrize(
    ("at", "what", "opened", "answers"),
    [
        (50, "level", "touch", ["no proof", "no proof"]),
        (110, "level", "typed", ["no proof", "no proof"]),
        (50, "volume-in", "touch", ["no proof", "no proof"]),
        (145, "level", "touch", ["met", "not met"]),
        (145, "level", "typed", ["met", "not met"]),
        (145, "volume-in", "typed", ["met", "met"]),
    ],
)
def test_what_was_entered_afterwards_shows_what_was_left_only_where_it_was_surely_after_it(
    at: float, what: str, opened: str, answers: list[str]
) -> None:
    found = ask(15, entered_late(at, what, opened))
    assert [one.answer for one in found.details] == answers, found.details


def test_a_look_at_the_wrong_time_hides_no_level_that_was_read_after_it() -> None:
    job = visit(_filled(), "fl", "p4", 100, "").read("level", "700 mL", 50, step="level-look", **LATE)
    job.read("level", "400 mL", 170, step="level-look")
    found = ask(15, visit(job, "rr", "p1", 200, "100 mL"))
    assert found.answer == "met" and "for 400 mL stood in it then (entry 7)" in found.text, found.details
