"""A reading that shows that it is not safe is never kept: nothing is opened until it is read within its limits."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.audit.shipped import QUESTIONS
from tests.job.stand import TECHNICIAN, Stand, signed_on

import witnessmark_practice
from witnessmark.audit.case import open_case
from witnessmark.audit.run import find
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft
from witnessmark.people.person import Person

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


def test_a_stored_pressure_that_cannot_be_read_keeps_the_job_shut_with_its_reason(stand: Stand) -> None:
    stand.press("n", "its gauge or screen shows nothing")
    said = stand.bodies("step")[-1]
    assert (said.step, said.act, said.looked, said.said) == (
        "let-off",
        "skipped",
        False,
        "its gauge or screen shows nothing",
    )
    assert stand.view["step"] == "let-off" and "nothing is opened until it is" in stand.view["text"]
    stand.read("2", "bar")
    assert stand.view["step"] == "fluid-in-vehicle" and stand.state.not_so == ""


def test_a_service_mode_that_is_not_reached_keeps_the_job_shut_with_its_reason() -> None:
    mode = '[[steps_before]]\nid = "service-mode"'
    stand = Stand(procedure=TEXT[: TEXT.index("[[steps_before]]")] + TEXT[TEXT.index(mode) :], grade="told")
    stand.press("n", "it is not reached")
    assert stand.view["step"] == "service-mode" and "nothing is opened until it is" in stand.view["text"]
    assert "left out: it is not reached" in find(QUESTIONS[36], open_case(stand.journal.of("J1"))).text
    stand.press("y")
    assert stand.view["step"] == "let-off"
    stand.close()


GOOD = {"stored-pressure": "1", "container-age": "2", "volume-in": "10", "feed-pressure": "1.2", "torque": "10"}
GOOD |= {"volume": "20", "level": "300", "wheel-torque": "130"}


def walked(stand: Stand, to: str) -> list[str]:
    """Do what is shown, well, until a step or a kind of view stands; return the steps that were done."""
    done: list[str] = []
    for _ in range(100):
        if to in (stand.view.get("step"), stand.view["kind"]):
            break
        view, keys_here = stand.view, keys(stand)
        done.append(view.get("step", view["kind"]))
        if view["kind"] == "reading":
            stand.read(GOOD[view["what"]], view["unit"])
        elif "motor rests" in view["text"]:
            stand.until(lambda: "motor rests" not in stand.view["text"])
        elif view["kind"] == "arm":
            stand.answer()
        elif view["kind"] == "tell":
            stand.press("b")
            stand.wait(12)
            stand.press("e")
        elif "no machine reads it" in view["text"]:
            stand.press("n")
        elif "1" in keys_here:
            stand.press("2")
        elif "y" in keys_here:
            stand.press("y", "bled again")
    return done


def test_what_was_undone_behind_the_passes_is_made_safe_again_before_a_nipple_opens_once_more() -> None:
    stand = Stand(procedure=TEXT, grade="told", without_map=True, before=signed_on(Person("t-badger")))
    walked(stand, "pedal")
    stand.press("n", "it leaks")
    stand.press("e", "p2 its circuit was opened")
    asked = [one for one in walked(stand, "open") if one != "tell"]  # the motor rests meanwhile
    assert asked == ["make-safe", "wake", "service-mode", "let-off", "feed-on", "pressure", "safety-look"]
    stand.press("y")
    walked(stand, "done")
    found = find(QUESTIONS[36], open_case(stand.journal.of("J1")))
    assert found.answer == "met", found
    stand.close()
