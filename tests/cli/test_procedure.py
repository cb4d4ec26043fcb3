"""`witnessmark procedure` and `card`: begin, check, show, and print one."""

from __future__ import annotations

import re
from pathlib import Path

from tests.cli.bay import MAP, PROCEDURE, Bay

from witnessmark.procedure.load import load
from witnessmark.procedure.steps import each_step

FILLED = {
    "a few words": "Fluid change by hand",
    "document and page": "the maker's manual, page 12",
    "which vehicle": "Depot unit 3, invented",
    "the grade": "DOT 4",
    "between full": "400 mL",
    "where it is,": "rear right",
    "hydraulic circuit": "rear",
    "half a turn": "half a turn",
    "lifted and supported": "Chock the wheels, set rated supports",
    "least torque": "7 N.m",
    "greatest torque": "9 N.m",
    "lowest level": "300 mL",
    "highest level": "400 mL",
    "driven and braked": "Drive and brake from walking pace first",
}


def fill_in(text: str) -> str:
    """Fill in everything that a new procedure leaves open."""
    for part, value in FILLED.items():
        text, count = re.subn(f'"FILL IN: [^"]*{part}[^"]*"', f'"{value}"', text)
        assert count == 1, part
    return text


def test_a_new_procedure_is_not_finished_and_check_names_all_that_is_left_with_line_and_key(
    bay: Bay, tmp_path: Path
) -> None:
    made = tmp_path / "own.toml"
    bay.fine("procedure", "new", made)
    text = made.read_text(encoding="utf-8")
    result = bay.run("procedure", "check", made)
    assert result.exit_code == 1
    assert text.count('"FILL IN') == result.output.count("this is not filled in yet") == len(FILLED)
    assert f"{len(FILLED)} mistakes:" in result.output
    line = text[: text.index("the least torque")].count("\n") + 1
    assert f"line {line}, nipples[0].torque.low: this is not filled in yet (the least torque" in result.output
    assert bay.run("procedure", "new", made).exit_code == 2


def test_a_new_procedure_that_was_filled_in_is_one_that_check_accepts(bay: Bay, tmp_path: Path) -> None:
    made = tmp_path / "own.toml"
    bay.fine("procedure", "new", made)
    made.write_text(fill_in(made.read_text(encoding="utf-8")), encoding="utf-8")
    assert "own.toml: good. 1 pass, 1 nipple;" in bay.fine("procedure", "check", made)


def test_no_job_opens_by_a_procedure_that_is_not_filled_in(bay: Bay, tmp_path: Path) -> None:
    made = tmp_path / "own.toml"
    bay.fine("procedure", "new", made)
    words = ("job", "open", "--procedure", made, "--vehicle", "unit-3", "--grade", "told", "--by", "otter")
    result = bay.run(*words)
    assert "title: this is not filled in yet (what this procedure does" in str(result.exception)
    assert not bay.shop.journal_path.exists()
    made.write_text(fill_in(made.read_text(encoding="utf-8")), encoding="utf-8")
    assert "is open: Fluid change by hand" in bay.fine(*words)


def test_check_explains_every_mistake_with_line_and_key(bay: Bay, tmp_path: Path) -> None:
    made = tmp_path / "own.toml"
    bay.fine("procedure", "new", made)
    text = fill_in(made.read_text(encoding="utf-8"))
    text = text.replace('"rear-right"]', '"rear-rigth"]').replace("fluid =", "fluit =")
    made.write_text(text, encoding="utf-8")
    result = bay.run("procedure", "check", made, PROCEDURE)
    assert result.exit_code == 1
    assert "line 13, fluit: key 'fluit' is not known (did you mean fluid?)" in result.output
    assert "passes[0].nipples[0]: nipple 'rear-rigth' is not known" in result.output
    assert "procedure.toml: good. 8 passes" in result.output


