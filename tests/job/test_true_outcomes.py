"""Outcomes that claim no more than was heard, and lives that end whatever the far end and the disk do."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import MAP, PEER, SESSION, SPEED, START, STOP, Stand

from witnessmark.journal.entry import Draft
from witnessmark.link.frame import Message, Peer

PENDING = bytes.fromhex("7F3178")


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand()
    yield made
    made.close()


def start(stand: Stand) -> None:
    stand.go_to("armed")
    stand.send(do="start", view=stand.view["id"])


def run_for(stand: Stand, seconds: float) -> None:
    start(stand)
    stand.until(lambda: stand.view["kind"] == "running")
    stand.wait(seconds)


def ended(stand: Stand) -> tuple[str, str]:
    stand.until(lambda: stand.bodies("outcome"))
    outcome = stand.bodies("outcome")[-1]
    return outcome.result, outcome.stop


def test_a_key_pressed_while_an_unanswered_start_is_stopped_does_not_make_it_known(stand: Stand) -> None:
    stand.unit.table[START] = []
    stand.unit.table[STOP] = [(0.2, bytes.fromhex("71020301"))]
    start(stand)
    stand.until(lambda: STOP in stand.unit.heard)
    stand.stop()
    assert ended(stand) == ("unknown", "confirmed")
    stand.until(lambda: stand.view["kind"] == "inspect")


def test_a_key_pressed_after_the_time_was_up_does_not_cut_the_run_short(stand: Stand) -> None:
    stand.unit.table[STOP] = [(0.2, bytes.fromhex("71020301"))]
    run_for(stand, 1)
    stand.until(lambda: STOP in stand.unit.heard)
    stand.stop()
    assert ended(stand) == ("completed", "confirmed")


def test_a_stop_answer_without_its_routine_confirms_nothing(stand: Stand) -> None:
    stand.unit.table[STOP] = [(0.02, bytes.fromhex("7102"))]
    run_for(stand, 1)
    stand.stop()
    assert ended(stand) == ("unknown", "unknown")


def test_another_units_message_is_no_sign_of_life(stand: Stand) -> None:
    run_for(stand, 1)
    stand.unit.table = {}

    def foreign() -> Message:
        now = stand.clock.stamp()
        return Message(Peer(0x7A1, 0x7A9), bytes.fromhex("62700200"), now, now)

    last = stand.clock.mono_ns()
    stand.stop()
    while not stand.bodies("outcome"):
        stand.link.events.append(foreign())
        stand.turn(1)
    (outcome,) = stand.bodies("outcome")
    assert (outcome.result, outcome.stop) == ("unknown", "unknown")
    assert outcome.to_mono == "" or int(outcome.to_mono) <= last


def test_a_pending_that_either_request_may_have_caused_keeps_the_start_open(stand: Stand) -> None:
    # The operator stops before the unit said that it works on the start; it confirms the stop first, then begins.
    stand.unit.table[START] = [(0.1, PENDING), (1.5, bytes.fromhex("71010301"))]
    start(stand)
    stand.until(lambda: START in stand.unit.heard)
    stand.unit.table[STOP] = lambda: [(0.2, bytes.fromhex("71020301"))]
    stand.stop()
    assert ended(stand) == ("stopped", "confirmed")
    (outcome,) = stand.bodies("outcome")
    assert int(outcome.to_mono) >= int(outcome.from_mono) and stand.unit.heard.count(STOP) > 2


def test_a_unit_that_says_0x78_to_a_stop_for_ever_ends_as_unknown(stand: Stand) -> None:
    run_for(stand, 1)
    stand.unit.table[STOP] = [(0.02 + turn, PENDING) for turn in range(60)]
    stand.stop()
    assert ended(stand) == ("unknown", "unknown") and stand.unit.heard.count(STOP) > 1


@pytest.mark.parametrize("request_", [SPEED, SESSION], ids=["precondition", "session"])
def test_a_unit_that_says_0x78_for_ever_keeps_no_runner_from_ending(stand: Stand, request_: bytes) -> None:
    pending = bytes((0x7F, request_[0], 0x78))
    stand.go_to("arm" if request_ == SPEED else "armed")
    stand.unit.table[request_] = [(0.02 + turn, pending) for turn in range(600)]
    if request_ == SPEED:
        stand.send(do="answers", view=stand.view["id"], answers={one["id"]: True for one in stand.view["questions"]})
    else:
        stand.send(do="start", view=stand.view["id"])
    stand.until(lambda: request_ in stand.unit.heard[-1:])
    stand.face.close()
    stand.until(stand.runner.over, seconds=90)
    assert stand.acts == []


def test_another_entry_that_fails_while_the_intent_is_written_leaves_no_intent_without_outcome(stand: Stand) -> None:
    stand.go_to("armed")
    stand.thread.held = True
    stand.link.events.append(Message(PEER, bytes.fromhex("7F2231"), stand.clock.stamp(), stand.clock.stamp()))
    stand.turn(1)  # an answer nobody asked for is written down
    stand.send(do="start", view=stand.view["id"])
    stand.turn(3)
    stand.journal.fails = lambda draft: "the disk is full" if draft.kind == "event" else ""
    stand.thread.held = False
    assert ended(stand) == ("stopped", "not sent")
    assert stand.acts == [] and stand.state.open_intent is None


def test_a_question_that_cannot_be_recorded_keeps_no_runner_from_ending(stand: Stand) -> None:
    stand.close()
    asks = '[[steps_before]]\nid = "codes"\ntext = "Codes"\nact = "scan"\n[[steps_before]]\nid = "grade"'
    from tests.job.stand import PROCEDURE

    other = Stand(procedure=PROCEDURE.replace('[[steps_before]]\nid = "grade"', asks, 1))
    try:

        def fails(draft: Draft) -> str:
            return "the disk is full" if draft.kind == "exchange" else ""

        other.journal.fails = fails
        other.until(lambda: any("disk" in one["what"] for one in other.errors))
        other.face.close()
        other.until(other.runner.over)
    finally:
        other.close()
        stand.start_runner()


def test_a_link_that_will_not_carry_the_start_is_a_refusal(stand: Stand) -> None:
    from witnessmark.errors import LocalError

    stand.go_to("armed")
    send = stand.link.send

    def no(peer: Peer, payload: bytes) -> object:
        if payload == START:
            raise LocalError("5 bytes are more than the interface takes", hint="use another interface")
        return send(peer, payload)

    stand.link.send = no  # type: ignore[method-assign, assignment]
    stand.send(do="start", view=stand.view["id"])
    assert ended(stand) == ("refused", "not sent")
    assert "more than the interface takes" in stand.bodies("outcome")[0].why


def test_a_supply_that_cannot_be_compared_with_its_limit_stops_the_run() -> None:
    from tests.job.stand import PROCEDURE

    conditions = [one if one["name"] != "voltage" else {**one, "unit": "km/h"} for one in MAP["conditions"]]
    listed = '[[preconditions]]\nname = "voltage"\ntext = "Supply"\nlimit = { low = "11.5 V" }\n'
    limit = PROCEDURE.replace(listed, "").replace("[pump]", '[voltage]\nlow = "11.5 V"\n[pump]')
    stand = Stand(procedure=limit, map_document={**MAP, "conditions": conditions})
    try:
        run_for(stand, 5)
        assert ended(stand) == ("stopped", "confirmed")
    finally:
        stand.close()


@pytest.mark.parametrize("do", [{"do": "pause", "why": ""}, {"do": "abandon", "why": "x"}], ids=["pause", "abandon"])
def test_a_job_that_is_over_is_not_opened_again_by_a_key(stand: Stand, do: dict[str, str]) -> None:
    stand.go_to("done")
    stand.press("f")
    stand.send(**do)
    stand.until(lambda: stand.errors)
    assert stand.state.status == "finished" and "finished" in stand.errors[-1]["what"]


@pytest.mark.parametrize("gap_s", [0.0, 0.2], ids=["at once", "after the gap the link needs"])
@pytest.mark.parametrize("what", [RuntimeError("a mistake of ours"), SystemExit(3)], ids=["breaks", "exits"])
def test_a_runner_that_fails_while_it_runs_sends_stop_with_its_last_breath(
    stand: Stand, gap_s: float, what: BaseException
) -> None:
    from witnessmark.link.port import Capabilities

    stand.link.capabilities = Capabilities(min_gap_s=gap_s)
    run_for(stand, 2.1)  # something has just left

    def broken() -> None:
        raise what

    stand.runner._look = broken  # type: ignore[method-assign]
    stand.runner.take_up = lambda: None  # type: ignore[method-assign]
    with pytest.raises(type(what)):
        stand.runner.run()
    assert stand.unit.heard[-1] == STOP and stand.link.closed


def test_a_stop_sent_at_the_inspection_that_nobody_confirms_is_unknown_with_the_next_act(stand: Stand) -> None:
    stand.unit.table[START] = []
    start(stand)
    ended(stand)
    stand.until(lambda: stand.view["kind"] == "inspect")
    stand.unit.table[STOP] = []
    before = len(stand.errors)
    stand.press("s")
    stand.until(lambda: len(stand.errors) > before)
    assert stand.errors[-1]["what"].startswith("stop unknown") and stand.errors[-1]["reached"] == "maybe"
    assert stand.errors[-1]["hint"] == "Treat as running; hands clear. Close the nipple, ignition off."
