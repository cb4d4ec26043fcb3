"""What is in the vehicle against what goes in: fluids that never mix stop the job until the lead goes on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from tests.job.stand import LEAD, PROCEDURE, TECHNICIAN, Stand

from witnessmark.job.allowed.rules import HINTS, RULES
from witnessmark.job.fluid.container import never_mix
from witnessmark.journal.entry import Draft

GRADES = ["DOT 3", "DOT 4", "DOT 5 (silicone)", "DOT 5.1", "mineral", "not known"]
INTAKE = (
    PROCEDURE.replace("invented = true\n", 'invented = true\nfluid = "DOT 4"\n', 1)
    .replace(
        '[[steps_before]]\nid = "grade"',
        '[[steps_before]]\nid = "in-it"\ntext = "What does the cap say?"\nact = "check"\naffects = "fluid-in-vehicle"\n'
        f'choices = {GRADES}\n[[steps_before]]\nid = "grade"'.replace("'", '"'),
    )
    .replace('affects = "fluid-grade"\n', 'affects = "fluid-grade"\nchoices = ["DOT 3", "DOT 4", "DOT 5"]\n')
)

NEVER = {"DOT 5 (silicone)", "mineral"}
"""Beside a glycol fluid. DOT 3, 4 and 5.1 mix (a secondary page of 49 CFR 571.116); silicone and mineral fluid never
mix with glycol (abstract of ISO 9128: "totally incompatible")."""


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=INTAKE)
    yield made
    made.close()


def keys(stand: Stand) -> list[str]:
    return [one["key"] for one in stand.view["buttons"]]


@pytest.mark.parametrize("said", GRADES)
@pytest.mark.parametrize("poured", ["DOT 3", "DOT 4", "DOT 5.1", "class 6"])
def test_only_silicone_and_mineral_never_mix_with_glycol(stand: Stand, said: str, poured: str) -> None:
    read = replace(stand.state, fluids=(("fluid-in-vehicle", said), ("fluid-grade", poured)))
    assert bool(never_mix(read)) is (said in NEVER)


@pytest.mark.parametrize(("said", "poured", "never"), [
    ("DOT 5", "DOT 5", False), ("DOT 5", "mineral", True), ("mineral", "mineral", False), ("mineral", "DOT 5", True),
])  # fmt: skip
def test_silicone_and_mineral_mix_with_their_own_alone(stand: Stand, said: str, poured: str, never: bool) -> None:
    read = replace(stand.state, fluids=(("fluid-in-vehicle", said), ("fluid-grade", poured)))
    assert bool(never_mix(read)) is never


@pytest.mark.parametrize("key", ["1", "2", "4", "6"])
def test_what_mixes_and_what_is_not_known_is_one_touch_and_goes_on(stand: Stand, key: str) -> None:
    assert stand.view["step"] == "in-it"
    stand.press(key)
    assert stand.view["step"] == "grade"
    assert [one.answer for one in stand.bodies("step")] == [GRADES[int(key) - 1]]


def test_why_a_label_cannot_be_read_is_taken_as_not_known_and_goes_on(stand: Stand) -> None:
    assert "not known, and why" in [one["label"] for one in stand.view["buttons"]]
    stand.press("n", "there is no label")
    assert stand.view["step"] == "grade"
    (one,) = stand.bodies("step")
    assert (one.act, one.answer, one.said, one.looked) == ("confirmed", "not known", "there is no label", False)


def test_what_never_mixes_goes_no_further_without_the_lead(stand: Stand) -> None:
    stand.press("3")
    assert (stand.view["kind"], keys(stand)) == ("mixing", ["r", "k"])
    assert "holds DOT 5, and DOT 4 is to go in: these never mix" in stand.view["text"]
    assert "DO NOT FILL" in stand.view["caution"]
    stand.press("k", "seals are replaced")
    stand.until(lambda: stand.errors)
    assert "only a shop lead" in stand.errors[-1]["what"] and "sign-on" in stand.errors[-1]["hint"]
    assert stand.view["kind"] == "mixing" and not stand.state.mixing_allowed


def test_with_a_lead_who_is_signed_on_it_goes_on_and_the_entry_is_the_leads(stand: Stand) -> None:
    stand.journal.append(Draft("sign-on", None, LEAD.actor, body={"role": "lead", "proven": "pin"}))
    stand.press("3")
    stand.press("k", "seals are replaced")
    assert stand.view["step"] == "grade"
    entry = next(one for one in stand.journal.of("J1") if one.body.get("step") == "mixing-allowed")
    assert (entry.done_by, entry.entered_by, entry.body["said"]) == (LEAD.actor, TECHNICIAN.actor, "seals are replaced")


def test_labels_that_were_misread_are_read_again(stand: Stand) -> None:
    stand.press("3")
    stand.press("r")
    assert stand.view["step"] == "in-it"
    stand.press("2")
    assert stand.view["step"] == "grade" and not never_mix(stand.state)
    stand.press("2")
    assert stand.view["step"] == "pressurise"


def test_a_container_that_never_mixes_holds_once_somebody_wants_to_keep_it(stand: Stand) -> None:
    stand.press("2")
    stand.press("3")
    assert stand.view["step"] == "grade", "the wrong container is asked again first"
    stand.press("k", "it is all there is")
    assert stand.view["kind"] == "mixing"
    stand.press("r")
    stand.press("2")
    assert stand.view["step"] == "grade", "both are read again"
    stand.press("2")
    assert stand.view["step"] == "pressurise"


def test_nothing_is_started_whatever_a_screen_asks(stand: Stand) -> None:
    stand.press("2")
    stand.press("2")
    stand.go_to("arm", "p1")
    fluids = (("fluid-in-vehicle", "mineral"), ("fluid-grade", "DOT 4"))
    stand.runner.state = replace(stand.state, fluids=fluids)
    stand.arm_anyway()
    stand.until(lambda: stand.errors)
    assert "never mix" in stand.errors[-1]["what"] and stand.errors[-1]["rule"] == "fluid" and not stand.acts
    assert set(RULES) == set(HINTS)
