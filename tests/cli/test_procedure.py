"""`witnessmark procedure` and `card`: begin, check, show, and print one."""

from __future__ import annotations

from pathlib import Path

from tests.cli.bay import MAP, PROCEDURE, Bay


def test_a_new_procedure_is_one_that_check_accepts(bay: Bay, tmp_path: Path) -> None:
    made = tmp_path / "own.toml"
    bay.fine("procedure", "new", made)
    assert "own.toml: good. 1 pass, 1 nipple;" in bay.fine("procedure", "check", made)
    assert bay.run("procedure", "new", made).exit_code == 2


def test_check_explains_every_mistake_with_line_and_key(bay: Bay, tmp_path: Path) -> None:
    made = tmp_path / "own.toml"
    bay.fine("procedure", "new", made)
    text = made.read_text(encoding="utf-8").replace('"rear-right"]', '"rear-rigth"]').replace("fluid =", "fluit =")
    made.write_text(text, encoding="utf-8")
    result = bay.run("procedure", "check", made, PROCEDURE)
    assert result.exit_code == 1
    assert "line 7, fluit: key 'fluit' is not known (did you mean fluid?)" in result.output
    assert "passes[0].nipples[0]: nipple 'rear-rigth' is not known" in result.output
    assert "procedure.toml: good. 8 passes" in result.output


def test_check_names_wire_commands_that_a_map_does_not_have(bay: Bay, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    text = PROCEDURE.read_text(encoding="utf-8").replace('"pump-rear"', '"pump-reer"')
    other.write_text(text, encoding="utf-8")
    assert bay.run("procedure", "check", PROCEDURE, "--map", MAP).exit_code == 0
    result = bay.run("procedure", "check", other, "--map", MAP)
    assert result.exit_code == 1 and "the map does not have pump-reer" in result.output


def test_show_gives_the_walk_in_order_and_says_that_it_is_invented(bay: Bay) -> None:
    shown = bay.fine("procedure", "show", PROCEDURE, "--scope", "nipples rear-right")
    assert "INVENTED: never on a real vehicle" in shown and "run pump-rear for 12 s" in shown
    assert "pump-front" not in shown
    assert shown.index("Fit the feed lid") < shown.index("run pump-rear") < shown.index("Take the feed lid off")


def test_show_says_which_nipples_open_on_the_cue(bay: Bay) -> None:
    shown = bay.fine("procedure", "show", PROCEDURE)
    assert shown.count("on the cue, as it starts") == 1
    assert "run pump-front for 10 s; open front right, inner on the cue, as it starts" in shown


def test_a_card_is_written_for_a_procedure(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "card.html"
    bay.fine("card", PROCEDURE, "-o", path, "--scope", "nipples rear-right")
    text = path.read_text(encoding="utf-8")
    assert "rear right" in text and "front left, outer" not in text
