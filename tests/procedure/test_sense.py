"""A procedure must make sense to a person of the trade: each thing that does not is named where it is to be mended."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from tests.audit.shipped import QUESTIONS
from tests.procedure.kept import kept

import witnessmark_practice
from witnessmark.document.mistake import Mistakes, spell
from witnessmark.procedure import load
from witnessmark.procedure.own import OWN
from witnessmark.procedure.safe import never_kept
from witnessmark.procedure.whole import LAST_QUESTION
from witnessmark.report.lines import OWN_STEPS

DATA = Path(witnessmark_practice.__file__).parent / "data"
TRUCK, STORED, VAN = (
    (DATA / f"{name}.toml").read_text(encoding="utf-8") for name in ("procedure", "stored_pressure", "vacuum")
)
LEAK = 'also = ["leak-check", "pedal-check"]'


def mistakes(text: str) -> list[tuple[str, str, str]]:
    with pytest.raises(Mistakes) as caught:
        load.from_text(text)
    return [(spell(one.path), one.what, one.hint) for _, one in caught.value.mistakes]


@pytest.mark.parametrize(
    ("text", "old", "new", "at", "what", "hint"),
    [
        # What decides whether anything may be opened, and what decides a question.
        (STORED, 'bar"\nlimit = { high = "3 bar" }', 'bar"\nlimit = { low = "3 bar" }', "steps_before[5].limit.low",
         "3 bar of it would have to be left", "most that may be left"),
        (STORED, 'bar"\nlimit = { high = "3 bar" }', 'bar"\nlimit = { high = "300 bar" }', "steps_before[5].limit.high",
         "no pressure that was let off", "maker"),
        (STORED, 'what = "stored-pressure"', 'what = "stored-presure"', "steps_before[5].what",
         "'stored-presure' is not known", "did you mean stored-pressure"),
        (VAN, 'what = "level"', 'what = "lvl"', "steps_before[2].what", "'lvl' is not known", "x-"),
        (VAN, 'torque = { low = "7 N.m", high = "9 N.m" }', 'torque = { low = "7 N.m" }', "nipples[0].torque.high",
         "the most is missing", "both ends"),
        (VAN, 'torque = { low = "7 N.m", high = "9 N.m" }', 'torque = { low = "0 N.m", high = "9 N.m" }',
         "nipples[0].torque.low", "the least is missing", "both ends"),
        (VAN, 'high = "9 N.m"', 'high = "9 Nm"', "nipples[0].torque.high", "unit 'Nm' is not known", "N.m, lbf.ft"),
        (VAN, 'reservoir = "400 mL"', 'reservoir = "1,200 mL"', "reservoir", "1.200 mL or 1200 mL", "as a point"),
        # Fluid.
        (VAN, 'fluid = "DOT 4"\n', "", "fluid", "no fluid is named", "DOT 4"),
        (VAN, 'fluid = "DOT 4"', 'fluid = ""', "fluid", "this is empty", "fill it in"),
        (VAN, 'fluid = "DOT 4"', 'fluid = "red"', "fluid", "'red' is no grade", "DOT 5.1"),
        (TRUCK, 'fluid_class = "class 4"', 'fluid_class = "class 9"', "fluid_class", "is no class", "class 6"),
        (VAN, 'fluid = "DOT 4"', 'fluid = "DOT 5"\nfluid_class = "class 4"', "fluid_class",
         "DOT 5 is no fluid of class 4", "never mix"),
        (VAN, '["DOT 3", "DOT 4", "DOT 5.1"]', '["DOT 3", "DOT 5.1"]', "steps_before[4].choices",
         "DOT 4, which the procedure asks for, is not among them", "add it"),
        (VAN, '["DOT 3", "DOT 4", "DOT 5.1"]', '["DOT 4", "blue"]', "steps_before[4].choices[1]",
         "'blue' names no fluid", "not known"),
        (TRUCK, '"DOT 4, class 4", ', "", "steps_before[5].choices", "DOT 4 of class 4", "fluid_class"),
        # The pump.
        (TRUCK, 'longest_run = "20 s"', 'longest_run = "11 s"', "passes[1].seconds", "12 s is longer than", "never be"),
        (TRUCK, 'on_time = "90 s"', 'on_time = "19 s"', "pump.longest_run", "more than on_time", "correct"),
        (TRUCK, 'window = "240 s"', 'window = "80 s"', "pump.on_time", "more than the window", "exchange"),
        (TRUCK, '"pump-rear", "pump', '"pump-reer", "pump', "pump.wire_commands[0]", "no pass runs", "pump-rear"),
        (TRUCK, '"pump-rear", "pump', '"pump-rear", "pump-rear", "pump', "pump.wire_commands[1]", "twice", "once"),
        (VAN, "[[steps_before]]", '[pump]\nrest = "9 s"\n\n[[steps_before]]', "pump", "no pass runs", "leave"),
        (STORED, 'longest_run = "15 s"\nrest = "20 s"\n', "", "pump", "it limits nothing", "longest_run"),
        # Pressures, volumes, times.
        (TRUCK, '{ low = "1.8 bar", high = "2.2 bar" }', '{ low = "1.8 bar", high = "2.6 bar" }',
         "passes[0].pressure.high", "2.6 bar is above pressure_limit (2.4 bar)", "one of the two"),
        (TRUCK, '{ low = "1.8 bar", high = "2.2 bar" }', '{ low = "20 psi", high = "2.2 bar" }',
         "passes[0].pressure.low", "20 psi is below pressure_limit (1.5 bar)", "one of the two"),
        (TRUCK, '{ low = "400 mL", high = "600 mL" }', '{ low = "400 mL", high = "0.9 L" }',
         "steps_after[4].limit.high", "0.9 L is more than the reservoir holds (800 mL)", "reservoir"),
        (VAN, 'volume = { low = "120 mL", high = "300 mL" }', 'volume = { low = "420 mL", high = "500 mL" }',
         "passes[0].volume.low", "would run dry", "two passes"),
        (VAN, 'balance_tolerance = "40 mL"', 'balance_tolerance = "0.5 L"', "balance_tolerance", "more than", "far"),
        (VAN, 'limit = { high = "30 d" }', 'limit = { high = "60 d" }', "steps_before[5].limit.high",
         "60 d is more than container_age (30 d)", "one of the two"),
        (TRUCK, "voltage = {", 'pressure_fall = "3 bar"\nvoltage = {', "pressure_fall", "more than the feed", "lose"),
        (TRUCK, 'voltage = { low = "11.5 V", high = "15.0 V" }\n', "", "voltage_gap", "no band", "voltage"),
        (TRUCK, 'seconds_tolerance = "1 s"', 'seconds_tolerance = "10 s"', "passes[0].seconds_tolerance",
         "as much as the whole run", "how far"),
        (TRUCK, 'order_tolerance = "5 s"', 'order_tolerance = "12 s"', "passes[6].order_tolerance", "is over", "long"),
        (TRUCK, 'pressure = { low = "1.8 bar", high = "2.2 bar" }\n', "", "passes[0].pressure_age",
         "no pressure is asked for", "leave it out"),
        (TRUCK, 'torque = { low = "7 N.m", high = "9 N.m" }\n', "", "nipples[0].torque", "its torque is read", "maker"),
        (TRUCK, 'line_volume = "18 mL"', 'line_volume = "18 mL"\nbore = "3 mm"\nlength = "1 in"',
         "nipples[1].line_volume", "given twice", "one of the two"),
        (TRUCK, 'holds = "2 h"', 'holds = "0 h"', "questions[0].holds", "not more than nothing", "leave it out"),
        (TRUCK, 'limit = { high = "0 km/h" }', 'limit = { high = "0 V" }', "preconditions[2].limit.high",
         "V is no unit of speed", "km/h"),
        (TRUCK, 'limit = { high = "0 km/h" }', 'limit = { low = "5 km/h" }', "preconditions[2].limit.low",
         "it must stand still", "write high alone"),
        (TRUCK, 'unit = "mL"\naffects = "level-set"', 'unit = "bar"\naffects = "level-set"',
         "steps_after[3].unit", "bar is no unit of volume", "mL"),
        (TRUCK, 'what = "level"\nunit = "mL"\nlimit', 'what = "level"\nunit = "turn"\nlimit',
         "steps_after[4].unit", "turn is asked for, and the limit is in mL", "one kind"),
        (TRUCK, 'bore = "3.2 mm"', 'bore = "32 in"', "nipples[0].bore", "more than any bore is (30 mm", "look"),
        (VAN, 'reservoir = "400 mL"', 'reservoir = "400 L"', "reservoir", "more than any reservoir is (5 L", "unit"),
        (TRUCK, 'rest = "15 s"', 'rest = "5 h"', "pump.rest", "more than any rest is (1 h at most)", "unit"),
        (TRUCK, 'voltage = { low = "11.5 V", high = "15.0 V" }', 'voltage = { low = "5 V", high = "6 V" }',
         "preconditions[3].limit", "11.5 V at least and 6 V at most", "one of the two"),
        (TRUCK, 'overlap = "50 %"', 'overlap = "60 %"', "passes[6].overlap",
         "opened 5 s after its start it is open for 50 % of the run of 10 s", "sooner"),
        (TRUCK, 'order = "with"\norder_tolerance = "5 s"\noverlap = "50 %"',
         'order = "after"\norder_tolerance = "1 s"\noverlap = "100 %"', "passes[6].overlap", "for 90 % of", "share"),
        (STORED, 'act = "read"\nwhat = "stored-pressure"', 'act = "volume"\nwhat = "stored-pressure"',
         "steps_before[5].act", "stored-pressure is no volume", "read"),
        (TRUCK, 'what = "boiling-point"', 'what = "boiling-pont"', "steps_before[3].what", "is not known", "boiling-p"),
        # Names.
        (TRUCK, 'id = "rear-right"', 'id = "rear right"', "nipples[1].id", "is not one word", "rear-left"),
        (TRUCK, 'name = "rear right"', 'name = "Rear  left"', "nipples[1].name", "is called", "of its own"),
        (TRUCK, 'nipples = ["rear-right"]', 'nipples = ["rear-left"]', "nipples[1]", "no pass visits", "take it out"),
        (TRUCK, "[[\"front-left-inner\", \"front-right-inner\"]]", '[["front-left-inner"]]',
         "nipples_may_be_open_together[0]", "one nipple alone", "two or more"),
        (TRUCK, "nipples_may_be_open_together = [[\"front-left-inner\", \"front-right-inner\"]]\n", "",
         "passes[5].nipples", "open at once in one run", "nipples_may_be_open_together"),
        (TRUCK, 'note = "the new caliper once more"', "clear = false", "passes[7].clear", "last visit", "leave"),
        (TRUCK, 'id = "mounted"', 'id = "gear"', "preconditions[1].name", "is called 'gear' as well", "of its own"),
        (TRUCK, 'name = "gear"\ntext = "The selector stands in P"\nequals = "P"', 'name = "gear"\ntext = "In P"',
         "preconditions[1]", "says nothing that must hold", "equals or limit"),
        (TRUCK, 'equals = "P"', 'equals = "P"\nlimit = { high = "1 V" }', "preconditions[1].limit", "equal", "one of"),
        (TRUCK, 'codes_set_by_work = ["C1B41-54"', 'codes_set_by_work = ["C1B4154"', "codes_set_by_work[0]",
         "is no trouble code", "C1B41-54"),
        (TRUCK, 'act = "scan"\n\n[[steps_after]]\nid = "wheels"', '\n[[steps_after]]\nid = "wheels"',
         "codes_set_by_work", "no step after the passes reads", "scan"),
        (TRUCK, "invented = true\n", "", "invented", "nothing else would warn", "invented = true"),
        # What only a run needs.
        (VAN, 'manual_uncertainty = "2 s"', 'manual_uncertainty = "2 s"\narmed_for = "60 s"', "armed_for",
         "no pass runs one", "leave it out"),
        (VAN, 'manual_uncertainty = "2 s"', 'manual_uncertainty = "2 s"\nvoltage = { low = "12 V" }', "voltage",
         "no pass runs one", "leave it out"),
        (VAN, "[[steps_before]]", '[[questions]]\nid = "q"\ntext = "Is it?"\n\n[[steps_before]]', "questions",
         "asked before arming", "leave it out"),
        (VAN, "[[steps_before]]", '[[preconditions]]\nname = "q"\ntext = "Is it?"\nequals = "on"\n\n[[steps_before]]',
         "preconditions", "before a wire command", "leave it out"),
        (VAN, 'volume = { low = "120 mL", high = "300 mL" }', 'seconds = "20 s"', "passes[0].seconds",
         "nothing runs", "wire command"),
        (VAN, 'volume = { low = "120 mL", high = "300 mL" }', "two_people = true", "passes[0].two_people",
         "nothing runs", "wire command"),
        # Waking.
        (TRUCK, 'source = "invented"\n\n[[steps_before]]', "\n[[steps_before]]", "wake.source", "not given", "publish"),
        (TRUCK, 'how = "Ignition on with the key, engine off. Do not press the pedal to wake it."\n', "", "wake.how",
         "not given", "improvises"),
        # Steps.
        (VAN, 'affects = "made-safe"\n', "", "steps_before", "no step makes the vehicle safe", "made-safe"),
        (STORED, 'caution = "Hands clear: every caliper moves now."\n', "", "steps_after[2].caution",
         "a dangerous step without a caution", "hands clear"),
        (TRUCK, 'also = ["wake"]\ncaution = "', 'also = ["wake"]\nsource = "', "steps_before[0].caution",
         "without a caution", "say what"),
        (VAN, 'affects = "made-safe"', 'affects = "made-safe"\nmay_skip = true', "steps_before[0].may_skip",
         "never left out", "take"),
        (VAN, 'text = "Chock', 'instrument = "jack"\ntext = "Chock', "steps_before[0].instrument", "nothing", "unit"),
        (VAN, 'text = "Chock', 'unit = "mL"\ntext = "Chock', "steps_before[0].unit", "nothing is read", "read"),
        (VAN, 'text = "Chock', 'limit = { low = "1 mL" }\ntext = "Chock', "steps_before[0].limit", "nothing", "read"),
        (VAN, 'text = "Chock', 'whole_pass = true\ntext = "Chock', "steps_before[0].whole_pass", "no pass", "out"),
        (VAN, '["DOT 3", "DOT 4", "DOT 5.1"]', '["DOT 4"]', "steps_before[4].choices", "nothing to choose", "two"),
        (VAN, '["DOT 3", "DOT 4", "DOT 5.1"]', '["DOT 4", "dot 4"]', "steps_before[4].choices[1]", "twice", "once"),
        (TRUCK, 'act = "identify"', 'act = "identify"\nperson = "second"', "steps_before[1].person", "machine", "own"),
        (TRUCK, "also = [\"closed\", \"clear\", \"capped\"]", 'also = ["torqued", "closed", "clear", "capped"]',
         "steps_after_each_pass[0].also[0]", "'torqued' is there twice", "once"),
        (TRUCK, 'what = "volume"\nunit = "mL"\nwhole_pass = true', 'what = "volume"\nunit = "mL"\nalso = ["closed"]',
         "steps_after_each_pass[1].also", "closed at a step before", "one step"),
        (TRUCK, 'affects = "torqued"\nalso = ["closed", ', 'affects = "closed"\nalso = ["torqued", ',
         "steps_after_each_pass[0].affects", "says so besides", "also"),
        (VAN, 'affects = "empty"', 'affects = "capped"', "steps_before[6].affects", "said of a nipple", "each_pass"),
        (VAN, 'affects = "empty"', 'affects = "refitted"', "steps_before[6].affects", "after the p", "steps_after"),
        (VAN, 'affects = "waste"', 'affects = "wake"', "steps_after[3].affects", "before the passes", "steps_before"),
        (VAN, 'what = "boiling-point"\nunit = "degC"', 'what = "torque"\nunit = "N.m"', "steps_before[1].what",
         "read of a nipple", "each_pass"),
        (VAN, 'what = "boiling-point"\nunit = "degC"', 'what = "wheel-torque"\nunit = "N.m"', "steps_before[1].what",
         "wheels come on after", "steps_after"),
        (VAN, '["DOT 3", "DOT 4", "DOT 5.1"]', "[]", "steps_before[4].choices", "this is empty", "left out"),
        (VAN, 'act = "volume"\nwhat = "volume"', 'act = "read"\nwhat = "volume"', "steps_after_each_pass[1].act",
         "a volume that moved", 'act = "volume"'),
        (VAN, 'what = "torque"\n', 'what = "torque"\nlimit = { low = "7 N.m", high = "7 lbf.ft" }\n',
         "steps_after_each_pass[0].limit", "'rear-right' has another torque", "leave it out"),
        (VAN, 'takes_at_least = "1 min"', 'takes_at_least = "1441 min"', "steps_after[0].takes_at_least",
         "longer than any step takes", "unit"),
        (VAN, 'id = "waste"', 'id = "waste/oil"', "steps_after[3].id", "is not one word", "slashes"),
        (VAN, 'id = "depot-21-vacuum"', 'id = "depot 21"', "id", "is not one word", "slashes"),
        (VAN, 'id = "depot-21-vacuum"', 'id = "depot/21"', "id", "is not one word", "slashes"),
        # What shows whether a nipple may be opened.
        (STORED, 'limit = { high = "3 bar" }\ncaution = "Above', 'caution = "Above', "steps_before[5].limit",
         "at what pressure a nipple may be opened", "the most that may be left"),
        (STORED, 'what = "stored-pressure"\n', 'what = "stored-pressure"\nmay_skip = true\n',
         "steps_before[5].may_skip", "is always read", "take may_skip out"),
        (STORED, '\ncaution = "Above this the unit can press a caliper by itself."', "", "steps_before[5].caution",
         "no caution", "what that pressure can do"),
        (VAN, 'what = "boiling-point"\n', 'what = "x-left"\naffects = "made-safe"\ncaution = "c"\n',
         "steps_before[1].limit", "at what reading it is safe", "give the limit"),
        (STORED, 'limit = { low = "120 N.m", high = "140 N.m" }\n', "", "steps_after[9].limit", "how tight the wheels",
         "what the maker publishes"),
        (STORED, 'circuit = "two"', 'circuit = "One"', "nipples[1].circuit", "spelt 'one' above",
         "in one way"),
        # The checks at the end.
        (VAN, 'affects = "road-test"\n', "", "steps_after", "there is no road test", 'question = "26" and why'),
        (VAN, LEAK, 'also = ["leak-check"]', "steps_after", "there is no pedal check", 'affects = "pedal-check"'),
        # What a figure can be at all.
        (STORED, 'opening = "0.5 turn"', 'opening = "50 turns"', "nipples[0].opening", "no way to open", "0.5 turn"),
        (STORED, 'opening = "0.5 turn"', 'opening = "0 turn"', "nipples[0].opening", "more than none", "0.5 turn"),
        (STORED, 'high = "140 N.m"', 'high = "1100 N.m"', "steps_after[9].limit.high",
         "1100 N.m is more than any wheel torque is (900 N.m at most)", "its unit"),
        (STORED, 'high = "12 N.m"', 'high = "120 N.m"', "nipples[0].torque.high", "more than any torque", "its unit"),
        (STORED, 'pressure_limit = { low = "0.8 bar", high = "1.4 bar" }', 'pressure_limit = { high = "14 bar" }',
         "pressure_limit.high", "14 bar is more than any feed pressure", "its unit"),
        # The course of the work.
        (TRUCK, 'affects = "feed-off"\nalso = ["waste"]', 'affects = "waste"', "steps_before[9].affects",
         "never taken off", "feed-off"),
        (STORED, 'affects = "depressurise"', 'affects = "waste"', "steps_before[10].affects", "never let off", "depr"),
        (STORED, 'affects = "service-mode-off"\n', "", "steps_before[4].affects", "never left", "service-mode-off"),
        (STORED, 'affects = "service-mode-on"\n', "", "steps_after[2].affects", "never entered", "service-mode-on"),
        (VAN, LEAK, 'also = ["leak-check", "pedal-check", "road-test"]\ncaution = "Slowly."', "steps_after[0].affects",
         "road-test comes before wheels-torqued", "exchange"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_named_where_it_is_mended(
    text: str, old: str, new: str, at: str, what: str, hint: str
) -> None:
    assert old in text
    found = mistakes(text.replace(old, new, 1))
    assert any(place == at and what in said and hint in way for place, said, way in found), found


def test_one_cause_is_one_mistake() -> None:
    """A word or name that is not known is not told again as all that hangs on it."""
    for old, new in (
        ('affects = "feed-on"', 'affects = "feed-in"'),
        ('nipples = ["rear-right"]', 'nipples = ["rear-rigth"]'),
        ('low = "1.5 bar", high = "2.4 bar" }\nnipples', 'low = "2.5 bar", high = "2.4 bar" }\nnipples'),
        ('longest_run = "20 s"', 'longest_run = "20 V"'),
    ):
        assert len(mistakes(TRUCK.replace(old, new, 1))) == 1, new


def test_the_level_is_read_after_the_last_pumping() -> None:
    level = VAN[VAN.index('[[steps_after]]\nid = "level"') : VAN.index('[[steps_after]]\nid = "wheels"')]
    text = VAN.replace(level, "").replace('[[steps_after]]\nid = "pedal"', f'{level}[[steps_after]]\nid = "pedal"')
    ((at, what, _),) = mistakes(text)
    assert (at, what) == ("steps_after[0].what", "the level is read before the pedal is pumped for the last time")


def test_the_feed_is_let_off_before_it_comes_off() -> None:
    text = STORED.replace('affects = "depressurise"', 'affects = "x"').replace("feed-off", "depressurise")
    text = text.replace('affects = "x"', 'affects = "feed-off"')
    assert ("steps_after[0].affects", "feed-off comes before depressurise", "exchange the two steps") in mistakes(text)


def test_nothing_is_filled_before_the_vehicle_is_made_safe() -> None:
    step = VAN[VAN.index('[[steps_before]]\nid = "make-safe"') : VAN.index('[[steps_before]]\nid = "fluid-test"')]
    text = VAN.replace(step, "").replace("[[steps_before_each_pass]]", f"{step}[[steps_before_each_pass]]")
    found = mistakes(text)
    assert ("steps_before[5].affects", "empty comes before made-safe", "exchange the two steps") in found
    assert ("steps_before[6].affects", "refill comes before made-safe", "exchange the two steps") in found


def test_a_question_left_out_with_its_reason_is_not_asked_for() -> None:
    out = '[[leaves_out]]\nquestion = "{}"\nwhy = "nobody lifts anything"\n\n[[nipples]]'
    text = VAN.replace("[[nipples]]", out.format(36), 1)
    assert load.from_text(text.replace('affects = "made-safe"\n', ""))
    bare = re.sub(r'\[\[steps_before\]\]\nid = "fluid-in-vehicle".*?\n\n', "", VAN, flags=re.S)
    assert load.from_text(bare.replace("[[nipples]]", out.format(2), 1).replace('fluid = "DOT 4"\n', ""))
    assert mistakes(text.replace("[[nipples]]", out.format(36), 1))[0][1] == "question 36 is left out twice"
    for number in ("0", "38", "999", "01"):
        assert mistakes(VAN.replace("[[nipples]]", out.format(number), 1))[0][1] == f"there is no question {number}"
    assert load.from_text(VAN.replace("[[nipples]]", out.format(1000), 1)).leaves_out[1].question == "1000"
    assert max(QUESTIONS) == LAST_QUESTION


@pytest.mark.parametrize(
    ("text", "old", "new", "at", "number", "hint"),
    [
        (VAN, 'question = "1"', 'question = "5"', "steps_before", 1, 'act = "identify"'),
        (TRUCK, 'affects = "fluid-grade"', 'affects = "x-label"', "fluid", 2, 'affects = "fluid-grade"'),
        (TRUCK, '["DOT 3, class 3", "DOT 4, class 4", "DOT 4, class 6", "DOT 5.1, class 5-1"]', '["DOT 3", "DOT 4"]',
         "fluid_class", 2, "take fluid_class out"),
        (VAN, 'what = "container-age"', 'what = "x-age"', "container_age", 3, 'what = "container-age"'),
        (TRUCK, 'voltage_gap = "15 s"\n', "", "voltage", 21, "give voltage_gap"),
        (VAN, 'what = "volume"', 'what = "x-bottle"', "balance_tolerance", 14, "give a step"),
        (VAN, 'what = "volume"', 'what = "x-bottle"', "reservoir", 15, 'what = "volume" under'),
        (VAN, 'what = "level"\nunit = "mL"\n\n', 'what = "x-level"\nunit = "mL"\n\n', "balance_tolerance", 14,
         "take balance_tolerance out"),
        (VAN, 'what = "torque"', 'what = "x-torque"', "nipples[0].torque", 23, 'what = "torque"'),
        (VAN, 'limit = { low = "300 mL", high = "400 mL" }\n', "", "steps_after[1].limit", 25, "give its limit"),
    ],
)  # fmt: skip
def test_a_question_that_no_step_of_the_procedure_can_answer_is_named_at_what_asks_it(
    text: str, old: str, new: str, at: str, number: int, hint: str
) -> None:
    assert old in text
    changed = text.replace(old, new, 1)
    said = [(where, how) for where, what, how in mistakes(changed) if f"question {number} could never be" in what]
    assert [where for where, _ in said] == [at] and hint in said[0][1]


@pytest.mark.parametrize("number", range(1, 38))
def test_what_the_procedure_asks_and_can_answer_is_never_left_out(number: int) -> None:
    """Of this van's: the order, for any may do, and what nothing in it asks."""
    left = f'[[leaves_out]]\nquestion = "{number}"\nwhy = "we do not look at this"\n\n[[nipples]]'
    text = VAN if number == 1 else VAN.replace("[[nipples]]", left, 1)
    if number in (1, 5, 6, 7, 8, 11, 12, 13, 16, 17, 18, 19, 20, 21, 22, 24, 27, 35):
        assert load.from_text(text)
    else:
        assert [what for _, what, _ in mistakes(text) if f"question {number} is never left out here" in what]