def test_check_names_runs_that_a_map_does_not_allow(bay: Bay, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    text = PROCEDURE.read_text(encoding="utf-8").replace('longest_run = "20 s"', 'longest_run = "60 s"')
    other.write_text(text.replace('seconds = "12 s"', 'seconds = "59 s"', 1), encoding="utf-8")
    assert bay.run("procedure", "check", other).exit_code == 0
    result = bay.run("procedure", "check", other, "--map", MAP)
    assert result.exit_code == 1 and "pass p2: 59 s are asked for, at most" in result.output, result.output
    assert "write other seconds into the procedure" in result.output


def test_check_names_wire_commands_that_a_map_does_not_have(bay: Bay, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    text = PROCEDURE.read_text(encoding="utf-8").replace('"pump-rear"', '"pump-reer"')
    other.write_text(text, encoding="utf-8")
    assert bay.run("procedure", "check", PROCEDURE, "--map", MAP).exit_code == 0
    result = bay.run("procedure", "check", other, "--map", MAP)
    assert result.exit_code == 1 and "the map does not have pump-reer" in result.output


def test_check_and_open_name_a_precondition_that_the_map_never_reads_so(bay: Bay, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    text = PROCEDURE.read_text(encoding="utf-8").replace('equals = "on"', 'equals = "On"')
    other.write_text(text, encoding="utf-8")
    line = text[: text.index('equals = "On"')].count("\n") + 1
    result = bay.run("procedure", "check", other, "--map", MAP)
    assert result.exit_code == 1 and "did you mean on?" in result.output
    assert f"other.toml line {line}, preconditions[0].equals: the map never reads ignition as 'On'" in result.output
    words = ("--procedure", other, "--map", MAP, "--vehicle", "unit-14", "--link", "canbus:virtual/a")
    assert "the map never reads ignition as 'On'" in str(bay.run("job", "open", *words).exception)
    assert bay.entries(kind="job-opened") == []


def test_show_gives_the_walk_in_order_and_says_that_it_is_invented(bay: Bay) -> None:
    shown = bay.fine("procedure", "show", PROCEDURE, "--scope", "nipples rear-right")
    assert "INVENTED: never on a real vehicle" in shown and "run pump-rear for 12 s" in shown
    assert "run pump-front" not in shown
    assert "pump: a run of at most 20 s, 15 s of rest after each, at most 90 s within 240 s; for pump-rear, " in shown
    assert shown.index("Fit the feed lid") < shown.index("run pump-rear") < shown.index("Take the feed lid off")


def test_show_gives_every_figure_that_the_job_is_held_to(bay: Bay) -> None:
    shown = bay.fine("procedure", "show", PROCEDURE)
    read = load(PROCEDURE)
    bands = [one.torque for one in read.nipples] + [one.pressure for one in read.passes] + [read.voltage]
    bands += [step.limit for _, step in each_step(read)] + [one.volume for one in read.passes]
    for end in {end for band in bands if band for end in (band.low, band.high) if end}:
        assert end in shown, end
    for one in (*read.preconditions, *read.questions, *(step for _, step in each_step(read))):
        assert one.text in shown
    instruments = {step.instrument for _, step in each_step(read) if step.instrument}
    assert instruments and all(f"with {name}" in shown for name in instruments)
    assert f"for 12 s within {read.passes[0].seconds_tolerance}, its nipple open for" in shown


def test_show_says_which_nipples_open_on_the_cue(bay: Bay) -> None:
    shown = bay.fine("procedure", "show", PROCEDURE)
    assert shown.count("on the cue, as it starts") == 1
    assert "within 90 s before; open front right, inner on the cue, as it starts" in shown


def test_a_card_is_written_for_a_procedure(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "card.html"
    bay.fine("card", PROCEDURE, "-o", path, "--scope", "nipples rear-right")
    text = path.read_text(encoding="utf-8")
    assert "rear right" in text and "front left, outer" not in text


def test_new_tells_of_steps_that_may_repeat_and_show_gives_each_its_key(bay: Bay, tmp_path: Path) -> None:
    made = tmp_path / "own.toml"
    bay.fine("procedure", "new", made)
    text = made.read_text(encoding="utf-8")
    assert "# may_repeat = true lets a step be done again" in text
    made.write_text(fill_in(text), encoding="utf-8")
    shown = bay.fine("procedure", "show", made)
    assert "nothing is wet  [d] again later" in shown and re.search(
        r"Read the level \(asked 300 mL to 400 mL\)  \[g\] again later", shown
    )
