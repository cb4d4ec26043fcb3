"""Other software than was approved: known before anything is asked or opened for a run, and kept until it is right."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import replace

import pytest
from tests.job.learned import learned_stand, try_it
from tests.job.stand import GEAR, LEAD, MAP, SOFTWARE, SPEED, VOLTAGE, MemoryJournal, Stand

from witnessmark.job.allowed.approval import approve
from witnessmark.journal.entry import Draft
from witnessmark.mapping.load import from_document

RIGHT, OTHER = [(0.02, bytes.fromhex("62F1890102"))], [(0.02, bytes.fromhex("62F1890103"))]


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand()
    yield made
    made.close()


def opened(stand: Stand) -> list[str]:
    return [one.nipple for one in stand.bodies("step") if one.act == "opened"]


def identified(stand: Stand) -> list[str]:
    return [one.result for one in stand.bodies("exchange") if one.purpose == "identification"]


def test_every_number_that_differs_is_told_at_once_and_how_the_lead_types_it() -> None:
    document = copy.deepcopy(MAP)
    document["identification"] += [{"identifier": "F187", "value": "4142"}, {"identifier": "F195", "value": "312E30"}]
    stand = Stand(map_document=document)
    part = bytes.fromhex("22F187")
    try:
        stand.unit.table |= {SOFTWARE: OTHER, part: [(0.02, b"\x62\xf1\x87AB")]}
        stand.unit.table[bytes.fromhex("22F195")] = [(0.02, b"\x62\xf1\x951.1")]
        stand.go_to("busy", "p1")
        stand.until_known()
        assert "F189 is 0103" in stand.view["text"] and "F195 is 1.1" in stand.view["text"]
        assert "`witnessmark protocol approve MAP --software F189=0x0103 --software F195=1.1` (" in stand.view["text"]
        assert "MAP is the file of this job's map)" in stand.view["text"] and "FILE" not in stand.view["text"]
        assert identified(stand) == ["positive"] * 3
        stand.unit.table[part] = [(0.02, b"\x62\xf1\x87AC")]
        stand.press("r")
        assert "F187 is AC" in stand.view["text"] and "Hands off" in stand.view["text"]
    finally:
        stand.close()


@pytest.mark.parametrize(
    ("wire_commands", "procedure", "typed"),
    [
        (("pump",), False, "MAP --command pump --software F189=0x0103`"),
        (("valve", "pump"), True, "MAP --procedure FILE --command valve --command pump --software F189=0x0103`"),
        (("valve", "pump"), False, "MAP --software F189=0x0103`"),
    ],
)
def test_what_the_lead_types_after_an_update_approves_no_more_than_was_approved(
    wire_commands: tuple[str, ...], procedure: bool, typed: str
) -> None:
    def allow(journal: MemoryJournal) -> None:
        draft = approve(LEAD, from_document(MAP), wire_commands)
        bound = {"procedure_digest": journal.made[0].body["procedure_digest"]} if procedure else {}
        journal.append(replace(draft, body={**draft.body, **bound}))

    stand = Stand(approved=False, before=allow)
    try:
        stand.unit.table[SOFTWARE] = OTHER
        stand.go_to("busy", "p1")
        stand.until_known()
        assert f"`witnessmark protocol approve {typed}" in stand.view["text"]
        assert ("FILE that of its procedure" in stand.view["text"]) == procedure
    finally:
        stand.close()


def test_what_was_learned_is_not_said_to_wait_for_an_approval_that_nobody_can_give() -> None:
    stand = learned_stand()
    try:
        stand.unit.table[SOFTWARE] = OTHER
        stand.go_to("busy", "p1")
        stand.until_known()
        text = stand.view["text"]
        assert "learned on other software is approved for no other" in text and "name it anew" in text
        assert "protocol approve" not in text and "waits for the shop lead" not in text
        assert opened(stand) == []
    finally:
        stand.close()


def test_beside_a_learned_one_the_lead_is_told_to_approve_the_published_ones_alone() -> None:
    stand = learned_stand()
    try:
        try_it(stand)
        stand.go_to("running", "p1")
        stand.unit.table[SOFTWARE] = OTHER
        stand.go_to("busy", "p2")
        stand.until(lambda: stand.view["text"].startswith("Nothing is sent"))
        assert "`witnessmark protocol approve MAP --command valve --software F189=0x0103`" in stand.view["text"]
    finally:
        stand.close()


def allow_software(stand: Stand, value: str) -> None:
    """Approve this very map for a unit that says `value`."""
    draft = approve(LEAD, from_document(stand.document))
    stand.journal.append(Draft("approval", None, LEAD.actor, body={**draft.body, "identification": {"F189": value}}))


def test_with_other_software_no_nipple_is_asked_to_be_opened_and_it_says_what_differs(stand: Stand) -> None:
    stand.unit.table[SOFTWARE] = OTHER
    stand.go_to("busy", "p1")
    stand.wait(30)
    text = stand.view["text"]
    assert stand.view["kind"] == "busy" and opened(stand) == [] and stand.errors == []
    assert text.startswith("Nothing is sent: identifier F189 is 0103, approved was 0102")
    assert "waits for the shop lead" in text and "Until then nothing is asked and no nipple opened" in text
    assert stand.unit.heard == [SOFTWARE], "it is read once"
    assert identified(stand) == ["positive"] and "refused" not in stand.kinds()


def test_what_is_as_it_was_approved_leaves_no_entry_and_is_read_once_for_a_run(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.wait(5)
    assert stand.unit.heard == [SOFTWARE, VOLTAGE, GEAR, SPEED] and identified(stand) == []
    assert "condition" not in stand.kinds()
    stand.go_to("armed", "p1")
    assert identified(stand) == ["positive"], "the preflight's own"
    stand.go_to("running", "p1")
    heard = len(stand.unit.heard)
    stand.go_to("arm", "p2")
    assert stand.unit.heard[heard:].count(SOFTWARE) == 1


def test_it_goes_on_once_it_reads_right_again(stand: Stand) -> None:
    stand.unit.table[SOFTWARE] = OTHER
    stand.go_to("busy", "p1")
    for _ in range(3):
        stand.press("r")
        assert stand.view["text"].startswith("Nothing is sent")
    assert identified(stand) == ["positive"], "what is as it was a moment ago is written once"
    stand.unit.table[SOFTWARE] = RIGHT
    stand.press("r")
    assert stand.view["kind"] == "open"
    stand.go_to("armed", "p1")


def test_what_does_not_hold_is_told_before_a_nipple_is_opened_and_read_again_with_a_key(stand: Stand) -> None:
    right = stand.unit.table[GEAR]
    stand.unit.table[GEAR] = [(0.02, bytes.fromhex("62700302"))]
    stand.go_to("busy", "p1")
    stand.until_known()
    text = stand.view["text"]
    assert text.startswith("Nothing is sent: ") and "wanted park" in text and "the procedure or the map may be" in text
    assert (
        opened(stand) == [] and stand.errors == [] and "condition" in [one.purpose for one in stand.bodies("exchange")]
    )
    stand.unit.table[GEAR] = right
    stand.press("r")
    stand.go_to("running", "p1")


def test_what_does_not_hold_any_more_is_told_once_the_pressure_is_read_anew(stand: Stand) -> None:
    stand.go_to("open", "p1")
    stand.unit.table[GEAR] = [(0.02, bytes.fromhex("62700302"))]
    stand.clock.advance(91)
    stand.until(lambda: stand.view["kind"] == "reading")
    stand.read("2.0", "bar")
    stand.until_known()
    assert "wanted park" in stand.view["text"] and opened(stand) == []


def test_what_did_not_hold_at_arming_has_the_nipple_shut_and_not_opened_again_until_it_does(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    right, stand.unit.table[GEAR] = stand.unit.table[GEAR], [(0.02, bytes.fromhex("62700302"))]
    stand.answer()
    stand.until(lambda: stand.errors)
    stand.until(lambda: stand.view["kind"] == "close")
    stand.press("y")
    stand.wait(5)
    assert stand.view["kind"] == "busy" and opened(stand) == ["rr"]
    stand.unit.table[GEAR] = right
    stand.press("r")
    assert stand.view["kind"] == "open"


def test_it_goes_on_by_itself_once_the_lead_approves_what_it_says_now(stand: Stand) -> None:
    stand.unit.table[SOFTWARE] = OTHER
    stand.go_to("busy", "p1")
    allow_software(stand, "0103")
    stand.until(lambda: stand.view["kind"] == "open", seconds=5)
    stand.go_to("running", "p1")


def test_a_nipple_that_stands_open_is_shut_first_and_the_refusal_is_not_forgotten(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.unit.table[SOFTWARE] = OTHER
    stand.answer()
    stand.until(lambda: stand.errors)
    stand.until(lambda: stand.view["kind"] == "close")
    assert stand.view["text"].startswith("Nothing is sent: identifier F189 is 0103")
    stand.press("y")
    stand.wait(10)
    assert stand.view["kind"] == "busy" and opened(stand) == ["rr"] and len(stand.errors) == 1
    stand.unit.table[SOFTWARE] = RIGHT
    stand.press("r")
    stand.go_to("running", "p1")
    assert opened(stand) == ["rr", "rr"]


def test_a_unit_that_refuses_to_tell_is_nobody_that_was_approved(stand: Stand) -> None:
    stand.unit.table[SOFTWARE] = [(0.02, bytes.fromhex("7F2231"))]
    stand.go_to("busy", "p1")
    stand.until_known()
    assert "F189 is not answered, approved was 0102" in stand.view["text"] and opened(stand) == []


def test_a_silent_unit_is_told_with_what_to_do_and_read_again_with_a_key(stand: Stand) -> None:
    stand.unit.table[SOFTWARE] = []
    stand.go_to("busy", "p1")
    stand.until_known()
    assert stand.view["text"].startswith(
        "Nothing is sent: the control unit does not answer. First hands off; then look"
    )
    assert opened(stand) == [] and identified(stand) == ["silence"]
    stand.wait(6)  # until a late answer would be told apart
    stand.unit.table[SOFTWARE] = RIGHT
    stand.press("r")
    assert stand.view["kind"] == "open"


def test_it_is_read_again_over_a_link_that_was_lost_meanwhile(stand: Stand) -> None:
    stand.go_to("open", "p1")
    stand.link.broken = True
    stand.wait(1)
    stand.link.broken = False
    stand.unit.table[SOFTWARE] = OTHER
    stand.until(lambda: stand.view["kind"] == "busy")
    stand.until_known()
    if "link" in stand.view["text"]:
        stand.press("r")
    assert "F189 is 0103" in stand.view["text"] and opened(stand) == []


def test_after_a_pause_it_is_read_anew(stand: Stand) -> None:
    stand.go_to("open", "p1")
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.unit.table[SOFTWARE] = OTHER
    stand.press("r")
    stand.go_to("busy", "p1")
    assert "F189 is 0103" in stand.view["text"]


def test_the_questions_of_a_first_use_are_not_asked_for_a_unit_that_is_another() -> None:
    stand = learned_stand()
    try:
        stand.unit.table[SOFTWARE] = OTHER
        stand.go_to("busy", "p1")
        stand.until_known()
        stand.wait(10)
        assert "F189 is 0103" in stand.view["text"] and "questions" not in str(stand.told)
    finally:
        stand.close()


@pytest.mark.parametrize("name", ["gear", "speed", "voltage"])
def test_a_wire_commands_own_precondition_is_read_before_each_send(name: str) -> None:
    document = copy.deepcopy(MAP)
    document["wire_commands"][0]["preconditions"] = [name]
    stand = Stand(map_document=document)
    try:
        stand.go_to("arm", "p1")
        request = {"gear": GEAR, "speed": SPEED, "voltage": VOLTAGE}[name]
        before = stand.unit.heard.count(request)
        stand.go_to("armed", "p1")
        assert stand.unit.heard.count(request) == before + 1
        stand.press("x")
        stand.go_to("armed", "p1")
        assert stand.unit.heard.count(request) == before + 2
        assert [one.source for one in stand.bodies("condition") if one.name == name] == ["read", "read"]
    finally:
        stand.close()
