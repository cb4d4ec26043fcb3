"""Question 15 where the record says how much was in the reservoir: level, taken out, filled in, filled up again."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, edit
from tests.audit.shipped import ask

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
