"""What is not known better than to an hour is said to be not known, and never given bounds that say nothing."""

from __future__ import annotations

import pytest
from tests.audit.jobs import NS, WALL, Job
from tests.audit.shipped import ask

from witnessmark.audit import say
from witnessmark.range import FOREVER, Range

DAY = Range(WALL, WALL + 9 * 3600 * NS)


@pytest.mark.parametrize(
    ("length", "said"),
    [
        (Range(0, 548 * 60 * NS), "a time that is not known"),
        (Range(18 * NS, 548 * 60 * NS), "at least 18.0 s"),
        (Range(0, FOREVER), "a time that is not known"),
        (Range(18 * NS, 22 * NS), "18.0 to 22.0 s"),
        (Range(10 * 3600 * NS, 10 * 3600 * NS + NS), "10 h 00 min 00 s to 10 h 00 min 01 s"),
    ],
)
def test_a_length_is_bounded_only_by_what_says_something(length: Range, said: str) -> None:
    assert (say.length(length), say.is_known(length)) == (said, "not known" not in said)


@pytest.mark.parametrize(
    ("length_s", "exactly", "about"),
    [
        (119.9, "119.9 s", "2 min"),
        (7199.9, "119 min 59.9 s", "120 min"),
        (7200, "2 h 00 min 00 s", "120 min"),
        (172_788.7, "47 h 59 min 49 s", "48 h"),
        (400 * 86_400, "400 d 0 h 00 min", "400 d"),
        (166_200 * 86_400, "166200 d 0 h 00 min", "455 years"),
    ],
)
def test_a_long_time_is_said_in_hours_and_days(length_s: float, exactly: str, about: str) -> None:
    length = round(length_s * NS)
    assert (say.seconds(length), say.seconds(-length), say.roughly(length)) == (exactly, f"-{exactly}", about)


def test_a_time_of_day_and_how_far_two_are_apart_are_not_known_where_no_time_is_written() -> None:
    assert say.clock(DAY) == "time not known"
    assert say.clock(Range(WALL, WALL + 60 * NS)) == "15:07:10Z"
    assert say.apart(DAY.minus(Range(WALL, WALL))) == "it is not known how long before or after"


def test_the_order_of_an_opening_and_a_run_of_which_no_time_is_written_is_said_to_be_not_known() -> None:
    job = Job(grade="told", u=0).open("rr", "p1", 18_000, u=17_000).run("p1", 18_010, 18_030).close("rr", 18_040, "p1")
    (part, *_) = ask(8, job).details
    said = (
        "opened, and it is not known how long before or after the run began, asked before it, at most 10 s apart (told)"
    )
    assert (part.answer, part.text) == ("no proof", said)
