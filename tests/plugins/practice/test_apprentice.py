"""The practice hands do what an answer says was done to a nipple, and nothing else."""

from __future__ import annotations

import pytest

from witnessmark_practice.apprentice import Apprentice


def test_they_open_what_is_said_to_be_open_before_arming_and_shut_what_is_said_to_be_shut_again() -> None:
    done: list[tuple[str, str]] = []

    def do(act: str, item: str, amount: str) -> str:
        done.append((act, item))
        return ""

    hands = Apprentice(do)
    view = {"id": "1", "kind": "arm", "nipples": ["rear-left"]}
    hands.follow(view, {"do": "answers", "answers": {"mounted": True}})
    assert done == []
    hands.follow(view, {"do": "answers", "answers": {"mounted": True, "opened": True}})
    hands.follow(view, {"do": "key", "key": "k"})
    assert done == [("open", "rear-left"), ("close", "rear-left")]
    hands.follow({**view, "kind": "decide"}, {"do": "key", "key": "k"})
    assert len(done) == 2


@pytest.mark.parametrize(
    ("view", "key", "acts"),
    [
        ({"step": "level-look", "kind": "step"}, "o", ["depressurise"]),
        ({"step": "level-look", "kind": "step"}, "f", ["remove-feed", "read", "refill", "fit-feed"]),
        ({"step": "level-look", "kind": "step"}, "y", []),
        ({"kind": "paused", "nipples": ["rear-left"]}, "o", ["depressurise"]),
        ({"kind": "paused", "nipples": ["rear-left"]}, "y", ["close"]),
        ({"kind": "paused", "nipples": ["rear-left"]}, "n", []),
        ({"kind": "done"}, "o", ["depressurise"]),
        ({"kind": "done"}, "f", []),
        ({"kind": "step", "step": "fluid-grade", "nipples": ["rear-left"]}, "o", []),
        ({"kind": "running", "nipples": ["rear-left"]}, "o", ["open"]),
        ({"kind": "told", "nipples": ["rear-left"]}, "o", ["open"]),
    ],
)
def test_hands_do_at_the_reservoir_and_in_a_pause_what_is_said_and_open_nothing(
    view: dict[str, object], key: str, acts: list[str]
) -> None:
    done: list[str] = []

    def do(act: str, item: str = "", value: str = "") -> str:
        done.append(act)
        return "420 mL"

    Apprentice(do).follow(view, {"do": "key", "key": key})
    assert done == acts


def test_hands_that_filled_the_reservoir_up_at_a_look_tell_how_much_went_in() -> None:
    hands = Apprentice(lambda act, item="", value="": "420 mL")
    hands.follow({"step": "level-look", "kind": "step"}, {"do": "key", "key": "f"})
    asked = {"id": "2", "step": "level-look", "kind": "reading", "what": "volume-in"}
    assert hands.prepare(asked) == "340 mL"
    assert hands.prepare({**asked, "id": "3", "what": "level"}) == "420 mL"


@pytest.mark.parametrize(
    ("level", "act", "said"),
    [
        ("420 mL", ("refill", "80 mL"), "80 mL"),
        ("680 mL", ("read", "level"), "too high: it stands at 680 mL, 180 mL above its mark"),
    ],
)
def test_hands_set_the_level_at_the_end_and_draw_nothing_off_before_that_is_said(
    level: str, act: tuple[str, str], said: str
) -> None:
    done: list[tuple[str, str]] = []

    def do(act: str, item: str = "", value: str = "") -> str:
        done.append((act, item))
        return level

    assert Apprentice(do).prepare({"id": "1", "kind": "reading", "step": "topped-up"}) == said
    assert done[-1] == act


@pytest.mark.parametrize("asked", [{"step": "topped-up", "what": "volume-drawn"}, {"step": "drawn-off"}])
def test_hands_that_draw_fluid_off_tell_how_much_it_was(asked: dict[str, str]) -> None:
    done: list[tuple[str, str]] = []

    def do(act: str, item: str = "", value: str = "") -> str:
        done.append((act, item))
        return "694 mL"

    assert Apprentice(do).prepare({"id": "1", "kind": "reading", **asked}) == "194 mL"
    assert done[-1] == ("draw-off", "194 mL")


def test_a_nipple_of_another_vehicle_s_procedure_moves_nothing_and_the_hands_do_not_fail() -> None:
    done: list[str] = []

    def do(act: str, item: str = "", value: str = "") -> str:
        done.append(item)
        return "8 N.m"

    hands = Apprentice(do)
    hands.follow({"kind": "open", "nipples": ["lsv", "rear-left"]}, {"do": "key", "key": "y"})
    assert hands.prepare({"id": "1", "kind": "reading", "step": "torque", "nipples": ["lsv"]}) == ""
    assert done == ["rear-left"]
