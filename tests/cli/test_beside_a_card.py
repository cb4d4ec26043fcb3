"""What a card has beside its passes: a look at the reservoir, its filling, and a note."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.bay import DATA, Bay
from tests.cli.test_empty_card import keyed, made, open_job
from tests.cli.test_entering import CARD, DAY

from witnessmark.host.card import entering

FED = """
[[steps_before]]
id = "feed-on"
text = "Put it under pressure"
affects = "pressurise"
caution = "Over 2.4 bar it bursts."
[[steps_before]]
id = "level"
text = "Read the level"
act = "read"
what = "level"
unit = "mL"
[[passes]]
"""
OFF = """[[steps_after]]
id = "feed-left"
text = "Let its pressure off"
affects = "depressurise"
caution = "What is left of it sprays."
"""
BEFORE = ["10:40 DOT 4", "10:41 2.0 bar", "10:41", "10:41 500 mL"]


@pytest.fixture
def fed(bay: Bay, tmp_path: Path) -> str:
    path = tmp_path / "fed.toml"
    text = CARD.replace("[[passes]]\n", FED, 1).replace("[[steps_after]]\n", f"{OFF}[[steps_after]]\n", 1)
    text = text.replace("invented = true", 'invented = true\nreservoir = "800 mL"', 1)
    left = (f'    {{ question = "{number}", why = "of no matter here" }},\n' for number in ("15", "24"))
    path.write_text(text.replace("leaves_out = [\n", f"leaves_out = [\n{''.join(left)}", 1), encoding="utf-8")
    return open_job(bay, path)


def test_a_look_a_filling_and_a_note_are_entries_as_the_bay_makes_them_and_the_walk_stays(bay: Bay, fed: str) -> None:
    lines = ["level 10:42 300", "off 10:42", "filled 10:43 200 mL", "10:44", "note p1 the hose was old", "10:45"]
    said, found = keyed(bay, fed, *BEFORE, *lines)
    look, off, filled, on, note, opened = found[4:]
    assert (look.kind, look.body["what"], look.body["step"], look.body["pass_id"]) == (
        "reading", "level", "level-look", "p1",
    )  # fmt: skip
    assert (off.body["step"], off.body["affects"]) == ("let-off-to-fill", "depressurise")
    assert (filled.body["what"], filled.body["affects"], filled.body["amount"]["value"]) == (
        "volume-in",
        "refill",
        "200",
    )
    assert (on.body["step"], on.body["affects"]) == ("feed-on", "pressurise"), "it is put on again before the pass"
    assert (note.body["step"], note.body["pass_id"], bay.words(note)["said"]) == ("said-note", "p1", "the hose was old")
    assert opened.body["act"] == "opened" and said.count("recorded\n") == 3
    assert {one.occurred.basis for one in (look, off, filled)} == {"typed"}
    assert "a note (p1): the hose was old" in bay.fine("job", "show", fed)


def test_a_filling_of_which_no_volume_is_written_is_one_and_leaves_the_sums_without_proof(bay: Bay, fed: str) -> None:
    _, found = keyed(bay, fed, *BEFORE, "filled 10:43 ?")
    assert (found[-1].kind, found[-1].body["step"], found[-1].body["affects"]) == ("step", "said-refill", "refill")
    assert not entering.state_of(bay.shop, fed).reservoir_empty


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("level", "a time is missing"),
        ("level 10:42", "it does not say how it stood"),
        ("level 10:42 ?", "it does not say how it stood"),
        ("level 10:42 90000 mL", "can hardly be"),
        ("filled 10:42 much", "much"),
        ("filled soon", "is no time"),
        ("note", "a note without words"),
        ("note p1", "a note without words"),
    ],
)
def test_what_is_half_written_beside_a_pass_is_asked_again_and_recorded_nowhere(
    bay: Bay, fed: str, line: str, said: str
) -> None:
    output, found = keyed(bay, fed, *BEFORE, line)
    assert said in output and "  do: " in output and len(found) == len(BEFORE)


def test_where_no_level_is_read_yes_says_that_it_stood_well(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    path.write_text(CARD, encoding="utf-8")
    job = open_job(bay, path)
    _, found = keyed(bay, job, "level 10:39 yes", "10:40 DOT 4")
    assert made(found)[0] == ("level-look", "confirmed")


def test_a_note_does_not_put_another_fluid_right(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    asks = CARD.replace('    { question = "2", why = "of no matter here" },\n', "", 1)
    path.write_text(asks.replace("invented = true", 'invented = true\nfluid = "DOT 4"', 1), encoding="utf-8")
    job = open_job(bay, path)
    keyed(bay, job, "10:40 DOT 3", "note it was the other shelf")
    assert entering.state_of(bay.shop, job).wrong_fluid == "DOT 3"


def test_the_whole_card_with_looks_fillings_and_notes_is_keyed_in(bay: Bay) -> None:
    job = open_job(bay, DATA / "procedure.toml")
    lines = ["?"] * 10
    lines += ["level 10:30 400 mL", "off 10:31", "filled 10:32 300 mL", "note p1 slow"]
    bay.fine("job", "enter", job, *DAY, typed="\n".join(lines) + "\n\n")
    told = json.loads(bay.run("sheet", job, "--json").stdout)
    assert [one["amount"] for one in told["timeline"]["readings"]] == ["400 mL", "300 mL"]


LAST = """[[steps_after]]
id = "topped-up"
text = "Fill it up"
act = "volume"
what = "volume-in"
unit = "mL"
affects = "level-set"
[[steps_after]]
id = "level-last"
text = "Read the level"
act = "read"
what = "level"
unit = "mL"
limit = { low = "100 mL", high = "400 mL" }
[[steps_after]]
"""


def test_what_was_drawn_off_at_the_end_is_the_entry_that_the_bay_makes(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "last.toml"
    path.write_text(CARD.replace("[[steps_after]]\n", LAST, 1), encoding="utf-8")
    job = open_job(bay, path)
    walked = ["10:40 DOT 4", "10:41 2.0 bar", "10:42", "10:42:20 10:42:30", "10:43"]
    said, found = keyed(
        bay, job, "drawn 10:40 120 mL", *walked, "drawn 10:44 194 mL", "drawn 10:45 ?", "drawn 10:45 20"
    )
    assert "no fluid is drawn off here" in said and "it does not say how much" in said
    sets, beside = (one.body for one in found[-2:])
    assert (sets["what"], sets["step"], sets["affects"]) == ("volume-drawn", "topped-up", "level-set")
    assert (beside["what"], beside["step"], beside["amount"]) == (
        "volume-drawn", "drawn-off", {"unit": "mL", "value": "20"},
    )  # fmt: skip
    point = entering.state_of(bay.shop, job).point
    assert point is not None and point.id == "level-last", "the level is read again behind it"
