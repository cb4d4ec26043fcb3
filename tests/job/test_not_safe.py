"""A reading that shows that it is not safe is never kept: nothing is opened until it is read within its limits."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.audit.shipped import QUESTIONS
from tests.job.stand import TECHNICIAN, Stand

import witnessmark_practice
from witnessmark.audit.case import open_case
from witnessmark.audit.run import find
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft

TEXT = (Path(witnessmark_practice.__file__).parent / "data" / "stored_pressure.toml").read_text(encoding="utf-8")
LET_OFF = '[[steps_before]]\nid = "let-off"'
STORED = TEXT[: TEXT.index("[[steps_before]]")] + TEXT[TEXT.index(LET_OFF) :]
"""What a unit that stores pressure asks for, from where its stored pressure is read."""


@pytest.fixture
def stand() -> Iterator[Stand]:
    one = Stand(procedure=STORED, grade="told")
    assert one.view["step"] == "let-off"
    yield one
    one.close()


def keys(stand: Stand) -> list[str]:
    return [one["key"] for one in stand.view.get("buttons", [])]


def test_a_stored_pressure_above_its_limit_is_read_again_and_not_kept(stand: Stand) -> None:
    stand.read("12", "bar")
    assert stand.view["step"] == "let-off" and not {"k", "n", "y"} & set(keys(stand))
    assert "It is not safe: nothing is opened while it reads so" in stand.view["caution"]
    stand.press("k", "read twice, it stays so")
    assert "does nothing here" in stand.errors[-1]["what"] and stand.view["step"] == "let-off"
    stand.read("2", "bar")
    assert stand.view["step"] == "fluid-in-vehicle"


def test_one_that_was_kept_before_is_read_again_before_anything_is_opened(stand: Stand) -> None:
    stand.read("12", "bar")
    kept = bodies.StepDone(step="let-off", act="confirmed", said="read twice, it stays so")
    stand.journal.append(Draft("step", "J1", TECHNICIAN.actor, body=bodies.to_body(kept)))
    stand.crash()
    assert stand.state.point is not None and stand.state.point.id == "fluid-in-vehicle"
    assert (stand.view["kind"], stand.view["step"]) == ("reading", "let-off") and keys(stand) == []
    stand.read("11", "bar")
    assert (stand.view["kind"], stand.view["step"]) == ("reading", "let-off")
    stand.read("2", "bar")
    read = stand.bodies("reading")[-1]
    assert (read.step, read.affects, read.also, read.within) == ("let-off", "", (), True)
    assert stand.view["step"] == "fluid-in-vehicle"


def test_the_audit_names_the_reading_that_was_kept(stand: Stand) -> None:
    stand.read("12", "bar")
    for body in (
        bodies.StepDone(step="let-off", act="confirmed", said="read twice, it stays so"),
        bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="front-left"),
    ):
        stand.journal.append(Draft("step", "J1", TECHNICIAN.actor, body=bodies.to_body(body)))
    found = find(QUESTIONS[36], open_case(stand.journal.of("J1")))
    assert found.answer == "not met"
    assert "stored pressure: it was 12 bar, at most 3 bar; front left was opened all the same" in found.text
    assert "kept as it is: read twice, it stays so" in found.text
