from __future__ import annotations

import stat
from pathlib import Path

import pytest

from witnessmark.clock import NS
from witnessmark.errors import InputError, LocalError
from witnessmark.people import pin as pins
from witnessmark.people.register import CLOSED_S, TRIES, Register, read

CHEAP = 2**4
"""scrypt's n in tests; the shipped cost is checked once below."""


@pytest.fixture
def people(tmp_path: Path) -> Register:
    empty = read(tmp_path / "people.json", CHEAP)
    assert not empty
    return empty.add("l-heron", "lead", "4711").add("t-otter", "technician", "0815").write()


def test_the_file_gives_the_same_people_again_and_holds_no_pin(people: Register) -> None:
    found = read(people.path)
    assert found.people == people.people and found.person("t-otter").role == "technician"
    text = people.path.read_text(encoding="utf-8")
    assert "4711" not in text and "0815" not in text
    assert stat.S_IMODE(people.path.stat().st_mode) == 0o600


def test_the_right_pin_gives_the_person_and_a_wrong_one_is_refused(people: Register) -> None:
    assert people.authenticate("l-heron", "4711", 0).role == "lead"
    with pytest.raises(LocalError, match="not the PIN"):
        people.authenticate("l-heron", "4712", 0)
    with pytest.raises(InputError, match="nobody here"):
        people.authenticate("l-stork", "4711", 0)


def test_five_wrong_pins_close_the_entry_for_a_minute_even_to_the_right_one(people: Register) -> None:
    for _ in range(TRIES):
        with pytest.raises(LocalError, match="not the PIN"):
            read(people.path).authenticate("t-otter", "9999", 5 * NS)
    with pytest.raises(LocalError, match="too many"):
        read(people.path).authenticate("t-otter", "0815", 6 * NS)
    later_ns = (5 + CLOSED_S) * NS
    assert read(people.path).authenticate("t-otter", "0815", later_ns).id == "t-otter"
    assert read(people.path).people["t-otter"].wrong == 0


def test_a_colleagues_wrong_pins_close_no_other_entry(people: Register) -> None:
    for _ in range(TRIES):
        with pytest.raises(LocalError):
            people.authenticate("t-otter", "9999", 0)
    assert people.authenticate("l-heron", "4711", 0).role == "lead"


def test_a_wrong_pin_that_was_asked_for_long_ago_undoes_no_change_made_since(people: Register) -> None:
    read(people.path).add("t-crane", "technician", "1234").write()
    with pytest.raises(LocalError, match="not the PIN"):
        people.authenticate("t-otter", "9999", 0)
    found = read(people.path).people
    assert "t-crane" in found and found["t-otter"].wrong == 1


def test_what_is_laid_ready_is_the_file_only_once_it_is_put_in_place(people: Register) -> None:
    more = people.add("t-crane", "technician", "1234")
    more.lay_ready()
    with pytest.raises(LocalError):
        people.authenticate("t-otter", "9999", 0)  # counting writes the file, and leaves what is laid ready
    assert set(read(people.path).people) == {"l-heron", "t-otter"}
    more.put_in_place()
    assert set(read(people.path).people) == {"l-heron", "t-otter", "t-crane"}
    assert stat.S_IMODE(people.path.stat().st_mode) == 0o600


def test_two_people_with_one_pin_are_kept_differently(people: Register) -> None:
    more = people.add("t-crane", "technician", "4711")
    assert more.people["t-crane"].pin.digest != more.people["l-heron"].pin.digest


def test_a_new_pin_replaces_the_old_one(people: Register) -> None:
    changed = people.change_pin("t-otter", "222222").write()
    assert changed.authenticate("t-otter", "222222", 0).id == "t-otter"
    with pytest.raises(LocalError):
        changed.authenticate("t-otter", "0815", 0)


def test_a_shop_always_has_a_lead(people: Register, tmp_path: Path) -> None:
    with pytest.raises(LocalError, match="the only lead"):
        people.remove("l-heron")
    with pytest.raises(LocalError, match="is its lead"):
        read(tmp_path / "other.json", CHEAP).add("t-otter", "technician", "0815")
    with pytest.raises(LocalError, match="the only lead"):
        people.change_role("l-heron", "technician")
    assert set(people.add("l-stork", "lead", "1234").remove("l-heron").people) == {"t-otter", "l-stork"}
    two = people.change_role("t-otter", "lead").change_role("l-heron", "technician")
    assert {id_: one.role for id_, one in two.people.items()} == {"l-heron": "technician", "t-otter": "lead"}


def test_an_id_is_given_once(people: Register) -> None:
    with pytest.raises(InputError, match="taken"):
        people.add("t-otter", "technician", "1111")


@pytest.mark.parametrize("pin", ["", "123", "12a4", "1" * 13, " 1234", "１２３４"])
def test_a_pin_of_another_form_is_refused(people: Register, pin: str) -> None:
    with pytest.raises(InputError, match="4 to 12 digits"):
        people.add("t-crane", "technician", pin)


@pytest.mark.parametrize("damage", ["", "{}", "[]", '{"format": "witnessmark-people/1", "people": {}}'])
def test_a_damaged_file_is_refused_not_taken_for_nobody(tmp_path: Path, damage: str) -> None:
    path = tmp_path / "people.json"
    path.write_text(damage, encoding="utf-8")
    with pytest.raises(InputError):
        read(path)


def test_the_digest_is_scrypt_of_the_pin_by_another_implementation() -> None:
    """hashlib's scrypt (OpenSSL) is the oracle; RFC 7914 names the function."""
    import hashlib

    kept = pins.keep("4711", CHEAP)
    again = hashlib.scrypt(b"4711", salt=bytes.fromhex(kept.salt), n=CHEAP, r=8, p=1, dklen=32)
    assert again.hex() == kept.digest
    assert kept.n == CHEAP and pins.KeptPin("", "").n == 2**15
