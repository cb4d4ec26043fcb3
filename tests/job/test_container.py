"""The wrong fluid is asked again before anything is filled; a value out of its limits shows the caution at once."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import pytest
from msgspec.structs import replace
from tests.job.stand import PROCEDURE, Stand
from tests.procedure.kept import kept

from witnessmark.job.fluid.container import asked, gone_on_with, is_other
from witnessmark.job.walk.standing import as_left

FLUID = PROCEDURE.replace(
    'affects = "fluid-grade"\n',
    'affects = "fluid-grade"\nchoices = ["DOT 3, class 3", "DOT 4, class 4", "DOT 4, class 6"]\n',
).replace(
    'affects = "pressurise"\n', 'affects = "pressurise"\ncaution = "Over 2.4 bar the reservoir can burst."\n'
).replace('invented = true\n', 'invented = true\nfluid = "DOT 4"\nfluid_class = "class 4"\n')  # fmt: skip


@pytest.fixture
def stand() -> Iterator[Stand]:
    one = Stand(procedure=FLUID)
    yield one
    one.close()


def test_the_step_says_what_the_procedure_asks(stand: Stand) -> None:
    assert stand.view["step"] == "grade" and "Asked for: DOT 4, class 4." in stand.view["text"]
    assert "it cannot be read, and why" in [one["label"] for one in stand.view["buttons"]]
    stand.press("2")
    assert stand.view["step"] == "pressurise"


def test_a_label_that_cannot_be_read_keeps_the_question_open_and_the_screen_says_so(stand: Stand) -> None:
    stand.press("n", "the label cannot be read")
    text = stand.view["text"]
    assert (
        stand.view["step"] == "grade" and "for safety this stays open" in text and "Nothing is filled from it" in text
    )
    assert text.endswith("Press the number of what it says, or o, or p to pause.")
    stand.press("2")
    assert stand.view["step"] == "pressurise" and stand.state.not_so == ""


@pytest.mark.parametrize("key", ["1", "3"])
def test_another_fluid_is_asked_again_with_the_caution_not_to_fill(stand: Stand, key: str) -> None:
    stand.press(key)
    assert stand.view["step"] == "grade" and "DO NOT FILL" in stand.view["caution"]
    stand.press("2")
    assert stand.view["step"] == "pressurise" and len(stand.bodies("step")) == 2, "both are kept"


def test_another_fluid_goes_on_only_with_a_reason_that_says_nothing_of_the_container(stand: Stand) -> None:
    stand.press("1")
    stand.press("k")
    assert stand.view["step"] == "grade" and "words are missing" in stand.errors[-1]["what"]
    stand.press("k", "the lead says so")
    assert stand.view["step"] == "pressurise"
    assert [(one.affects, one.answer or one.said) for one in stand.bodies("step")] == [
        ("fluid-grade", "DOT 3, class 3"),
        ("", "the lead says so"),
    ]


def test_another_fluid_that_is_gone_on_with_is_named_to_the_end_and_wherever_the_job_is_left(stand: Stand) -> None:
    named = (
        "WRONG FLUID, gone on with all the same: the container says DOT 3, class 3, and DOT 4, class 4 is asked for."
    )
    stand.press("1")
    assert named not in stand.view["caution"], "it is asked for still"
    stand.press("k", "the lead says so")
    for kind in ("step", "reading", "open", "arm", "step"):
        stand.go_to(kind)
        assert stand.view["caution"].startswith(named) and named in as_left(stand.state), kind
        stand.follow()
    stand.go_to("done")
    assert stand.view["caution"].startswith(named)
    again = dataclasses.replace(stand.state, fluids=(("fluid-grade", "DOT 4, class 4"),))
    assert gone_on_with(again) == named, "what went in is in it, whatever is read later"
    assert gone_on_with(dataclasses.replace(again, other_fluid="")) == ""


@pytest.mark.parametrize(
    ("said", "other"),
    [
        ("DOT 4, class 4", False),
        ("dot4 CLASS 4", False),
        ("DOT 4", True),
        ("DOT 5.1, class 4", True),
        ("DOT 4, class 4-1", True),
        ("mineral", True),
    ],
)
def test_words_that_do_not_name_what_is_asked_are_not_it(said: str, other: bool) -> None:
    procedure = kept(FLUID)
    assert is_other(procedure, procedure.steps_before[0], said) is other


def test_without_choices_only_the_grade_is_asked_of_a_grade() -> None:
    procedure = kept(FLUID)
    step = replace(procedure.steps_before[0], choices=())
    assert asked(procedure, step) == "DOT 4" and not is_other(procedure, step, "DOT 4")
    assert is_other(procedure, step, "DOT 4.1")


def test_a_pressure_out_of_its_limits_shows_at_once_what_it_can_do(stand: Stand) -> None:
    stand.press("2")
    stand.go_to("reading", "p1")
    assert "caution" not in stand.view and (stand.view["least"], stand.view["most"]) == ("0", "10")
    stand.read("3.5", "bar")
    assert stand.view["kind"] == "reading" and "burst" in stand.view["caution"]
    assert "The later reading counts. Both are kept." in stand.view["text"]