def test_a_level_that_is_read_for_the_balance_alone_may_leave_its_question_out() -> None:
    out = '[[leaves_out]]\nquestion = "25"\nwhy = "it is filled up on the road"\n\n[[nipples]]'
    bare = VAN.replace('limit = { low = "300 mL", high = "400 mL" }\n', "", 1)
    assert ["leave it out" in hint for _, what, hint in mistakes(bare) if "question 25" in what] == [True]
    assert load.from_text(bare.replace("[[nipples]]", out, 1)).leaves_out


def test_a_step_may_stand_overnight() -> None:
    assert load.from_text(VAN.replace('takes_at_least = "1 min"', 'takes_at_least = "24 h"', 1))


def test_the_checks_at_the_end_are_asked_for_or_left_out_with_the_reason() -> None:
    bare = VAN.replace('affects = "road-test"\n', "").replace(LEAK, "")
    assert ("steps_after", "there is no leak check and no pedal check and no road test after the passes") in [
        one[:2] for one in mistakes(bare)
    ]
    out = '[[leaves_out]]\nquestion = "26"\nwhy = "it stands in a museum"\n\n[[nipples]]'
    assert load.from_text(bare.replace("[[nipples]]", out, 1))


@pytest.mark.parametrize(
    ("step", "never"),
    [
        ('what = "stored-pressure"\nunit = "bar"\nlimit = { high = "3 bar" }', True),
        ('what = "x-rail"\nunit = "kPa"\nlimit = { low = "0 bar", high = "3 bar" }', True),
        ('what = "x-link"\nunit = "V"\nlimit = { high = "60 V" }\naffects = "made-safe"', True),
        ('what = "feed-pressure"\nunit = "bar"\nlimit = { high = "0.1 bar" }\nalso = ["depressurise"]', True),
        ('what = "feed-pressure"\nunit = "bar"\nlimit = { high = "2.4 bar" }', False),
        ('what = "vacuum"\nunit = "kPa"\nlimit = { low = "50 kPa", high = "80 kPa" }', False),
        ('what = "level"\nunit = "mL"\nlimit = { high = "300 mL" }', False),
    ],
)
def test_a_reading_that_shows_whether_it_is_safe_is_told_from_others(step: str, never: bool) -> None:
    text = f'[[steps_before]]\nid = "one"\ntext = "Read"\nact = "read"\n{step}\n\n[[passes]]'
    procedure = kept(VAN.replace("[[passes]]", text, 1))
    assert never_kept(procedure, procedure.steps_before[-1]) is never


