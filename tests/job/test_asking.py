"""The machine's own steps: the vehicle's number and its codes are read without a touch, and nothing else is sent."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.bus import ListeningLink
from tests.job.stand import MAP, PROCEDURE, START, Stand

from witnessmark.audit.case import open_case
from witnessmark.audit.questions import codes
from witnessmark.audit.run import find
from witnessmark.audit.verdict import Finding
from witnessmark.errors import InputError
from witnessmark.job.unit.code_scan import codes_in
from witnessmark.link.frame import Peer

STEPS = """
[[steps_before]]
id = "number"
text = "Read the vehicle's number"
act = "identify"
[[steps_before]]
id = "codes-before"
text = "Read the codes"
act = "scan"
"""
NUMBER, CODES, OBD = bytes.fromhex("22F190"), bytes.fromhex("190209"), b"\x03"


class Asked(Stand):
    """A stand whose unit knows its number and codes from the first turn on; empty: it says nothing."""

    def __init__(self, procedure: str, number: str, codes: str, functional: str = "7DF") -> None:
        self.said = {NUMBER: b"\x62\xf1\x90" + number.encode() if number else b"", CODES: bytes.fromhex(codes)}
        super().__init__(
            procedure=procedure, map_document=MAP | {"address": MAP["address"] | {"functional": functional}}
        )

    def start_runner(self) -> None:
        self.unit.table |= {request: [(0.02, answer)] for request, answer in self.said.items() if answer}
        super().start_runner()


def stand_with(number: str = "0DU14LT2XN0000014", codes: str = "59022F5B41542F") -> Stand:
    text = PROCEDURE.replace('[[steps_before]]\nid = "grade"', STEPS + '[[steps_before]]\nid = "grade"')
    return Asked(text, number, codes)


@pytest.mark.parametrize("grade", ["heard", "told"])
def test_where_another_tester_speaks_the_machines_own_step_is_gone_past_with_one_key(grade: str) -> None:
    text = PROCEDURE.replace('[[steps_before]]\nid = "grade"', STEPS + '[[steps_before]]\nid = "grade"')
    bus = ListeningLink()
    stand = Stand(procedure=text, grade=grade, bus=bus)
    bus.clock = stand.clock
    try:
        stand.turn(5)
        assert "Read it on the other tester" in stand.view["text"]
        assert [(one["key"], one.get("asks", False)) for one in stand.view["buttons"]] == [("y", True), ("n", False)]
        stand.press("n")
        stand.press("n")
        assert stand.view["step"] == "grade" and stand.unit.heard == []
        left = [(one.step, one.act, one.said) for one in stand.bodies("step")]
        why = "nothing of ours asks on this job, and nobody read it off another tester"
        assert left == [("number", "skipped", why), ("codes-before", "skipped", why)]
    finally:
        stand.close()


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = stand_with()
    yield made
    made.close()


def test_number_and_codes_are_read_without_a_touch_and_recorded_with_their_exchange(stand: Stand) -> None:
    stand.until(lambda: stand.view.get("step") == "grade")
    kinds = [one.kind for one in stand.journal.of("J1")]
    assert kinds == ["job-opened", "exchange", "condition", "exchange", "exchange", "exchange", "scan"]
    number, codes = (one.body for one in stand.journal.of("J1") if one.kind in ("condition", "scan"))
    assert (number["found"], number["holds"], number["source"]) == ("0DU14LT2XN0000014", True, "read")
    assert (codes["codes"], codes["when"]) == (("C1B41-54",), "before")
    assert stand.unit.heard == [NUMBER, CODES, OBD, CODES]


def test_what_was_read_is_told_to_who_stands_at_the_vehicle(stand: Stand) -> None:
    stand.until(lambda: stand.view.get("step") == "grade")
    said = [one["said"] for one in stand.told if "said" in one]
    assert said[0].startswith("the control unit's number: 0DU14LT2XN0000014")
    assert said[1] == "trouble codes before the work: C1B41-54"


def test_everybody_is_asked_for_codes_before_the_control_unit_of_the_job_and_stands_by_its_address() -> None:
    stand = stand_with()
    engine, other = Peer(0x7E0, 0x7E8), Peer(0x7E1, 0x7E9)
    own = bytes.fromhex("59022F5B41542F")

    def say_codes() -> list[tuple[float, bytes]]:
        if CODES in stand.unit.heard[:-1]:
            return [(0.02, own)]  # now the job's own unit alone is asked
        stand.unit.say(own, after_s=0.02)
        stand.unit.say(bytes.fromhex("59020C"), after_s=0.02, peer=other)
        return []

    def say_obd() -> list[tuple[float, bytes]]:
        stand.unit.say(bytes.fromhex("43010128"), after_s=0.02, peer=engine)
        stand.unit.say(bytes.fromhex("43010128"), after_s=0.02, peer=other)
        return []

    stand.unit.table |= {CODES: say_codes, OBD: say_obd}
    stand.until(lambda: stand.view.get("step") == "grade")
    assert [(one.control_unit, one.codes, one.step) for one in stand.bodies("scan")] == [
        ("7E9", (), ""),
        ("7E8", ("P0128",), ""),
        ("", ("C1B41-54",), "codes-before"),
    ]
    stand.close()


@pytest.mark.parametrize("answer", ["7F0311", "43020128", "43", "4301012801"])
def test_a_refusal_or_an_answer_cut_short_of_another_unit_says_nothing_about_its_codes(answer: str) -> None:
    stand = stand_with()

    def say() -> list[tuple[float, bytes]]:
        stand.unit.say(bytes.fromhex(answer), after_s=0.02, peer=Peer(0x7E0, 0x7E8))
        return []

    stand.unit.table[OBD] = say
    stand.until(lambda: stand.view.get("step") == "grade")
    assert [one.step for one in stand.bodies("scan")] == ["codes-before"]
    asked = [one for one in stand.bodies("exchange") if one.request == "03"]
    assert [one.payload for one in asked[0].answers] == [answer]
    stand.close()


def test_where_the_map_knows_no_address_for_everybody_the_control_unit_alone_is_asked() -> None:
    text = PROCEDURE.replace('[[steps_before]]\nid = "grade"', STEPS + '[[steps_before]]\nid = "grade"')
    stand = Asked(text, "0DU14LT2XN0000014", "59022F", functional="")
    stand.until(lambda: stand.view.get("step") == "grade")
    assert stand.unit.heard == [NUMBER, CODES]
    stand.close()


def test_silence_is_told_with_how_the_vehicle_is_woken_and_may_be_asked_again_or_left_out() -> None:
    stand = stand_with(number="", codes="")
    stand.until(lambda: stand.view.get("kind") == "step")
    assert "does not answer" in stand.view["text"]
    assert [one["key"] for one in stand.view["buttons"]] == ["r", "n"]
    stand.unit.table[NUMBER] = [(0.02, b"\x62\xf1\x90NUMBER")]
    stand.wait(6)  # an answer that is late must have had its time
    stand.press("r")
    stand.until(lambda: stand.view.get("step") == "codes-before")
    stand.press("n", said="the unit gives no codes")
    stand.until(lambda: stand.view.get("step") == "grade")
    left = [one.body for one in stand.journal.of("J1") if one.kind == "step"]
    assert [(one["step"], one["act"], one["said"]) for one in left] == [
        ("codes-before", "skipped", "the unit gives no codes")
    ]
    stand.close()


def test_a_step_left_out_needs_words() -> None:
    stand = stand_with(number="", codes="")
    stand.until(lambda: stand.view.get("kind") == "step")
    stand.press("n")
    stand.turn(5)
    assert "words are missing" in stand.errors[-1]["what"]
    stand.close()


@pytest.mark.parametrize(
    ("answer", "codes"),
    [
        ("59022F", ()),
        ("59022F5B41542F5B52162C", ("C1B41-54", "C1B52-16")),
        ("59022F5B415426", ()),  # neither failing now nor confirmed
    ],
)
def test_codes_are_those_that_fail_or_are_confirmed(answer: str, codes: tuple[str, ...]) -> None:
    assert codes_in(bytes.fromhex(answer)) == codes


def test_an_answer_cut_short_is_refused() -> None:
    with pytest.raises(InputError, match="not whole"):
        codes_in(bytes.fromhex("59022F5B41"))


def test_nothing_is_armed_or_sent_at_another_vehicle_with_the_same_software_than_the_one_that_was_read(
    stand: Stand,
) -> None:
    mine, other = stand.unit.table[NUMBER], [(0.02, b"\x62\xf1\x900DU14LT2XN0000015")]
    stand.go_to("armed", "p1")
    stand.unit.table[NUMBER] = other  # the plug is put into the truck beside it
    stand.press("s")
    stand.until(lambda: stand.errors)
    assert stand.errors[-1]["rule"] == "identification" and "0DU14LT2XN0000015" in stand.errors[-1]["what"]
    stand.until(lambda: stand.view["kind"] == "close")  # it was opened before the plug was moved
    stand.press("y")
    for _ in range(2):  # what was said here is not taken for this job's from then on
        assert stand.view["kind"] == "busy" and "0DU14LT2XN0000015" in stand.view["text"]
        stand.press("r")
    assert [one.act for one in stand.bodies("step")].count("opened") == 1
    assert [one for one in stand.acts if one == START] == []
    stand.unit.table[NUMBER] = mine
    stand.press("r")
    stand.until(lambda: stand.view["kind"] == "open")
    stand.go_to("armed")


LAST = """
[[steps_after]]
id = "codes-after"
text = "Read the codes after the work"
act = "scan"
[[steps_after]]
id = "put-away"
text = "Put the tools away"
"""
NO_CODES, NEW_CODE = "59022F", "59022F5B41542F"


@pytest.fixture
def left() -> Iterator[Stand]:
    """A job that stands at its last scan, with a code that the work does not set."""
    made = Asked(PROCEDURE + LAST, "", NO_CODES)
    made.go_to("step")
    made.unit.table[CODES] = [(0.02, bytes.fromhex(NEW_CODE))]
    while made.view.get("step") != "scan-again":
        made.follow()
    yield made
    made.close()


def codes_of(stand: Stand) -> Finding:
    (question,) = codes.audit_questions()
    return find(question, open_case(stand.journal.of("J1")))


def test_a_code_that_the_work_does_not_set_is_decided_on_and_stays_with_a_reason(left: Stand) -> None:
    assert "NOT set by the work: control unit: C1B41-54" in left.view["text"]
    assert [(one["key"], one["asks"]) for one in left.view["buttons"]] == [("r", True), ("k", True)]
    heard = len(left.unit.heard)
    left.wait(2)
    assert len(left.unit.heard) == heard, "nothing is read again unasked"
    left.crash()
    left.press("k", "told to the owner")
    assert left.view["step"] == "put-away"
    found = codes_of(left)
    assert (found.answer, "left so by t-otter: told to the owner" in found.text) == ("not met", True), found


@pytest.mark.parametrize(
    ("why", "affects"), [("a plug was off", ""), ("cleared with the maker's own means", "codes-cleared")]
)
def test_it_is_scanned_again_after_what_was_done_and_goes_on_without_such_a_code(
    left: Stand, why: str, affects: str
) -> None:
    left.press("r", "nothing: it is read once more")
    left.until(lambda: left.view.get("step") == "scan-again")
    assert len(left.bodies("scan")) == 2
    left.unit.table[CODES] = [(0.02, bytes.fromhex(NO_CODES))]
    left.press("r", why)
    left.until(lambda: left.view.get("step") == "put-away")
    said = left.bodies("step")[-1]
    assert (said.step, said.said, said.affects) == ("scan-again", why, affects)
    assert codes_of(left).answer == "met", codes_of(left)


def test_a_job_that_is_over_names_the_way_on(left: Stand) -> None:
    left.press("k", "told to the owner")
    left.go_to("done")
    left.press("f")
    assert 'a new job that follows it: `witnessmark job open --scope "follows J1" ...`' in left.view["text"]
