"""A mend for which what made the vehicle safe was undone: it is made safe first, or it is asked whether it was."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import Stand
from tests.job.test_few_touches import FEW
from tests.job.test_mending import PEDAL, ask, finish, keys

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.resume import LONG_S
from witnessmark.procedure.mending import BLED, NOTHING, REPLACED, TIGHTENED
from witnessmark.report.lines import line

MODE_ON = '[[steps_before]]\nid = "mode-on"\ntext = "Enter the service mode"\naffects = "service-mode-on"\n'
STORED = (
    '[[steps_before]]\nid = "let-off"\ntext = "Press the pedal until it reads next to nothing"\nact = "read"\n'
    'what = "stored-pressure"\nunit = "bar"\nlimit = { high = "3 bar" }\ncaution = "It can press a caliper."\n'
)
MODE_OFF = '[[steps_after]]\nid = "mode-off"\ntext = "Leave the service mode"\naffects = "service-mode-off"\n'
ROAD = '[[steps_after]]\nid = "road-test"'
MODES = FEW.replace("[[passes]]", f"{MODE_ON}{STORED}[[passes]]", 1).replace(ROAD, f"{MODE_OFF}{PEDAL}{ROAD}")

EACH = FEW.replace("[[passes]]", MODE_ON + STORED.replace("steps_before", "steps_before_each_pass") + "[[passes]]", 1)
EACH = EACH.replace(ROAD, f"{MODE_OFF}{PEDAL}{ROAD}")
"""What is stored is read before each pass."""


@pytest.fixture
def leaks() -> Iterator[Stand]:
    """A job that leaks when the pedal is held, the service mode left before."""
    made = Stand(procedure=MODES)
    to_pedal(made)
    made.press("n", "it leaks")
    yield made
    made.close()


def to_pedal(stand: Stand) -> None:
    while stand.view.get("step") != "pedal":
        if stand.view.get("what") == "stored-pressure":
            stand.read("1", "bar")
        elif stand.view.get("buttons", [{}])[0].get("key") == "1":
            stand.press("2")
        else:
            stand.follow()


def make_safe(stand: Stand) -> None:
    stand.press("a")
    assert stand.view["step"] == "mode-on"
    stand.press("y")
    stand.read("1", "bar")


def test_one_key_makes_it_safe_before_it_is_mended_and_puts_it_back_after(leaks: Stand) -> None:
    assert next(iter(keys(leaks))) == "a" and "NO HAND" in leaks.view["text"]
    make_safe(leaks)
    assert leaks.view["text"].startswith("It is made safe: mend it now") and set(keys(leaks)) == {"w", "e", "x"}
    leaks.press("w", TIGHTENED)
    leaks.press("1")
    assert leaks.view["what"] == "torque"
    leaks.read("9.5", "N.m")
    assert leaks.view["step"] == "mode-off"
    leaks.press("y")
    assert leaks.view["step"] == "pedal" and "y" in keys(leaks)
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == "met" and ask(leaks, 23).answer == "met"


def test_a_circuit_that_was_opened_is_bled_while_it_is_still_safe(leaks: Stand) -> None:
    make_safe(leaks)
    leaks.press("w", REPLACED)
    leaks.press("1")
    assert "bleed it now, while it is safe. TO BLEED AGAIN" in leaks.view["text"] and "e" in keys(leaks)
    leaks.press("e", "p1 its circuit was opened to mend it")
    assert leaks.view["pass_id"] == "p1"
    to_pedal(leaks)
    assert [one.step for one in leaks.bodies("step")].count("mode-on") == 2
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == "met"


def test_who_leaves_it_on_the_way_puts_back_what_was_done(leaks: Stand) -> None:
    leaks.press("a")
    leaks.press("x")
    assert leaks.view["step"] == "pedal" and "a" in keys(leaks)
    leaks.press("a")
    leaks.press("y")
    assert leaks.view["step"] == "let-off"
    leaks.press("x")
    assert leaks.view["step"] == "mode-off"
    leaks.press("y")
    leaks.press("w", TIGHTENED)
    leaks.press("o")
    assert leaks.view["step"] == "was-made-safe"


@pytest.mark.parametrize(("key", "then"), [("y", "mode-off"), ("n", "pedal"), ("o", "pedal")])
def test_a_mend_that_is_said_without_is_kept_and_asked_about(leaks: Stand, key: str, then: str) -> None:
    leaks.press("w", "a hose renewed")
    leaks.press("o")
    assert leaks.view["step"] == "was-made-safe" and set(keys(leaks)) == {"y", "n", "o"}
    leaks.press(key)
    assert leaks.view["step"] == then
    leaks.crash()
    assert leaks.view["step"] == then
    said = leaks.bodies("step")[-1]
    answer = {"y": "yes", "n": "no", "o": "not known"}[key]
    assert line("step", said) == f"whether it was made safe before that was mended: {answer}"


@pytest.mark.parametrize(("key", "answer"), [("n", "not met"), ("o", "no proof")])
def test_where_it_was_not_safe_it_is_made_so_before_a_hand_is_sent_to_a_nipple(
    leaks: Stand, key: str, answer: str
) -> None:
    leaks.press("w", TIGHTENED)
    leaks.press("1")
    leaks.press(key)
    assert leaks.view["step"] == "mode-on" and "x" not in keys(leaks)
    leaks.press("y")
    leaks.read("1", "bar")
    assert leaks.view["what"] == "torque"
    leaks.read("9.5", "N.m")
    assert leaks.view["step"] == "mode-off"
    leaks.press("y")
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 36).answer == answer and ask(leaks, 23).answer == "met"


@pytest.mark.parametrize("key", ["y", "n", "o"])
def test_what_was_opened_without_is_bled_once_it_is_made_safe_and_before_that_is_undone(leaks: Stand, key: str) -> None:
    leaks.press("w", REPLACED)
    leaks.press("1")
    leaks.press(key)
    assert leaks.view["step"] == "mode-on" and "x" not in keys(leaks)
    leaks.press("y")
    leaks.read("1", "bar")
    assert "bleed it now, while it is safe" in leaks.view["text"] and set(keys(leaks)) == {"e", "x"}
    leaks.press("e", "p1 its circuit was opened to mend it")
    assert leaks.view["pass_id"] == "p1"
    to_pedal(leaks)
    assert [one.step for one in leaks.bodies("step")].count("mode-off") == 2
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 26).answer == "met"


@pytest.mark.parametrize("key", ["y", "n", "o"])
@pytest.mark.parametrize("procedure", [MODES, MODES.replace("steps_before", "steps_before_each_pass")])
def test_behind_a_no_on_the_road_it_is_bled_before_any_check_is_looked_at_again(key: str, procedure: str) -> None:
    stand = Stand(procedure=procedure)
    to_pedal(stand)
    stand.press("y")
    while stand.view["step"] != "road-test":
        stand.press("y")
    stand.press("n", "it pulls to one side")
    stand.press("w", REPLACED)
    stand.press("1")
    stand.press(key)
    stand.press("y")
    stand.read("1", "bar")
    assert "bleed it now, while it is safe" in stand.view["text"]
    stand.press("e", "p1 its circuit was opened to mend it")
    to_pedal(stand)
    assert stand.state.to_bleed == ()
    stand.close()


def lies(stand: Stand) -> str:
    """Pause the job and go on with it; return where the pause says that it goes on."""
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    if "o" in keys(stand):
        stand.press("o")
    text = str(stand.view["text"])
    stand.press("r")
    return text


@pytest.mark.parametrize("procedure", [MODES, EACH])
def test_what_shows_that_it_is_safe_is_read_again_for_each_hand_once_the_job_lay(procedure: str) -> None:
    stand = Stand(procedure=procedure)
    to_pedal(stand)
    stand.press("n", "it leaks")
    make_safe(stand)
    paused = lies(stand)
    assert "made safe" not in paused and "reads next to nothing" in paused
    assert stand.view["what"] == "stored-pressure"
    lies(stand)
    stand.read("1", "bar")
    assert stand.view["text"].startswith("It is made safe: mend it now")
    stand.press("w", TIGHTENED)
    stand.press("1")
    lies(stand)
    assert stand.view["what"] == "stored-pressure"
    stand.read("1", "bar")
    assert stand.view["what"] == "torque"
    stand.read("9.5", "N.m")
    lies(stand)
    assert stand.view["step"] == "mode-off"
    stand.close()


def test_a_mode_that_nothing_reads_is_entered_again_once_the_job_lay() -> None:
    stand = Stand(procedure=MODES.replace(STORED, ""))
    to_pedal(stand)
    stand.press("n", "it leaks")
    stand.press("a")
    stand.press("y")
    assert "made safe" not in lies(stand) and stand.view["step"] == "mode-on"
    stand.close()


@pytest.mark.parametrize("what", [BLED, NOTHING])
def test_what_put_no_hand_to_a_joint_is_not_asked_about(leaks: Stand, what: str) -> None:
    leaks.press("w", what)
    if what == BLED:
        leaks.press("n")  # no pass is bled for it
    assert leaks.view["step"] == "pedal"


def test_what_is_mended_after_it_was_bled_again_and_put_back_is_asked_about(leaks: Stand) -> None:
    leaks.press("e", "p1 its circuit was opened to mend it")
    assert leaks.view["step"] == "mode-on"
    to_pedal(leaks)
    leaks.press("w", TIGHTENED)
    leaks.press("o")
    assert leaks.view["step"] == "was-made-safe", "the service mode was left again"
    leaks.press("y")
    while leaks.view["step"] != "pedal":
        leaks.press("y")
    leaks.press("y")
    finish(leaks)
    assert ask(leaks, 36).answer == "met"


def test_what_shows_before_each_pass_that_it_is_safe_is_read_of_no_pass_before_a_mend_and_after_a_night() -> None:
    stand = Stand(procedure=EACH)
    to_pedal(stand)
    stand.press("n", "it leaks")
    make_safe(stand)
    assert stand.view["text"].startswith("It is made safe: mend it now")
    assert stand.bodies("reading")[-1].pass_id == ""
    stand.send(do="pause", why="evening")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.clock.advance(LONG_S)
    stand.press("r")
    assert stand.view["step"] == "mode-on"
    stand.press("y")
    assert stand.view["what"] == "stored-pressure"
    stand.read("1", "bar")
    stand.press("w", TIGHTENED)
    stand.press("1")
    stand.read("9.5", "N.m")
    to_pedal(stand)
    stand.press("y")
    finish(stand)
    assert ask(stand, 36).answer == "met"
    stand.close()


def test_what_is_still_to_be_bled_is_not_driven_before_it_is_asked_once_more(leaks: Stand) -> None:
    leaks.press("w", REPLACED)
    leaks.press("1")
    leaks.press("n")
    leaks.press("y")
    leaks.read("1", "bar")
    for key in ("x", "y", "y", "y"):
        leaks.press(key)
    shown = leaks.view
    assert shown["text"].startswith("NOT TO BE DRIVEN YET. TO BLEED AGAIN") and "Only then: Drive" in shown["text"]
    assert list(keys(leaks)) == ["e", "n", "y"] and shown["caution"].startswith("DO NOT DRIVE.")
    one = Dialog()
    one.show(shown)
    assert one.press("y") is None and "must not be driven. Was it, all the same? The same key" in one.complaint
    assert one.press("y") == {"do": "key", "view": shown["id"], "key": "y"}
    leaks.press("e", shown["buttons"][0]["reasons"][0])
    assert leaks.view["step"] != "road-test" and leaks.state.to_bleed


def test_a_leak_that_shows_on_the_road_is_looked_for_with_the_pedal_held_and_judged_there() -> None:
    stand = Stand(procedure=MODES)
    to_pedal(stand)
    stand.press("y")
    stand.press("y")
    assert stand.view["step"] == "road-test"
    no = next(one for one in stand.view["buttons"] if one["key"] == "n")
    assert no["reasons"][0] == "it leaks"
    stand.press("n", "it leaks")
    assert (stand.view["step"], stand.state.not_right) == ("pedal", ("road-test",))
    stand.press("n", "it leaks")
    assert stand.state.not_right == ("road-test", "pedal") and "NO HAND" in stand.view["text"]
    assert fold(stand.journal.of("J1")).points == stand.state.points
    stand.close()


def test_anything_else_on_the_road_has_nothing_looked_at_again() -> None:
    stand = Stand(procedure=MODES)
    to_pedal(stand)
    stand.press("y")
    stand.press("y")
    stand.press("n", "it pulls to one side")
    assert stand.view["step"] == "road-test"
    stand.close()