def test_a_job_stays_readable_whose_procedure_would_not_be_taken_today() -> None:
    """What a journal keeps was taken once: it is read, and judged by the audit."""
    plain = load.to_document(load.from_text(VAN))
    del plain["fluid"]
    plain["steps_before"][0].pop("caution")
    assert load.from_document(plain).fluid == ""


def test_what_a_written_one_may_not_say_is_read_in_a_copy_that_a_journal_keeps() -> None:
    text = VAN.replace('reservoir = "400 mL"', 'reservoir = "1,500 mL"')
    text += '\n[[steps_before]]\nid = "drawn"\ntext = "Read it"\nact = "read"\nwhat = "vacuum"\nunit = "%"\n'
    text += '\n[[steps_after]]\nid = "mended"\ntext = "Seat cover mended"\n'
    found = {(at, what) for at, what, _ in mistakes(text)}
    assert ("reservoir", "1,500 mL may be 1.500 mL or 1500 mL") in found
    assert any(at.endswith(".unit") and what == "% is no unit of pressure" for at, what in found)
    assert any(at.endswith(".id") and what.startswith("'mended' is what the job itself writes") for at, what in found)
    kept = load.from_document(tomllib.loads(text))
    assert kept.reservoir == "1,500 mL"
    assert [step.what for step in kept.steps_before if step.id == "drawn"] == ["vacuum"]
    assert kept.steps_after[-1].id == "mended"


def test_no_step_has_an_id_that_the_job_itself_writes() -> None:
    steps = "".join(f'\n[[steps_after]]\nid = "{step}"\ntext = "Say {step}"\n' for step in sorted(OWN))
    found = mistakes(VAN + steps)
    assert [(what, hint) for at, what, hint in found if at.endswith(".id")] == [
        (
            f"{step!r} is what the job itself writes, so this step would be read as that",
            f'give the step another name, like "{step}-here"',
        )
        for step in sorted(OWN)
    ]


def test_every_step_of_the_job_that_has_a_name_is_kept_from_procedures() -> None:
    assert OWN_STEPS.keys() <= OWN
