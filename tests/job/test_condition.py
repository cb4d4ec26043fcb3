from __future__ import annotations

import pytest

from witnessmark.clock import Stamp
from witnessmark.errors import InputError
from witnessmark.job.amount import number, seconds, within, written_s
from witnessmark.job.moment import since_ns
from witnessmark.job.unit import condition
from witnessmark.journal.entry import Recorded
from witnessmark.mapping.model import ConditionRead
from witnessmark.procedure.model import Limit, Precondition
from witnessmark.quantity import Quantity

VOLTAGE = ConditionRead("voltage", "7001", denominator=10, unit="V")
GEAR = ConditionRead("gear", "7003", names={"3": "P"})
PRESSURE = ConditionRead("pressure", "7005", offset=1, length=2, numerator=2, denominator=100, unit="bar")


@pytest.mark.parametrize(
    ("how", "answer", "found"),
    [
        (VOLTAGE, "6270017D", "12.5 V"),
        (VOLTAGE, "62700164", "10 V"),
        (GEAR, "62700303", "P"),
        (PRESSURE, "627005FF0064", "2 bar"),
        (PRESSURE, "627005FF0000", "0 bar"),
    ],
)
def test_a_value_is_read_where_the_map_says(how: ConditionRead, answer: str, found: str) -> None:
    assert condition.value(how, bytes.fromhex(answer)) == found


@pytest.mark.parametrize(("how", "answer"), [(VOLTAGE, "627001"), (GEAR, "62700309"), (PRESSURE, "627005FF00")])
def test_an_answer_that_cannot_be_read_is_refused_by_name(how: ConditionRead, answer: str) -> None:
    with pytest.raises(InputError) as caught:
        condition.value(how, bytes.fromhex(answer))
    assert caught.value.place == how.name


@pytest.mark.parametrize(
    ("wanted", "found", "holds"),
    [
        (Precondition("gear", "", equals="P"), "P", True),
        (Precondition("gear", "", equals="P"), "N", False),
        (Precondition("v", "", limit=Limit("11.5 V", "15 V")), "11.5 V", True),
        (Precondition("v", "", limit=Limit("11.5 V", "15 V")), "11.4 V", False),
        (Precondition("v", "", limit=Limit("11.5 V", "15 V")), "15.1 V", False),
    ],
)
def test_a_precondition_holds_or_not(wanted: Precondition, found: str, holds: bool) -> None:
    assert condition.holds(wanted, found) is holds


@pytest.mark.parametrize("found", ["P", "12.5 mV", "12.5"])
def test_what_cannot_be_compared_never_holds(found: str) -> None:
    with pytest.raises(InputError):
        condition.holds(Precondition("v", "", limit=Limit("11.5 V")), found)


def test_a_precondition_that_says_nothing_never_holds() -> None:
    with pytest.raises(InputError):
        condition.holds(Precondition("v", ""), "12.5 V")


def test_standing_still_is_nothing_but_zero() -> None:
    assert condition.moves("0.1 km/h") and condition.moves("3 km/h") and not condition.moves("0 km/h")
    with pytest.raises(InputError):
        condition.moves("slow")


@pytest.mark.parametrize(("text", "value"), [("20 s", 20), ("2 min", 120), ("1,5 h", 5400), ("1 d", 86400)])
def test_times_become_seconds(text: str, value: int) -> None:
    assert seconds(text) == value
    assert written_s(text) == str(value)


def test_seconds_are_written_plainly_whatever_unit_they_were_given_in() -> None:
    assert (written_s("1.5 min"), written_s("12.50 s"), written_s("")) == ("90", "12.5", "")


@pytest.mark.parametrize("text", ["20 bar", "20", "s", "nan s"])
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        seconds(text)


def test_a_band_includes_its_ends_and_an_open_end_holds_everything() -> None:
    assert within(Quantity("2.2", "bar"), Limit("1.8 bar", "2.2 bar")) is True
    assert within(Quantity("-5", "bar"), Limit(high="2.2 bar")) is True
    assert within(Quantity("5", "bar"), None) is None
    assert number("2,5", place="x") == number("2.5", place="x")


RECORDED = Recorded("5", "boot-1", "5000", "p", 1, "9000")


@pytest.mark.parametrize(
    ("wall", "mono", "boot", "since"),
    [
        (0, 5600, "boot-1", 600),  # the wall clock was set back: it does not count within one boot
        (9700, 100, "boot-2", 700),
        (9000 - 1, 100, "boot-2", None),
        (9700, 4999, "boot-1", None),
    ],
    ids=["same boot", "another boot", "another boot, clock set back", "same boot, clock runs back"],
)
def test_what_the_clocks_do_not_tell_is_none(wall: int, mono: int, boot: str, since: int | None) -> None:
    assert since_ns(RECORDED, Stamp(wall, mono), boot) == since
