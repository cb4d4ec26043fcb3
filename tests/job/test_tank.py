"""What the reservoir may still hold, as a bay reckons it from entries alone."""

from __future__ import annotations

from decimal import Decimal

import pytest
from tests.audit.jobs import Job, edit

from witnessmark.job.fluid.tank import Tank
from witnessmark.job.walk.fold import fold

BOTTLE = edit(
    ("pressure_limit =", 'reservoir = "500 mL"\npressure_limit ='),
    (
        "[pump]",
        '[[steps_after_each_pass]]\nid = "bottle"\ntext = "Read the bottle"\nact = "volume"\nwhat = "volume"\n'
        'unit = "mL"\nwhole_pass = true\n\n'
        '[[steps_before]]\nid = "open"\ntext = "Open the bonnet"\nact = "do"\n\n[pump]',
    ),
)
SAID = "said-refill"


def begun() -> Job:
    return Job(BOTTLE, scope="nipples fl", protocol_map=None)


def reckoned(job: Job) -> Tank:
    return fold(job.entries()).tank


def visited(amount: str) -> Job:
    """Return a job whose reservoir was filled up, and whose bottle was read once."""
    job = begun().step(SAID, 5, "refill").open("fl", "p4", 100).close("fl", 130, "p4")
    return job.read("volume", amount, 140, pass_id="p4", step="bottle", within=False)


def misread(job: Job, at: float = 145, step: str = "bottle") -> Job:
    return job.step("put-right", at, act="confirmed", pass_id="p4", answer=step, mended="misread: the wrong mark")


def test_a_bottle_that_was_misread_counts_no_more_and_the_level_is_looked_at() -> None:
    assert reckoned(visited("450 mL")).left_ml == 50
    once = misread(visited("450 mL"))
    assert (reckoned(once).left_ml, reckoned(once).most_ml) == (500, 0)
    again = reckoned(once.read("volume", "45 mL", 150, pass_id="p4", step="bottle"))
    assert (again.left_ml, again.most_ml, again.unsure) == (455, 45, "a volume was misread")
    assert reckoned(once.step("level-look", 160, act="confirmed")).unsure == ""


@pytest.mark.parametrize("between", ["another step", "a level since"])
def test_what_was_put_right_at_another_step_takes_no_volume_away(between: str) -> None:
    job = visited("450 mL")
    if between == "a level since":
        job.read("level", "60 mL", 142)
    tank = reckoned(misread(job, step="torque" if between == "another step" else "bottle"))
    assert (tank.left_ml, tank.doubt) == (60 if between == "a level since" else 50, "")


def test_a_filling_that_was_misread_counts_no_more() -> None:
    job = visited("450 mL").read("volume-in", "400 mL", 160, step="more", pass_id="p4")
    assert reckoned(job).left_ml == 450
    assert reckoned(misread(job, 165, "more")).left_ml == 50


@pytest.mark.parametrize(
    ("filled", "left"),
    [("50 mL", 100), ("1 L", 500), ("", 500)],
    ids=["a little", "more than it holds", "no volume written"],
)
def test_a_filling_said_with_its_volume_adds_that_much(filled: str, left: int) -> None:
    job = visited("450 mL")
    if filled:
        job.read("volume-in", filled, 160, step=SAID, affects="refill")
    else:
        job.step(SAID, 160, "refill")
    assert reckoned(job).left_ml == left


def test_a_first_filling_said_with_its_volume_is_all_that_is_known_to_be_in_it() -> None:
    tank = reckoned(begun().read("volume-in", "50 mL", 5, step=SAID, affects="refill"))
    assert tank.left_ml == Decimal(50) and tank.unsure.startswith("50 mL may be all that is left")
    walk = reckoned(begun().read("volume-in", "50 mL", 5, step="fill", affects="refill"))
    assert walk.left_ml == 500


def test_a_step_called_open_that_a_card_leaves_empty_opens_no_nipple() -> None:
    state = fold(begun().step("not-written", 5, act="confirmed", answer="open").entries())
    assert (state.open_nipples, state.unsure) == ((), ())
    opening = begun().step("not-written", 5, act="confirmed", answer="open", pass_id="p4", nipple="fl")
    assert fold(opening.entries()).open_nipples == ("fl",)


SURE = edit(
    ("pressure_limit =", 'reservoir = "500 mL"\nbalance_tolerance = "20 mL"\npressure_limit ='),
    ("[pump]", '[[steps_after_each_pass]]\nid = "bottle"\ntext = "Read the bottle"\nact = "volume"\n'
     'what = "volume"\nunit = "mL"\nwhole_pass = true\n\n[pump]'),
)  # fmt: skip


def done_again(bottle: str, *, seen: str, procedure: object = SURE) -> Tank:
    """Return what is reckoned of 500 mL after 150 mL ran at p4, it was done again and looked at, and then read."""
    job = Job(procedure, scope="nipples fl", protocol_map=None)  # type: ignore[arg-type]
    job.step(SAID, 5, "refill").open("fl", "p4", 100).close("fl", 130, "p4").step("run-again", 140, pass_id="p4")
    if seen == "filled":
        job.read("volume-in", "150 mL", 150, step="level-look", affects="refill", pass_id="p4")
    elif seen:
        job.read("level", seen, 150, step="level-look", pass_id="p4")
    job.open("fl", "p4", 200).close("fl", 230, "p4")
    return reckoned(job.read("volume", bottle, 240, pass_id="p4", step="bottle"))


@pytest.mark.parametrize(
    ("seen", "bottle", "left"),
    [
        ("filled", "250 mL", 500 - (250 - 130)),
        ("350 mL", "250 mL", 350 - (250 - 130)),
        ("490 mL", "250 mL", 490 - 250),
        ("", "250 mL", 500 - 250),
        ("filled", "120 mL", 500 - 120),
    ],
    ids=["filled up", "read", "within the tolerance", "not looked at", "less than ran out before: it was emptied"],
)
def test_of_a_bottle_that_holds_what_ran_before_the_level_was_seen_only_the_rest_has_left_since(
    seen: str, bottle: str, left: int
) -> None:
    """130 of the 150 mL that the look shows are sure to have run out by then: the tolerance is 20 mL."""
    tank = done_again(bottle, seen=seen)
    assert (tank.left_ml, tank.filling, tank.counted_ml) == (left, frozenset(), 0)


def test_where_nobody_says_how_sure_volumes_are_a_bottle_counts_whole() -> None:
    assert done_again("250 mL", seen="filled", procedure=BOTTLE).left_ml == 500 - 250
