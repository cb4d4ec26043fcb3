"""`witnessmark person`: the shop's people, as they type it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tests.cli.bay import Bay

from witnessmark.cli.main import witnessmark
from witnessmark.errors import InputError, JournalError, LocalError
from witnessmark.host.acting import register
from witnessmark.host.shop import Shop
from witnessmark.job.presence import signed_on
from witnessmark.journal.entry import Entry


def run(shop: Path, *words: str, typed: str = "") -> Result:
    return CliRunner().invoke(witnessmark, ["person", *words, "--shop", str(shop)], input=typed)


def entries(shop: Path, kind: str) -> list[Entry]:
    with Shop(shop).read() as journal:
        return list(journal.entries(kind=kind))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    assert run(tmp_path, "add", "l-heron", "--role", "lead", typed="4711\n4711\n").exit_code == 0
    assert run(tmp_path, "add", "t-otter", "--by", "l-heron", typed="4711\n0815\n0815\n").exit_code == 0
    return tmp_path


def test_the_first_person_is_the_lead_and_the_lead_adds_the_others(shop: Path) -> None:
    people = register(Shop(shop))
    assert {id_: one.role for id_, one in people.people.items()} == {"l-heron": "lead", "t-otter": "technician"}


@pytest.mark.parametrize(
    "words", [("add", "t-crane"), ("remove", "l-heron"), ("pin", "l-heron", "--new-pin-file", "nowhere")]
)
def test_what_only_a_lead_may_do_is_refused_to_a_technician(shop: Path, words: tuple[str, ...]) -> None:
    before = register(Shop(shop)).people
    result = run(shop, *words, "--by", "t-otter", typed="0815\n1234\n1234\n")
    assert isinstance(result.exception, LocalError) and "only a shop lead may" in str(result.exception)
    assert register(Shop(shop)).people == before


def test_a_first_technician_and_two_different_new_pins_are_refused(tmp_path: Path) -> None:
    assert isinstance(run(tmp_path, "add", "t-otter", typed="0815\n0815\n").exception, LocalError)
    assert run(tmp_path, "add", "l-heron", "--role", "lead", typed="4711\n4712\n").exit_code != 0
    assert not register(Shop(tmp_path))


def test_one_changes_ones_own_pin_with_the_old_one_and_a_lead_anybodys(shop: Path) -> None:
    assert run(shop, "pin", "t-otter", "--by", "t-otter", typed="0815\n1111\n1111\n").exit_code == 0
    assert run(shop, "pin", "t-otter", "--by", "l-heron", typed="4711\n2222\n2222\n").exit_code == 0
    assert register(Shop(shop)).authenticate("t-otter", "2222", 0).id == "t-otter"


def test_signing_on_and_off_are_entries_and_the_list_shows_who_is_here(shop: Path) -> None:
    assert run(shop, "sign-on", "--by", "t-otter", typed="0815\n").exit_code == 0
    assert "t-otter: technician, signed on in entry 3" in run(shop, "list").output
    with Shop(shop).read() as journal:
        (entry,) = signed_on(journal.entries()).values()
    assert entry.done_by == "person:t-otter" and entry.body == {"proven": "pin", "role": "technician"}
    assert run(shop, "sign-off", "--by", "t-otter").exit_code == 0
    assert "signed on" not in run(shop, "list").output


def test_a_wrong_pin_and_an_unknown_id_sign_nobody_on(shop: Path) -> None:
    assert isinstance(run(shop, "sign-on", "--by", "t-otter", typed="9999\n").exception, LocalError)
    assert isinstance(run(shop, "sign-on", "--by", "t-crane", typed="0815\n").exception, InputError)
    assert not entries(shop, "sign-on")


def test_a_shop_without_pins_takes_an_id_at_its_word_and_says_so(tmp_path: Path) -> None:
    assert run(tmp_path, "sign-on", "--by", "t-otter").exit_code == 0
    with Shop(tmp_path).read() as journal:
        (entry,) = signed_on(journal.entries()).values()
    assert entry.body["proven"] == "name only" and entry.body["role"] == "technician"


def test_no_pin_is_ever_shown_or_written(shop: Path) -> None:
    result = run(shop, "sign-on", "--by", "t-otter", typed="0815\n")
    assert "0815" not in result.output
    assert all(b"0815" not in path.read_bytes() for path in shop.iterdir() if path.is_file())


def test_a_people_file_that_is_gone_opens_nothing_once_pins_were_used(shop: Path) -> None:
    run(shop, "sign-on", "--by", "l-heron", typed="4711\n")
    (shop / "people.json").unlink()
    for words in (("sign-on", "--by", "t-otter"), ("add", "t-crane", "--role", "lead"), ("list",)):
        result = run(shop, *words, typed="1234\n1234\n")
        assert isinstance(result.exception, InputError) and "people file is gone" in str(result.exception)
        assert "--anew REASON" in result.exception.hint
    assert not (shop / "people.json").exists()
    with Shop(shop).read() as journal:
        assert len(list(journal.entries(kind="sign-on"))) == 1


def test_a_people_file_made_anew_is_an_entry_that_names_who_and_why(shop: Path) -> None:
    run(shop, "sign-on", "--by", "l-heron", typed="4711\n")
    there = run(shop, "add", "l-crane", "--role", "lead", "--anew", "disk failed", typed="1234\n1234\n")
    assert isinstance(there.exception, LocalError) and "is there" in str(there.exception)
    (shop / "people.json").unlink()
    no_lead = run(shop, "add", "t-crane", "--anew", "disk failed", typed="1234\n1234\n")
    assert isinstance(no_lead.exception, LocalError) and "add the lead first" in no_lead.exception.hint
    assert run(shop, "add", "l-crane", "--role", "lead", "--anew", " ", typed="1234\n1234\n").exit_code == 1
    made = run(shop, "add", "l-crane", "--role", "lead", "--anew", "disk failed", typed="1234\n1234\n")
    assert made.exit_code == 0, made.output
    last = entries(shop, "people")[-1]
    assert (last.done_by, last.body["act"], last.body["why"]) == ("person:l-crane", "anew", "disk failed")
    assert list(register(Shop(shop)).people) == list(last.body["people"]) == ["l-crane"]
    assert "l-heron" not in run(shop, "list").output  # who was signed on by the lost file is so no more


def test_every_change_of_the_people_is_an_entry_that_says_who_did_what_to_whom(shop: Path) -> None:
    assert run(shop, "role", "t-otter", "lead", "--by", "l-heron", typed="4711\n").exit_code == 0
    assert run(shop, "pin", "t-otter", "--by", "t-otter", typed="0815\n1111\n1111\n").exit_code == 0
    assert run(shop, "remove", "l-heron", "--by", "t-otter", typed="1111\n").exit_code == 0
    made = entries(shop, "people")
    told = [(one.done_by, one.body["act"], one.body["person"], one.body["proven"]) for one in made]
    assert told == [
        ("person:l-heron", "added", "l-heron", "name only"),
        ("person:l-heron", "added", "t-otter", "pin"),
        ("person:l-heron", "role", "t-otter", "pin"),
        ("person:t-otter", "pin", "t-otter", "pin"),
        ("person:t-otter", "removed", "l-heron", "pin"),
    ]
    shown = run(shop, "list", "--changes").output.splitlines()
    assert shown[2].endswith("l-heron: t-otter is now a lead") and len(shown) == 5
    assert shown[0].endswith("l-heron, name only: l-heron is added, a lead")


def test_no_entry_holds_what_the_people_file_keeps_of_a_pin(shop: Path) -> None:
    kept = [one.pin for one in register(Shop(shop)).people.values()]
    text = "".join(str(one) for one in entries(shop, "people"))
    assert all(one.salt not in text and one.digest not in text for one in kept)


def test_whoever_is_removed_or_gets_another_role_is_signed_off_by_it(shop: Path) -> None:
    run(shop, "sign-on", "t-otter", typed="0815\n")
    run(shop, "sign-on", "l-heron", typed="4711\n")
    assert run(shop, "role", "t-otter", "lead", "--by", "l-heron", typed="4711\n").exit_code == 0
    (off,) = entries(shop, "sign-off")
    assert (off.done_by, off.entered_by) == ("person:t-otter", "person:l-heron")
    listed = run(shop, "list").output.splitlines()
    assert listed[0].startswith("l-heron: lead, signed on") and listed[1] == "t-otter: lead"


def test_the_last_lead_cannot_be_made_a_technician(shop: Path) -> None:
    refused = run(shop, "role", "l-heron", "technician", "--by", "l-heron", typed="4711\n")
    assert isinstance(refused.exception, LocalError) and "the only lead" in str(refused.exception)
    assert len(entries(shop, "people")) == 2


def test_one_signs_on_by_the_id_alone_and_two_ids_are_refused(shop: Path) -> None:
    assert "l-heron is signed on as lead" in run(shop, "sign-on", "l-heron", typed="4711\n").output
    assert run(shop, "sign-on", "l-heron", "--by", "t-otter", typed="4711\n").exit_code == 2
    assert "l-heron is signed off" in run(shop, "sign-off", "l-heron").output


def test_nobody_is_signed_off_who_is_not_signed_on(shop: Path, tmp_path: Path) -> None:
    run(shop, "sign-on", "l-heron", typed="4711\n")
    run(shop, "sign-on", "t-otter", typed="0815\n")
    assert run(shop, "sign-off", "t-otter").exit_code == 0
    for name in ("ghost-1", "t-otter"):
        refused = run(shop, "sign-off", name).exception
        assert isinstance(refused, LocalError) and f"{name} is not signed on" in refused.what
        assert refused.hint == "signed on here: l-heron"
    assert len(entries(shop, "sign-off")) == 1
    assert isinstance(run(tmp_path / "new", "sign-off", "ghost-1").exception, JournalError)
    assert not Shop(tmp_path / "new").journal_path.exists()


def test_where_no_pins_are_set_nobody_is_told_a_role(tmp_path: Path) -> None:
    said = run(tmp_path, "sign-on", "lead-1").output
    assert "technician" not in said and "by name only" in said and "person add ID --role lead" in said


def test_what_cannot_be_added_is_refused_before_any_pin_is_asked_for(shop: Path, tmp_path: Path) -> None:
    taken = run(shop, "add", "t-otter", "--by", "l-heron")
    assert isinstance(taken.exception, InputError) and "PIN" not in taken.output
    first = run(tmp_path / "new", "add", "t-otter")
    assert isinstance(first.exception, LocalError) and "PIN" not in first.output


def test_the_prompt_names_whose_pin_it_asks_for(shop: Path) -> None:
    result = run(shop, "add", "t-crane", "--by", "l-heron", typed="4711\n1234\n1234\n")
    assert result.exit_code == 0 and "PIN of l-heron" in result.stderr and "New PIN (4 to 12 digits)" in result.stderr


def test_without_a_terminal_a_pin_is_read_from_the_input_with_a_line_that_says_so(bay: Bay) -> None:
    bay.folder.mkdir()
    script = "import sys; from witnessmark.cli.main import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", script, "person", "add", "l-heron", "--role", "lead"],
        env={**os.environ, **bay.environment}, input="4711\n4711\n", capture_output=True, text=True,
        start_new_session=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "there is no terminal to ask at" in done.stderr and "Warning" not in done.stderr
    assert "4711" not in done.stdout + done.stderr


def test_the_first_lead_may_name_the_journal_that_is_made_by_it(tmp_path: Path) -> None:
    words = ("add", "l-heron", "--role", "lead", "--origin", "bay1.depot.example")
    assert run(tmp_path, *words, typed="4711\n4711\n").exit_code == 0
    with Shop(tmp_path).read() as journal:
        assert journal.genesis().body["origin"] == "bay1.depot.example"
    again = run(tmp_path, "add", "t-otter", "--by", "l-heron", "--origin", "bay2.depot.example")
    assert isinstance(again.exception, InputError) and "leave --origin away" in again.exception.hint
