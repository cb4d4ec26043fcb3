"""File and journal say the same of the people, or it is known what differs: where power goes, and after an editor."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from witnessmark.cli.main import witnessmark
from witnessmark.clock import ManualClock
from witnessmark.errors import InputError, JournalError, LocalError
from witnessmark.host import acting, roster
from witnessmark.host.shop import Shop
from witnessmark.journal import copying
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal
from witnessmark.people.person import Person
from witnessmark.people.register import Register, read, ready_path

LEAD = Person("l-heron", "lead")
PINS = {"l-heron": "4711", "t-otter": "0815", "l-stork": "2222"}


def lead(shop: Shop, by: str = "l-heron", pin: str = "") -> acting.Acting:
    return acting.lead(shop, by, "approve a wire command", lambda: pin or PINS[by])


def people(shop: Shop) -> list[Entry]:
    with shop.read() as journal:
        return list(journal.entries(kind="people"))


def put(shop: Shop, id_: str, role: str) -> Entry:
    def made(now: Register) -> Register:
        return Register(now.path, now.people, 2**4).add(id_, "lead" if role == "lead" else "technician", PINS[id_])

    return roster.change(shop, LEAD, "pin", "added", id_, made)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    found = Shop(tmp_path, ManualClock())
    put(found, "l-heron", "lead")
    put(found, "t-otter", "technician")
    return found


def by_hand(shop: Shop, edit: Callable[[dict[str, dict[str, object]]], object]) -> None:
    """Edit the people file as somebody with an editor would."""
    document = json.loads((shop.folder / roster.PEOPLE).read_bytes())
    edit(document["people"])
    (shop.folder / roster.PEOPLE).write_text(json.dumps(document), encoding="utf-8")


def make_lead(them: dict[str, dict[str, object]]) -> None:
    them["t-otter"]["role"] = "lead"


def give_pin(id_: str) -> Callable[[dict[str, dict[str, object]]], object]:
    other = read(Path("nowhere"), 2**4).add(id_, "lead", "9876").people[id_].pin
    return lambda them: them[id_].update(pin={"salt": other.salt, "digest": other.digest, "n": 16, "r": 8, "p": 1})


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (make_lead, "t-otter is a lead, not a technician"),
        (give_pin("t-otter"), "t-otter has another PIN"),
        (give_pin("l-heron"), "l-heron has another PIN"),
        (lambda them: them.update({"x-1": them["t-otter"]}), "x-1 is there, a technician"),
        (lambda them: them.pop("t-otter"), "t-otter, a technician, is not there"),
    ],
)
def test_a_people_file_that_was_edited_lets_no_lead_act_and_says_what_differs(
    shop: Shop, edit: Callable[[dict[str, dict[str, object]]], object], said: str
) -> None:
    assert lead(shop).proven == "pin"
    by_hand(shop, edit)
    with pytest.raises(LocalError, match="not as entry 2 says: ") as refused:
        acting.lead(shop, "l-heron", "approve a wire command", lambda: pytest.fail("no PIN is asked for"))
    assert said in refused.value.what
    with pytest.raises(LocalError, match="not as entry 2 says"):
        put(shop, "l-stork", "lead")
    assert len(people(shop)) == 2


def test_a_person_whose_own_line_is_as_recorded_may_still_say_that_they_are_here(shop: Shop) -> None:
    by_hand(shop, make_lead)
    assert acting.signed(shop, "l-heron", lambda: "4711").person.role == "lead"
    with pytest.raises(LocalError, match="not as entry 2 says"):
        acting.signed(shop, "t-otter", lambda: "0815")
    with pytest.raises(LocalError, match="not as entry 2 says"):
        acting.signed(shop, "l-heron", lambda: "4711", whole=True)


def test_a_lead_as_recorded_accepts_the_difference_and_it_is_an_entry(shop: Shop) -> None:
    by_hand(shop, make_lead)
    with pytest.raises(LocalError, match="t-otter is no lead whose PIN and role are as entry 2 says") as refused:
        roster.accept(shop, "t-otter", lambda: "0815", "by hand")
    assert "as recorded: l-heron" in refused.value.hint
    with pytest.raises(LocalError, match="not the PIN"):
        roster.accept(shop, "l-heron", lambda: "0815", "by hand")
    made = roster.accept(shop, "l-heron", lambda: "4711", "by hand")
    assert made.body["differences"] == ["t-otter is a lead, not a technician"] and made.body["why"] == "by hand"
    assert lead(shop, "t-otter").person.role == "lead"
    with pytest.raises(LocalError, match="as the journal says"):
        roster.accept(shop, "l-heron", lambda: "4711", "again")


def test_where_no_leads_line_is_as_recorded_the_file_is_made_anew_as_after_a_loss(shop: Shop) -> None:
    by_hand(shop, make_lead)
    with pytest.raises(LocalError, match="a lead in it is as recorded"):
        roster.begin_anew(shop, Person("l-stork", "lead"), "2222", "edited")
    by_hand(shop, give_pin("l-heron"))
    with pytest.raises(LocalError) as refused:
        lead(shop)
    assert "--anew REASON" in refused.value.hint
    roster.begin_anew(shop, Person("l-stork", "lead"), "2222", "edited")
    assert people(shop)[-1].body["act"] == "anew" and lead(shop, "l-stork").proven == "pin"
    with pytest.raises(InputError, match="nobody here is called"):
        lead(shop)


def test_a_damaged_file_can_be_made_anew_and_one_that_is_gone_is_missed(shop: Shop) -> None:
    path = shop.folder / roster.PEOPLE
    path.write_text("{", encoding="utf-8")
    with pytest.raises(InputError):
        lead(shop)
    roster.begin_anew(shop, LEAD, "1111", "damaged")
    path.unlink()
    with pytest.raises(InputError, match="is gone"):
        lead(shop)  # though nobody ever signed on: the entries tell of people


def test_a_shop_from_before_goes_on_and_its_leads_first_act_notes_the_people(tmp_path: Path) -> None:
    shop = Shop(tmp_path, ManualClock())
    read(tmp_path / roster.PEOPLE, 2**4).add("l-heron", "lead", "4711").write()
    assert lead(shop).proven == "pin" and not shop.journal_path.exists()
    shop.write().close()
    with pytest.raises(LocalError, match="not the PIN"):
        lead(shop, pin="0000")
    assert people(shop) == []
    lead(shop)
    lead(shop)
    (noted,) = people(shop)
    assert noted.body["act"] == "noted" and list(noted.body["people"]) == ["l-heron"]
    by_hand(shop, give_pin("l-heron"))
    with pytest.raises(LocalError, match="l-heron has another PIN"):
        lead(shop)


def test_a_shop_from_before_goes_on_with_its_first_change(tmp_path: Path) -> None:
    shop = Shop(tmp_path, ManualClock())
    read(tmp_path / roster.PEOPLE, 2**4).add("l-heron", "lead", "4711").write()
    put(shop, "t-otter", "technician")
    assert set(people(shop)[-1].body["people"]) == {"l-heron", "t-otter"} and lead(shop).proven == "pin"


def change_own_pin(shop: Shop) -> Entry:
    return roster.change(shop, LEAD, "pin", "pin", "l-heron", lambda now: now.change_pin("l-heron", "5555"))


def test_power_that_goes_before_the_entry_leaves_the_people_as_they_were(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def dies(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr(Journal, "append_many", dies)
        change_own_pin(shop)
    assert ready_path(shop.folder / roster.PEOPLE).exists()
    assert lead(shop, pin="4711").proven == "pin" and len(people(shop)) == 2
    change_own_pin(shop)
    assert lead(shop, pin="5555").proven == "pin"


def test_power_that_goes_after_the_entry_and_before_the_file_finishes_the_change_later(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def dies(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr(Register, "put_in_place", dies)
        change_own_pin(shop)
    assert len(people(shop)) == 3
    found = roster.of(shop).people
    assert read(shop.folder / roster.PEOPLE).people == found.people  # put in place by whoever looks
    assert lead(shop, pin="5555").proven == "pin"
    assert not ready_path(shop.folder / roster.PEOPLE).exists()


def test_power_that_goes_after_the_first_entry_of_a_shop_does_not_lock_it_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = Shop(tmp_path, ManualClock())

    def dies(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr(Register, "put_in_place", dies)
        put(shop, "l-heron", "lead")
    assert lead(shop).proven == "pin"


def test_a_file_that_was_cut_off_while_it_was_laid_ready_is_forgotten(shop: Shop) -> None:
    ready_path(shop.folder / roster.PEOPLE).write_text('{"format": "witn', encoding="utf-8")
    assert lead(shop).proven == "pin"
    by_hand(shop, make_lead)
    with pytest.raises(LocalError, match="not as entry 2 says"):
        lead(shop)
    ready_path(shop.folder / roster.PEOPLE).unlink()


def test_a_journal_that_cannot_be_written_changes_nobody(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise JournalError("it cannot be recorded: full", hint="check the disk")

    with monkeypatch.context() as patched, pytest.raises(JournalError):
        patched.setattr(Journal, "append_many", full)
        put(shop, "l-stork", "lead")
    assert set(roster.of(shop).people.people) == {"l-heron", "t-otter"}


def test_a_journal_that_cannot_be_read_still_lets_the_lead_act_who_must_mend_it(shop: Shop) -> None:
    shop.journal_path.write_bytes(b"no database")
    assert lead(shop).proven == "pin"


def test_a_copy_of_the_journal_that_is_put_back_by_a_lead_goes_on_with_the_people_as_they_are(tmp_path: Path) -> None:
    shop, copy = Shop(tmp_path / "shop"), tmp_path / "copy.db"
    put(shop, "l-heron", "lead")
    copying.copy(shop.journal_path, copy, shop.clock)
    put(shop, "t-otter", "technician")
    words = ["restore", str(copy), "--accept-shorter", "--by", "l-heron", "--shop", str(shop.folder)]
    done = CliRunner().invoke(witnessmark, words, input="4711\n")
    assert done.exit_code == 0, done.exception
    noted = people(shop)[-1]
    assert (noted.body["act"], set(noted.body["people"])) == ("noted", {"l-heron", "t-otter"})
    assert roster.of(shop).differences == ()


def test_a_copy_that_is_put_back_hides_no_change_by_hand(shop: Shop, tmp_path: Path) -> None:
    before = roster.of(shop)
    by_hand(shop, make_lead)
    roster.note_restored(shop, LEAD, "pin", before)
    assert len(people(shop)) == 2 and roster.of(shop).differences
