from __future__ import annotations

import hashlib
from pathlib import Path

import msgspec
import pytest

from witnessmark.people.known import differences, lines
from witnessmark.people.register import Register, read


@pytest.fixture
def people(tmp_path: Path) -> Register:
    return read(tmp_path / "people.json", 2**4).add("l-heron", "lead", "4711").add("t-otter", "technician", "0815")


def test_what_does_not_concern_role_or_pin_makes_no_difference(people: Register) -> None:
    one = msgspec.structs.replace(people.people["t-otter"], wrong=3, closed_until_ns=7)
    counted = Register(people.path, {**people.people, "t-otter": one}, people.cost)
    assert differences(lines(people), lines(counted)) == ()


def test_each_change_is_said_in_words(people: Register) -> None:
    now = people.add("t-crane", "technician", "1234").change_role("t-otter", "lead").change_pin("l-heron", "4711")
    assert differences(lines(people), lines(now)) == (
        "l-heron has another PIN",
        "t-crane is there, a technician",
        "t-otter is a lead, not a technician",
    )
    assert differences(lines(now), lines(people.remove("t-otter"))) == (
        "l-heron has another PIN",
        "t-crane, a technician, is not there",
        "t-otter, a lead, is not there",
    )


def test_no_digest_can_be_made_again_without_the_salt_that_the_file_alone_has(people: Register) -> None:
    """The same PIN at the same cost gives another digest each time, and none of them is the one in the file."""
    again = people.change_pin("l-heron", "4711")
    assert lines(people)["l-heron"] != lines(again)["l-heron"]
    kept = people.people["l-heron"].pin
    text = f'{{"salt":"{kept.salt}","digest":"{kept.digest}","n":16,"r":8,"p":1}}'
    assert lines(people)["l-heron"].pin == hashlib.sha256(b"witnessmark pin 1\x00" + text.encode()).hexdigest()
