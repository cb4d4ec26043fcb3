"""The motor's rest is waited for before a nipple opens, counted down, with nothing to answer meanwhile."""

from __future__ import annotations

import copy
from collections.abc import Iterator

import pytest
from tests.job.bus import ListeningLink
from tests.job.stand import MAP, PROCEDURE, Stand

from witnessmark.clock import NS
from witnessmark.job.allowed.rest import length_ns
from witnessmark.job.allowed.rules import HINTS, RULES


@pytest.fixture
def stand() -> Iterator[Stand]:
    """Two passes that both open before their run."""
    one = Stand(procedure=PROCEDURE.replace('order = "with"', 'order = "before"'))
    yield one
    one.close()


def test_the_rest_is_counted_down_before_the_next_nipple_opens(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.follow()  # the pressure
    stand.until(lambda: stand.view["kind"] == "open")
    stand.go_to("reading", "p1")
    assert stand.view["what"] == "torque"
    stand.follow()
    assert stand.view["kind"] == "busy" and "motor rests for another" in stand.view["text"]
    assert stand.state.open_nipples == ()
    count, left = len(stand.journal.of("J1")), []
    while "motor rests for another" in stand.view.get("text", ""):
        left.append(int(stand.view["text"].split(" s.")[0].split()[-1]))
        seen = stand.view["id"]
        stand.until(lambda seen=seen: stand.view["id"] != seen)
    assert left == sorted(left, reverse=True) and len(left) > 3 and left[-1] == 1
    stand.until_known()
    assert stand.view["kind"] == "open" and len(stand.journal.of("J1")) == count
    stand.press("y")
    assert stand.view["kind"] == "arm" and "wait_s" not in stand.view


def test_a_run_that_its_window_does_not_allow_yet_is_waited_for_before_its_nipple_opens() -> None:
    text = PROCEDURE.replace('order = "with"', 'order = "before"').replace('on_time = "30 s"', 'on_time = "12 s"')
    stand = Stand(procedure=text)
    stand.go_to("running", "p1")
    stand.go_to("reading", "p1")
    stand.follow()
    assert stand.view["kind"] == "busy" and "motor rests for another" in stand.view["text"]
    stand.wait(30)
    assert stand.view["kind"] == "busy" and stand.state.open_nipples == (), "the rest is over, the window is not"
    stand.until(lambda: stand.view["kind"] == "open", 100)
    stand.go_to("armed", "p2")
    stand.close()


def test_one_of_no_pass_of_which_no_length_is_known_counts_as_long_as_the_map_lets_it() -> None:
    document = copy.deepcopy(MAP)
    document["wire_commands"][1]["start"] = "2F71010305"
    bus = ListeningLink()
    stand = Stand(grade="heard", bus=bus, map_document=document)
    bus.clock = stand.clock
    stand.go_to("hear", "p1")
    run(stand, "2F71010305", "6F71010301", "")
    stand.wait(19)
    stand.press("1")
    (besides,) = stand.state.runs
    assert (besides.seconds, besides.result) == ("", "unknown")
    assert length_ns(stand.state, besides) == 15 * NS, "the valve's longest"
    assert stand.view["kind"] == "hear" and "motor rests for another" in stand.view["text"]
    stand.close()


@pytest.fixture(params=["heard", "told"])
def elsewhere(request: pytest.FixtureRequest) -> Iterator[Stand]:
    """The same two passes, run by another tester; the first has run, and the second is to be opened."""
    heard = request.param == "heard"
    bus = ListeningLink() if heard else None
    one = Stand(
        grade=request.param,
        bus=bus,
        without_map=not heard,
        procedure=PROCEDURE.replace('order = "with"', 'order = "before"'),
    )
    if bus is not None:
        bus.clock = one.clock
    one.go_to("hear" if heard else "tell", "p1")
    run(one, "3101030108", "71010301", "b", seconds=8)
    run(one, "31020301", "71020301", "e")
    one.go_to("reading", "p1")
    one.follow()
    yield one
    one.close()


def run(stand: Stand, request: str, answer: str, key: str, seconds: float = 0) -> None:
    """Let another tester ask, on the bus or as a person tells it."""
    if isinstance(stand.bus, ListeningLink):
        stand.bus.ask(request)
        stand.wait(0.05)
        stand.bus.answer(answer)
    else:
        stand.press(key)
    stand.wait(seconds + 0.05)


def test_the_rest_is_counted_down_before_a_nipple_opens_for_another_testers_run(elsewhere: Stand) -> None:
    stand, left = elsewhere, []
    while "motor rests for another" in stand.view["text"]:
        assert "Do not start it on the other tester before. Leave every nipple shut" in stand.view["text"]
        assert stand.state.open_nipples == ()
        left.append(int(stand.view["text"].split(" s.")[0].split()[-1]))
        seen = stand.view["id"]
        stand.until(lambda seen=seen: stand.view["id"] != seen)
    # The map asks for more than the procedure's 10 s; without a map the procedure alone asks.
    assert left == sorted(left, reverse=True) and left[-1] == 1 and left[0] in ((14, 15) if stand.bus else (9, 10))
    stand.answer()
    assert stand.view["kind"] == "open"
    stand.press("y")
    assert stand.view["kind"] in ("hear", "tell") and "rests" not in stand.view["text"]
    run(stand, "2F71010305", "6F71010305", "b")
    assert stand.view["kind"] in ("heard", "told") and "TOO EARLY" not in stand.view["text"]


def test_one_that_another_tester_starts_before_the_rest_is_over_is_told_while_it_runs(elsewhere: Stand) -> None:
    stand = elsewhere
    stand.wait(2)
    assert "motor rests for another" in stand.view["text"]
    run(stand, "2F71010305", "6F71010305", "b")
    stand.until(lambda: stand.view["kind"] in ("heard", "told"))
    text = stand.view["text"]
    assert text.startswith("TOO EARLY: it was started ") and "Stop it on the other tester." in text
    assert "Leave the nipple shut." in text and stand.state.open_nipples == ()


def test_every_rule_says_what_to_do() -> None:
    assert HINTS.keys() == RULES.keys() and all(HINTS.values())


@pytest.mark.parametrize(
    ("works", "least_s"), [("", 15), ('wire_commands = ["pump"]\n', 0), ('wire_commands = ["pump", "valve"]\n', 15)]
)
def test_the_rest_of_the_pump_is_asked_before_what_works_the_pump(works: str, least_s: int) -> None:
    """What the map asks after a run of the pump, 15 s, holds before anything; the procedure's 40 s are the pump's."""
    text = PROCEDURE.replace('order = "with"', 'order = "before"').replace('rest = "10 s"\n', f'rest = "40 s"\n{works}')
    stand = Stand(procedure=text)
    stand.go_to("running", "p1")
    stand.go_to("reading", "p1")
    stand.follow()
    assert stand.view["kind"] == "busy" and "motor rests for another" in stand.view["text"]
    left = int(stand.view["text"].split(" s.")[0].split()[-1])
    assert least_s < left <= (40 if least_s else 15)
    stand.until(lambda: stand.view["kind"] == "open", 50)
    stand.go_to("armed", "p2")
    stand.close()


@pytest.mark.parametrize(("works", "allowed"), [("", False), ('wire_commands = ["pump"]\n', True)])
def test_the_window_of_the_pump_counts_no_run_of_a_valve(works: str, allowed: bool) -> None:
    text = PROCEDURE.replace('order = "with"', 'order = "before"').replace(
        'on_time = "30 s"', f'{works}on_time = "12 s"'
    )
    stand = Stand(procedure=text)
    stand.go_to("running", "p1")
    stand.go_to("reading", "p1")
    stand.follow()
    stand.wait(30)
    assert (stand.view["kind"] == "open") is allowed
    stand.close()
