"""`witnessmark person`: the shop's people, as they type it."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from witnessmark.cli.main import witnessmark
from witnessmark.errors import InputError, LocalError
from witnessmark.host.acting import register
from witnessmark.host.shop import Shop
from witnessmark.job.presence import signed_on


def run(shop: Path, *words: str, typed: str = "") -> Result:
    return CliRunner().invoke(witnessmark, ["person", *words, "--shop", str(shop)], input=typed)


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
    assert "t-otter: technician, signed on in entry 1" in run(shop, "list").output
    with Shop(shop).read() as journal:
        (entry,) = signed_on(journal.entries()).values()
    assert entry.done_by == "person:t-otter" and entry.body == {"proven": "pin", "role": "technician"}
    assert run(shop, "sign-off", "--by", "t-otter").exit_code == 0
    assert "signed on" not in run(shop, "list").output


def test_a_wrong_pin_and_an_unknown_id_sign_nobody_on(shop: Path) -> None:
    assert isinstance(run(shop, "sign-on", "--by", "t-otter", typed="9999\n").exception, LocalError)
    assert isinstance(run(shop, "sign-on", "--by", "t-crane", typed="0815\n").exception, InputError)
    assert not Shop(shop).journal_path.exists()


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
    with Shop(shop).read() as journal:
        last = list(journal.entries())[-1]
    assert (last.kind, last.done_by, last.body) == ("note", "person:l-crane", {"people_anew": "disk failed"})
    assert list(register(Shop(shop)).people) == ["l-crane"]
