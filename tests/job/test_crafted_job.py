"""A job whose documents somebody made up elsewhere: what was approved here, or ran there, lends it nothing."""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from tests.job.stand import LEAD, MAP, MemoryJournal, Stand

from witnessmark.job.allowed.approval import approve, mismatch
from witnessmark.journal import bodies, permission
from witnessmark.journal.entry import Draft
from witnessmark.mapping.load import digest, from_document


def forged(change: Callable[[dict[str, Any]], None]) -> Stand:
    """Return a stand whose opening entry carries another map under the digest of the one that is approved."""
    document = copy.deepcopy(MAP)
    change(document)

    def before(journal: MemoryJournal) -> None:
        opened = journal.made[0]
        journal.made[0] = _with_body(opened, map_digest=digest(from_document(MAP)))
        journal.append(approve(LEAD, from_document(MAP)))

    return Stand(map_document=document, approved=False, before=before)


def _with_body(entry: Any, **values: Any) -> Any:
    import msgspec

    return msgspec.structs.replace(entry, body={**entry.body, **values})


def test_a_map_under_the_digest_of_another_is_not_approved() -> None:
    stand = forged(lambda document: document["wire_commands"][0].update(start="3101BEEF{seconds}", stop="3102BEEF"))
    try:
        stand.go_to("busy")
        assert "is not approved" in stand.view["text"]
        stand.arm_anyway()
        stand.turn(5)
        assert stand.errors[-1]["rule"] == "not-approved" and stand.acts == []
    finally:
        stand.close()


def test_an_approval_for_a_procedure_does_not_follow_its_digest_into_another_procedure() -> None:
    def before(journal: MemoryJournal) -> None:
        draft = approve(LEAD, from_document(MAP))
        journal.append(replace(draft, body={**draft.body, "procedure_digest": "ab" * 32}))
        journal.made[0] = _with_body(journal.made[0], procedure_digest="ab" * 32)

    stand = Stand(approved=False, before=before)
    try:
        stand.go_to("busy")
        assert "is not approved" in stand.view["text"]
        stand.arm_anyway()
        assert stand.errors[-1]["rule"] == "not-approved" and stand.acts == []
    finally:
        stand.close()


NO_STOP: dict[str, dict[str, Any]] = {
    "it resets": {"wire_commands": [MAP["wire_commands"][0] | {"stop": "1101"}]},
    "it writes": {"wire_commands": [MAP["wire_commands"][0] | {"stop": "2E030100"}]},
    "it starts": {"wire_commands": [MAP["wire_commands"][0] | {"stop": "31010301"}]},
    "it goes to all": {"address": {"request": "7DF", "answer": "7A8"}},
    "it needs a programming session": {"wire_commands": [MAP["wire_commands"][0] | {"session": 2}]},
}


@pytest.mark.parametrize("changes", NO_STOP.values(), ids=NO_STOP.keys())
def test_a_stop_is_not_sent_again_when(changes: dict[str, Any]) -> None:
    def before(journal: MemoryJournal) -> None:
        intent = bodies.Intent(
            pass_id="p1", nipples=("rr",), wire_command="pump", seconds="8", start="3101030108", stop="31020301",
            peer={"request": "7A0", "answer": "7A8"},
        )  # fmt: skip
        journal.append(Draft("intent", "J1", "machine:runner", body=bodies.to_body(intent)))

    stand = Stand(map_document=copy.deepcopy(MAP) | changes, before=before)
    try:
        stand.go_to("inspect")
        stand.press("s")
        stand.until(lambda: stand.errors)
        stand.wait(1)
        assert stand.unit.heard == [] and "no stop request can be sent" in stand.errors[-1]["what"]
    finally:
        stand.close()


@pytest.mark.parametrize("read", ["", "0102"])
def test_an_identifier_approved_with_no_value_never_matches(read: str) -> None:
    approved = permission.Approval(map_digest="", identification={"F189": ""}, wire_commands=("pump",))
    assert "another unit" in mismatch(approved, "F189", read) and "another unit" in mismatch(approved, "F18C", read)
