"""A card with empty places: it is keyed in to its end, and what is not written proves nothing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.cli.bay import DATA, Bay
from tests.cli.test_entering import BOXED, CARD, CHECK, DAY

from witnessmark.host.card import entering
from witnessmark.job.screens.now import next_view
from witnessmark.job.walk.state import ACCEPT, REDO, JobState
from witnessmark.job.walk.steps import walk
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft, Entry
from witnessmark.procedure import load

SHIPPED = ["procedure", "vacuum", "stored_pressure"]
OF_THE_RECORD = {"clock-steps", "altered"}
"""Questions that any record answers, whatever was done."""
BEFORE = ["10:40 DOT 4", "10:41 2.0 bar", "10:42", "10:42:20 10:42:30"]
CLOSES = "10:43 8.1 N.m, clear, capped"


def open_job(bay: Bay, path: Path) -> str:
    return bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]


def findings(bay: Bay, job: str) -> dict[str, dict[str, Any]]:
    told = json.loads(bay.run("audit", job, "--json").stdout)
    return {one["id"]: one for one in told["findings"]}


def keyed(bay: Bay, job: str, *lines: str) -> tuple[str, list[Entry]]:
    """Key lines in and return what was said, and the entries made."""
    before = len(bay.entries(job))
    said = bay.run("job", "enter", job, *DAY, typed="\n".join(lines) + "\n\n")
    return said.output, bay.entries(job)[before:]


def made(entries: list[Entry]) -> list[tuple[str, str]]:
    return [
        (str(one.body.get("step", one.kind)), str(one.body.get("answer") or one.body.get("act", ""))) for one in entries
    ]


@pytest.fixture
def boxed(bay: Bay, tmp_path: Path) -> str:
    path = tmp_path / "boxes.toml"
    path.write_text(BOXED, encoding="utf-8")
    return open_job(bay, path)


@pytest.mark.parametrize("name", SHIPPED)
def test_a_card_on_which_nothing_is_written_is_keyed_in_to_its_end_and_proves_nothing(bay: Bay, name: str) -> None:
    job = open_job(bay, DATA / f"{name}.toml")
    procedure = load.load(DATA / f"{name}.toml")
    points = walk(procedure, procedure.passes)
    said, entries = keyed(bay, job, *["?"] * len(points))
    assert f"{len(points)} of {len(points)} steps" in said and "REALLY" not in said
    found = findings(bay, job)
    assert {one for one in found if found[one]["answer"] == "met"} <= OF_THE_RECORD
    assert {one for one in found if found[one]["answer"] == "not met"} == {"entered-live"}
    assert found["entered-live"]["text"].endswith(": not written on the card")
    assert len(found["entered-live"]["cites"]) == len(entries) >= len(points)
    stands = {one["text"] for one in json.loads(bay.run("sheet", job, "--json").stdout)["standing"]}
    told = "Nipple {} may be OPEN (the card does not say that it was closed): close it."
    assert stands == {told.format(one.name) for one in procedure.nipples}


@pytest.mark.parametrize("command", ["sheet", "statement", "tag"])
def test_what_is_not_written_stands_on_every_paper(bay: Bay, boxed: str, command: str) -> None:
    keyed(bay, boxed, *BEFORE, "?", "10:50")
    bay.fine(command, boxed, "-o", bay.folder / "paper.html")
    text = (bay.folder / "paper.html").read_text(encoding="utf-8")
    assert "may be OPEN (the card does not say that it was closed)" in text and "NOT RELEASED" in text
    if command != "tag":
        assert "not written on the card, so there is no proof of it: Clear? Close it, tighten it, cap on." in text


@pytest.mark.parametrize(
    ("line", "entries", "also", "answers"),
    [
        ("?", [("not-written", "torque")], [], ("no proof", "no proof", "no proof")),
        ("10:43 ?", [("not-written", "torque")], ["closed"], ("met", "no proof", "no proof")),
        ("10:43 ?, clear, capped", [("not-written", "torque")], ["closed", "clear", "capped"],
         ("met", "no proof", "met")),
        ("? ? clear", [("not-written", "torque")], ["clear"], ("no proof", "no proof", "no proof")),
        ("10:43 8.1 ?", [("torque", ""), ], ["closed"], ("met", "no proof", "no proof")),
        ("10:43 8.1, clear ?", [("torque", "")], ["closed", "clear"], ("met", "no proof", "met")),
        ("10:43 ?, not clear: bubbles", [("not-written", "torque"), ("not-clear", "skipped")], ["closed"],
         ("met", "no proof", "not met")),
    ],
)  # fmt: skip
def test_a_value_or_a_box_that_is_empty_says_nothing_and_what_is_ticked_beside_it_does(
    bay: Bay, boxed: str, line: str, entries: list[tuple[str, str]], also: list[str], answers: tuple[str, ...]
) -> None:
    said, found = keyed(bay, boxed, *BEFORE, line, "10:50")
    assert made(found[5:-1]) == entries and "6 of 6" in said and "REALLY" not in said
    assert found[5].body.get("also", []) == also
    told = findings(bay, boxed)
    assert tuple(told[one]["answer"] for one in ("served", "torque-cap", "ran-clear")) == answers


@pytest.mark.parametrize(
    ("at", "line", "kinds"),
    [
        (2, "?", ["not-written"]),
        (2, "? done", ["open"]),
        (3, "?", ["not-written"]),
        (3, "? ?", ["not-written"]),
        (3, "10:42:20 ?", ["intent", "outcome"]),
        (3, "? 10:42:30", ["intent", "outcome"]),
    ],
)
def test_an_opening_or_a_run_that_is_not_written_whole_proves_neither_when_nor_how_long(
    bay: Bay, boxed: str, at: int, line: str, kinds: list[str]
) -> None:
    lines = [*BEFORE, CLOSES, "10:50"]
    lines[at] = line
    said, found = keyed(bay, boxed, *lines)
    assert "6 of 6" in said
    assert [str(one.body.get("step", one.kind)) for one in found[at : at + len(kinds)]] == kinds
    told = findings(bay, boxed)
    assert {told[one]["answer"] for one in ("open-while-run", "opening-order")} == {"no proof"}
    assert (told["served"]["answer"] == "met") == (line != "?" or at != 2)
    assert (told["duration"]["answer"] == "met") == (at != 3)
    ended = [one.body for one in found if one.kind == "outcome"]
    assert [one["stop"] for one in ended] == (["unknown"] if line == "10:42:20 ?" else ["confirmed"] * len(ended))


def test_a_nipple_that_opens_with_the_run_may_be_empty_beside_it(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "with.toml"
    path.write_text(
        CARD.replace('order = "before"\norder_tolerance = "60 s"', 'order = "with"\norder_tolerance = "1 s"'),
        encoding="utf-8",
    )
    job = open_job(bay, path)
    said, found = keyed(bay, job, "10:40 DOT 4", "10:41 2.0", "10:42:20 10:42:30 ?", "?", "10:50")
    assert "5 of 5" in said
    assert made(found[2:6]) == [("intent", ""), ("outcome", ""), ("not-written", "open"), ("not-written", "close")]


def test_a_reading_outside_its_limits_another_fluid_and_a_no_are_left_behind_where_the_card_says_no_more(
    bay: Bay, tmp_path: Path
) -> None:
    path = tmp_path / "card.toml"
    text = CARD.replace("invented = true", 'invented = true\nfluid = "DOT 4"', 1)
    text = text.replace('    { question = "2", why = "of no matter here" },\n', "")
    path.write_text(text.replace("[[steps_before]]", f"{CHECK}[[steps_before]]", 1), encoding="utf-8")
    job = open_job(bay, path)
    said, found = keyed(bay, job, "10:39 no it drips by t-heron", "?", "10:40 DOT 3", "?", "10:41 2.6 bar", "?")
    assert "3 of 7 steps" in said and said.count("?") > 3
    assert [one for one, _ in made(found)] == ["leaks", "not-written", "grade", "not-written", "feed", "not-explained"]
    told = findings(bay, job)
    assert {told[one]["answer"] for one in ("fluid-kind", "final-checks")} == {"not met"}


def test_a_check_a_choice_and_a_second_person_may_be_empty(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    chosen = 'affects = "road-test"\nact = "check"\nchoices = ["stops straight", "pulls"]\n'
    text = CARD.replace("[[steps_before]]", f"{CHECK}[[steps_before]]", 1).replace('affects = "road-test"\n', chosen)
    path.write_text(text, encoding="utf-8")
    job = open_job(bay, path)
    said, found = keyed(bay, job, "10:39 yes by ?", "10:40 ?", "10:41 ?", "?", "?", "?", "10:50 ?")
    assert "7 of 7 steps" in said and "REALLY" not in said
    assert made(found)[0] == ("leaks", "confirmed") and {one for one, _ in made(found)[1:]} == {"not-written"}
    who = findings(bay, job)["who"]
    assert who["answer"] == "no proof" and "no entry beside it says who else was there" in who["text"]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["10:40 maybe"], "it does not say"),
        ([*BEFORE[:2], "? I think so"], "neither a time nor a mark"),
        ([*BEFORE[:2], "10:42 8.1"], "has no place on this line"),
        ([*BEFORE[:3], "10:42:20 10:42:30 10:42:25"], "has no place on this line"),
        ([*BEFORE[:3], "10:42:20"], "a time is missing"),
        ([BEFORE[0], "10:41"], "no value is written"),
        ([BEFORE[0], "? bar"], "bar"),
        ([BEFORE[0], "?2.1"], "is no time"),
    ],
)
def test_what_is_half_written_is_asked_again_with_the_way_on_and_recorded_nowhere(
    bay: Bay, boxed: str, lines: list[str], said: str
) -> None:
    if said == "it does not say":
        lines = ["10:40"]
    output, found = keyed(bay, boxed, *lines)
    assert said in output and "  do: " in output
    assert len(found) == len([one for one in lines[:-1] if ":" in one]) + (len(lines) > 4)


def test_the_job_goes_on_with_a_look_at_what_the_card_does_not_say_was_closed(bay: Bay, boxed: str) -> None:
    keyed(bay, boxed, *BEFORE, "?", "10:50")
    view = next_view(entering.state_of(bay.shop, boxed))
    assert (view.kind, view.nipples, view.pass_id) == ("close", ("rr",), "p1")
    assert "may be OPEN: the card does not say that it was closed" in view.text
    refused = bay.run("job", "close", boxed)
    assert "the card does not say that nipple rear right was closed" in str(refused.exception)


def test_a_later_pass_is_keyed_in_first_also_behind_a_closing_that_is_not_written(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "two.toml"
    one = CARD[CARD.index("[[passes]]") : CARD.index("[[steps_after]]")]
    more = "".join(one.replace('"p1"', f'"{name}"') for name in ("p2", "p3"))
    path.write_text(CARD.replace("[[steps_after]]", f"{more}[[steps_after]]"), encoding="utf-8")
    job = open_job(bay, path)
    said, found = keyed(bay, job, *BEFORE, "?", "first p3 the jack was in the way")
    assert "is no later pass" not in said and made(found)[-1] == ("pass-first", "confirmed")


def test_the_way_for_what_is_empty_is_said_once_and_stands_at_every_line(bay: Bay, boxed: str) -> None:
    said, _ = keyed(bay, boxed, *BEFORE)
    assert said.count("? is what the card leaves empty") == 1
    assert said.count(", or ?]") == 5


def test_entries_that_lack_the_same_are_named_together_and_what_was_seen_is_not_what_is_wrong_with_them(
    bay: Bay, boxed: str
) -> None:
    keyed(bay, boxed, *BEFORE[:3], "10:42:20 ?", "10:43 8.1, not clear: fine bubbles, capped", "?")
    found = findings(bay, boxed)["entered-live"]
    assert found["text"] == "entries 2-8: entered afterwards; entry 9: not written on the card (rests on runs told)"
    told = json.loads(bay.run("sheet", boxed, "--json").stdout)
    seen = {one["title"]: one.get("seen", "") for one in told["open"]}
    assert seen["Did it run clear at each nipple?"] == "p1: fine bubbles"
    assert seen["Were entries made as the work was done?"] == ""
    assert told["passes"][0]["ran"] == "started; its end is not written"


BOTTLE = """
[[steps_after_each_pass]]
id = "bottle"
text = "Read the bottle"
act = "volume"
what = "volume"
unit = "mL"
whole_pass = true
"""


def test_of_a_bottle_that_was_read_outside_its_limits_only_the_reason_is_missing(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "bottle.toml"
    asked = BOXED.replace('overlap = "90 %"', 'overlap = "90 %"\nvolume = { low = "120 mL", high = "300 mL" }')
    path.write_text(asked.replace("[[steps_after]]", f"{BOTTLE}\n[[steps_after]]"), encoding="utf-8")
    job = open_job(bay, path)
    said, found = keyed(bay, job, *BEFORE, CLOSES, "10:44 90", "?", "10:50")
    assert "7 of 7 steps" in said and made(found)[-2] == ("not-explained", "bottle")
    told = findings(bay, job)
    balance, live = told["fluid-balance"], told["entered-live"]
    assert (balance["answer"], "p1: 90 mL collected, asked 120 mL to 300 mL" in balance["text"]) == ("not met", True)
    missing = "why it stays outside its limits is not written on the card"
    assert f"entry {found[-2].seq}: {missing}" in live["text"]
    sheet = json.loads(bay.run("sheet", job, "--json").stdout)
    assert sheet["not_written"][-1] == f"read, and {missing}: volume 90 mL (p1)"
    assert sheet["passes"][0]["readings"][-1] == "volume 90 mL", "nothing says that the bottle was not read"
    assert f"bottle: stays as it was read; {missing} (p1)" in bay.fine("job", "show", job)


def write(bay: Bay, job: str, body: bodies.StepDone) -> JobState:
    with bay.shop.write() as journal:
        journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(body)))
    return entering.state_of(bay.shop, job)


@pytest.mark.parametrize("again", [True, False])
def test_a_run_that_is_not_written_is_done_again_or_accepted_and_nothing_is_asked_of_while_it_ran(
    bay: Bay, boxed: str, again: bool
) -> None:
    keyed(bay, boxed, *BEFORE[:2], "?", "?")
    assert next_view(entering.state_of(bay.shop, boxed)).kind == "close", "it may be open"
    shut = write(bay, boxed, bodies.StepDone(step="close", act="closed", pass_id="p1", nipple="rr"))
    view = next_view(shut)
    assert (view.kind, view.pass_id, [one.key for one in view.buttons]) == ("decide", "p1", ["r", "k"])
    assert "the card does not say that it ran" in view.text
    assert "pass p1: the card does not say that it ran" in str(bay.run("job", "close", boxed).exception)
    decision = bodies.StepDone(step=REDO if again else ACCEPT, act="done", pass_id="p1", said="enough came")
    after = write(bay, boxed, decision)
    ahead = [one.id for one in after.points[after.cursor :] if one.pass_id]
    assert ahead == (["p1:open:rr", "p1:run", "p1:torque:rr"] if again else ["p1:torque:rr"])
    view = next_view(after)
    assert view.kind != "decide" and "while it ran" not in view.text and not after.open_nipples
    bay.fine("sheet", boxed, "-o", bay.folder / "sheet.html")
    text = (bay.folder / "sheet.html").read_text(encoding="utf-8")
    assert 0 < text.find("Not written") < text.find("opening (p1") < text.find("Not part of this job")
    if again:
        keyed(bay, boxed, "10:52", "10:52:20 10:52:30", "10:53 8.1, clear, capped", "10:55")
        (line,) = json.loads(bay.run("sheet", boxed, "--json").stdout)["not_written"]
        anew = "p1 before it was done again"
        assert f"opening ({anew}); the run ({anew})" in line, "what the card leaves empty stays so on the papers"


@pytest.mark.parametrize(
    ("line", "act", "looked"), [("10:50 no, it pulled", "skipped", True), ("10:50", "done", False)]
)
def test_a_road_test_that_was_not_right_is_keyed_in_as_that(
    bay: Bay, boxed: str, line: str, act: str, looked: bool
) -> None:
    keyed(bay, boxed, *BEFORE, CLOSES, line)
    said = [one.body for one in bay.entries(boxed, kind="step") if one.body["step"] == "road-test"]
    assert [(one["act"], one.get("looked", False)) for one in said] == [(act, looked)]
