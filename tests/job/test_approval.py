from __future__ import annotations

import copy
from dataclasses import replace

import pytest
from tests.job.stand import LEAD, MAP, TECHNICIAN, MemoryJournal

from witnessmark.clock import ManualClock
from witnessmark.errors import InputError, LocalError
from witnessmark.job.allowed.approval import Withdrawn, approve, find, lacking, mismatch, require, standing, withdraw
from witnessmark.journal.entry import Draft
from witnessmark.mapping.load import digest, from_document

KNOWN = from_document(MAP)
DIGEST = digest(KNOWN)


@pytest.fixture
def journal() -> MemoryJournal:
    return MemoryJournal(ManualClock())


def test_a_lead_allows_all_wire_commands_or_those_named(journal: MemoryJournal) -> None:
    journal.append(approve(LEAD, KNOWN, ["valve"]))
    assert find(journal.made, DIGEST, "pump") is None
    found = find(journal.made, DIGEST, "valve")
    assert found is not None and found.seq == 0 and found.body.identification == {"F189": "0102"}
    journal.append(approve(LEAD, KNOWN))
    assert find(journal.made, DIGEST, "pump") is not None


def test_only_a_lead_allows_and_anybody_withdraws(journal: MemoryJournal) -> None:
    with pytest.raises(LocalError, match="only a shop lead"):
        approve(TECHNICIAN, KNOWN)
    journal.append(approve(LEAD, KNOWN))
    journal.append(withdraw(TECHNICIAN, KNOWN, "why"))
    assert find(journal.made, DIGEST, "pump") is None and journal.made[-1].done_by == TECHNICIAN.actor


def test_what_stands_is_told_by_map_until_it_is_withdrawn(journal: MemoryJournal) -> None:
    journal.append(approve(LEAD, KNOWN, ["valve"]))
    journal.append(approve(LEAD, KNOWN))
    assert [one.seq for one in standing(journal.made)[DIGEST]] == [0, 1]
    journal.append(withdraw(TECHNICIAN, KNOWN, "why"))
    assert standing(journal.made) == {}


def test_withdrawing_ends_it_and_a_new_approval_begins_it_again(journal: MemoryJournal) -> None:
    journal.append(approve(LEAD, KNOWN))
    journal.append(withdraw(LEAD, KNOWN, "recalled"))
    assert find(journal.made, DIGEST, "pump") is None
    with pytest.raises(Withdrawn):
        require(journal.made, DIGEST, "pump")
    journal.append(approve(LEAD, KNOWN))
    require(journal.made, DIGEST, "pump")


def test_a_map_that_changed_needs_a_new_approval(journal: MemoryJournal) -> None:
    journal.append(approve(LEAD, KNOWN))
    changed = copy.deepcopy(MAP)
    changed["wire_commands"][0]["longest_s"] = 21
    assert find(journal.made, digest(from_document(changed)), "pump") is None


def test_an_approval_for_a_procedure_holds_for_that_procedure_alone(journal: MemoryJournal) -> None:
    draft = approve(LEAD, KNOWN)
    journal.append(replace(draft, body={**draft.body, "procedure_digest": "ab" * 32}))
    assert find(journal.made, DIGEST, "pump", "cd" * 32) is None
    assert find(journal.made, DIGEST, "pump") is None
    assert find(journal.made, DIGEST, "pump", "ab" * 32) is not None
    with pytest.raises(Withdrawn):
        require(journal.made, DIGEST, "pump", "cd" * 32)


@pytest.mark.parametrize(
    ("proven", "invented", "practice", "enough"),
    [
        ("pin", False, False, True),
        ("name only", True, True, True),
        ("name only", True, False, False),
        ("name only", False, True, False),
        ("name only", False, False, False),
    ],
)
def test_a_name_alone_is_enough_for_practice_data_on_a_practice_vehicle(
    journal: MemoryJournal, proven: str, invented: bool, practice: bool, enough: bool
) -> None:
    draft = approve(LEAD, KNOWN)
    journal.append(replace(draft, body={**draft.body, "proven": proven}))
    if enough:
        require(journal.made, DIGEST, "pump", invented=invented, practice=practice)
        return
    with pytest.raises(Withdrawn, match="pump was approved by name only") as refused:
        require(journal.made, DIGEST, "pump", invented=invented, practice=practice)
    assert "with a PIN" in refused.value.hint


def test_what_the_map_does_not_have_cannot_be_allowed() -> None:
    with pytest.raises(InputError, match="fan"):
        approve(LEAD, KNOWN, ["fan"])
    with pytest.raises(InputError, match="identifies no control unit"):
        approve(LEAD, from_document(copy.deepcopy(MAP) | {"identification": []}))


def test_another_software_is_named_with_both_values(journal: MemoryJournal) -> None:
    journal.append(approve(LEAD, KNOWN))
    found = find(journal.made, DIGEST, "pump")
    assert found is not None
    assert mismatch(found.body, "F189", "0102") == ""
    assert "0103" in mismatch(found.body, "F189", "0103") and "0102" in mismatch(found.body, "F189", "0103")
    assert "not answered" in mismatch(found.body, "F189", "")


def test_values_that_are_text_are_said_as_text_beside_their_hex() -> None:
    document = copy.deepcopy(MAP) | {"identification": [{"identifier": "F189", "value": b"03.20".hex().upper()}]}
    journal = MemoryJournal(ManualClock())
    journal.append(approve(LEAD, from_document(document)))
    found = find(journal.made, digest(from_document(document)), "pump")
    assert found is not None
    said = mismatch(found.body, "F189", b"03.21".hex().upper())
    assert "is 03.21 (30332E3231), approved was 03.20 (30332E3230)" in said


def test_what_is_not_approved_says_who_withdrew_it_and_why_and_forgets_it_with_a_new_approval(
    journal: MemoryJournal,
) -> None:
    assert lacking(journal.made, DIGEST, "pump")[0] == "pump is not approved for this control unit and this map"
    journal.append(approve(LEAD, KNOWN))
    journal.append(withdraw(TECHNICIAN, KNOWN, "the pump was loud"))
    why, hint = lacking(journal.made, DIGEST, "pump")
    assert f"withdrawn by {TECHNICIAN.id} on " in why and "(entry 1): the pump was loud" in why and "lead" in hint
    journal.append(withdraw(TECHNICIAN, KNOWN, ""))
    assert "(entry 2), and gave no reason" in lacking(journal.made, DIGEST, "pump")[0]
    journal.append(approve(LEAD, KNOWN))
    assert lacking(journal.made, DIGEST, "pump") == ("", "")


def test_one_that_cannot_be_read_may_have_withdrawn_it_until_the_lead_approves_anew(journal: MemoryJournal) -> None:
    broken = Draft("approval", "J9", LEAD.actor, body={"wire_commands": 7})
    journal.append(broken)
    journal.append(approve(LEAD, KNOWN))
    require(journal.made, DIGEST, "pump")
    journal.append(broken)
    with pytest.raises(Withdrawn, match=r"entry 2 of job J9, of kind approval, cannot be read, and it may withdraw"):
        require(journal.made, DIGEST, "pump")
    assert [one.seq for one in standing(journal.made)[DIGEST]] == [1]
    journal.append(approve(LEAD, KNOWN))
    require(journal.made, DIGEST, "pump")
