"""A first use holds for the very control unit that made it: told apart by its own number and its vehicle's."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.job.learned import TRIAL_START, lead_signs_on, learned_map, learned_stand, try_it
from tests.job.stand import MAP, SERIAL, START, STOP, TECHNICIAN, VIN, MemoryJournal, Stand

from witnessmark.job.numbers import apart
from witnessmark.journal.entry import Draft

HERE = {"F190": "56", "F18C": "31"}
"""What the stand's unit says."""


def worked_before(unit: dict[str, str]) -> Callable[[MemoryJournal], None]:
    """Return what enters that the first use worked on a unit with these numbers, and signs the lead on."""

    def before(journal: MemoryJournal) -> None:
        lead_signs_on(journal)
        body = {
            "actuation": 1, "wire_command": "pump", "result": "worked", "said": "heard", "start": "31010301{seconds}",
            "stop": "31020301", "identification": {"F189": "0102"}, **({"unit": unit} if unit else {}),
        }  # fmt: skip
        journal.append(Draft("first-use", "J1", TECHNICIAN.actor, body=body))

    return before


def stand_after(unit: dict[str, str]) -> Stand:
    stand = Stand(map_document=learned_map(), before=worked_before(unit))
    stand.unit.table[TRIAL_START] = stand.unit.table[START]
    return stand


@pytest.mark.parametrize(
    ("unit", "first"),
    [
        (HERE, False),
        ({"F190": "57", "F18C": "31"}, True),
        ({"F190": "56", "F18C": "32"}, True),
        ({"F190": "", "F18C": ""}, True),
        ({"F190": "56"}, False),
        ({}, False),
    ],
)
def test_another_unit_with_the_same_software_has_a_first_use_of_its_own_before_a_nipple_opens(
    unit: dict[str, str], first: bool
) -> None:
    stand = stand_after(unit)
    try:
        while stand.view["kind"] not in ("open", "arm"):
            stand.follow()
        assert ("First use" in stand.view.get("text", "")) is first
        assert stand.state.open_nipples == () and stand.acts == []
        assert dict(stand.state.numbers) == HERE
        read = [one.request for one in stand.bodies("exchange") if one.purpose == "identification"]
        assert read == ["22F190", "22F18C"]
    finally:
        stand.close()


def test_the_entry_names_the_unit_by_what_it_said() -> None:
    stand = learned_stand()
    try:
        try_it(stand)
        stand.go_to("open")
        assert stand.bodies("first-use")[0].unit == HERE
    finally:
        stand.close()


@pytest.mark.parametrize("answer", [[(0.02, bytes.fromhex("7F2231"))], []])
def test_a_unit_that_tells_no_number_is_not_kept_from_its_first_use(answer: list[Any]) -> None:
    stand = learned_stand()
    stand.unit.table[VIN] = stand.unit.table[SERIAL] = answer
    try:
        try_it(stand)
        stand.go_to("open")
        assert stand.bodies("first-use")[0].unit == {"F190": "", "F18C": ""}
        assert stand.acts == [TRIAL_START, STOP]
    finally:
        stand.close()


def test_a_unit_that_was_changed_since_is_noticed_at_arming_and_its_nipple_is_closed_first() -> None:
    stand = learned_stand()
    try:
        try_it(stand)
        stand.wait(20)
        stand.go_to("open")
        stand.press("y")
        stand.go_to("arm")
        stand.unit.table[SERIAL] = [(0.02, bytes.fromhex("62F18C32"))]
        stand.answer()
        stand.until(lambda: stand.errors)
        assert stand.errors[-1]["rule"] == "first-use" and stand.acts == [TRIAL_START, STOP]
        stand.until(lambda: stand.view["kind"] == "close")
        stand.press("y")
        stand.until(lambda: stand.view["kind"] in ("arm", "reading"))
        stand.go_to("arm")
        assert "First use" in stand.view["text"]
    finally:
        stand.close()


def test_a_unit_that_was_changed_after_arming_is_noticed_before_anything_is_sent() -> None:
    stand = learned_stand()
    try:
        try_it(stand)
        stand.wait(20)
        stand.go_to("armed", "p1")
        stand.unit.table[SERIAL] = [(0.02, bytes.fromhex("62F18C32"))]
        stand.press("s")
        stand.until(lambda: stand.errors)
        assert stand.errors[-1]["rule"] == "identification" and "another one" in stand.errors[-1]["what"]
        stand.wait(1)
        assert stand.acts == [TRIAL_START, STOP]
        assert [one.result for one in stand.bodies("outcome")][-1] == "refused"
    finally:
        stand.close()


def test_a_published_wire_command_asks_for_no_number() -> None:
    stand = Stand(map_document=MAP)
    try:
        stand.go_to("armed")
        assert not {VIN, SERIAL} & set(stand.unit.heard)
    finally:
        stand.close()


def test_what_is_not_known_of_both_tells_nothing_apart() -> None:
    assert not apart({}, HERE) and not apart({"F190": "56"}, {"F18C": "31"})
    assert apart({"F190": "56"}, {"F190": ""}) and not apart({"F190": ""}, {"F190": ""})
