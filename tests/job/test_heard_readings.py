"""What another tester reads while we listen: the control unit's number, what it is known by, and its trouble codes."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.bus import ANSWER, ListeningLink
from tests.job.stand import PROCEDURE, Stand
from tests.job.test_listening import begin, bus_of, ran

from witnessmark.link.frame import Frame

NUMBER = "1M8GDM9AXKP042788"
"""49 CFR 565: an example with a right check digit."""
ASKS = """
control_unit = "brakes"
[[steps_before]]
id = "codes-before"
text = "Read the codes"
act = "scan"
"""
AFTER = """
[[steps_after]]
id = "codes-after"
text = "Read the codes again"
act = "scan"
"""


def stand_with(procedure: str = PROCEDURE) -> Iterator[Stand]:
    bus = ListeningLink()
    made = Stand(grade="heard", bus=bus, procedure=procedure)
    bus.clock = made.clock
    yield made
    made.close()


@pytest.fixture
def stand() -> Iterator[Stand]:
    yield from stand_with()


@pytest.fixture
def scanning() -> Iterator[Stand]:
    before, questions = PROCEDURE.split("nipples = [", 1)
    text = f'{before}control_unit = "brakes"\nnipples = [{questions}'
    first = text.index("[[steps_before]]")
    yield from stand_with(text[:first] + ASKS.split("\n", 2)[2] + text[first:] + AFTER)


def read(stand: Stand, asked: str, answer: str) -> None:
    """Another tester reads; an answer of several frames comes as ISO 15765-2 cuts it."""
    bus = bus_of(stand)
    bus.ask(asked)
    stand.wait(0.02)
    data = bytes.fromhex(answer)
    if len(data) <= 7:
        bus.answer(answer)
    else:
        pieces = [data[6 + at : 13 + at] for at in range(0, len(data) - 6, 7)]
        frames = [bytes((0x10, len(data))) + data[:6]]
        frames += [bytes((0x21 + at,)) + piece for at, piece in enumerate(pieces)]
        for one in frames:
            bus._frames.append(Frame(ANSWER, one, stand.clock.stamp()))
    stand.turn(6)


def number(text: str = NUMBER) -> str:
    return "62F190" + text.encode().hex().upper()


def test_the_number_that_another_tester_reads_is_in_the_journal_as_it_was_heard(stand: Stand) -> None:
    stand.go_to("hear")
    read(stand, "22F190", number())
    (one,) = [one for one in stand.bodies("exchange") if one.purpose == "identification"]
    assert (one.request, one.result, one.heard, one.actuation) == ("22F190", "positive", True, None)
    assert one.answers[-1].payload == number() and one.answers[-1].source == "7A8"
    assert stand.unit.heard == [] and bus_of(stand).sent == []


def test_a_tester_that_reads_the_same_all_the_time_fills_no_journal(stand: Stand) -> None:
    stand.go_to("hear")
    for _ in range(5):
        read(stand, "22F189", "62F1890102")
    read(stand, "22F189", "62F1890103")
    said = [one.answers[-1].payload for one in stand.bodies("exchange")]
    assert said == ["62F1890102", "62F1890103"]


def test_another_control_unit_than_the_maps_is_told(stand: Stand) -> None:
    stand.go_to("hear")
    read(stand, "22F189", "62F1890103")
    assert "F189 was heard to be 0103, and the map is of one with 0102" in stand.errors[-1]["what"]
    read(stand, "22F189", "62F1890102")
    assert len(stand.errors) == 1


def test_a_reading_that_is_refused_or_not_answered_says_nothing(stand: Stand) -> None:
    stand.go_to("hear")
    read(stand, "22F190", "7F2231")
    bus_of(stand).ask("22F189")
    stand.wait(7)
    assert stand.bodies("exchange") == [] and stand.bodies("scan") == []


def test_codes_that_another_tester_reads_at_the_step_that_asks_for_them_answer_it(scanning: Stand) -> None:
    stand = scanning
    stand.until(lambda: stand.state.point is not None and stand.state.point.step.id == "codes-before")
    read(stand, "190209", "590209C0350009")
    (scan,) = stand.bodies("scan")
    assert (scan.when, scan.codes, scan.control_unit, scan.step) == ("before", ("U0035-00",), "brakes", "codes-before")
    exchange = next(one for one in stand.journal.made if one.seq == scan.exchange)
    assert exchange.body["heard"] is True and exchange.body["purpose"] == "scan"
    assert stand.state.point.step.id != "codes-before"


def test_codes_that_are_read_between_steps_are_a_scan_of_before_or_after_the_work(scanning: Stand) -> None:
    stand = scanning
    read(stand, "190209", "590209")
    stand.go_to("hear", "p1")
    ran(stand)
    read(stand, "1902FF", "5902FF")
    assert [(one.when, one.step) for one in stand.bodies("scan")] == [("before", "codes-before"), ("after", "")]


def test_codes_that_are_read_the_same_before_and_after_the_work_are_two_scans(scanning: Stand) -> None:
    stand = scanning
    read(stand, "190209", "590209")
    read(stand, "190209", "590209")
    stand.go_to("hear", "p1")
    ran(stand)
    read(stand, "190209", "590209")
    assert [one.when for one in stand.bodies("scan")] == ["before", "after"]


@pytest.mark.parametrize(("asked", "answer"), [("190201", "590201"), ("190209", "590209C03500")])
def test_a_mask_that_leaves_codes_out_and_an_answer_that_is_not_whole_are_no_scan(
    scanning: Stand, asked: str, answer: str
) -> None:
    read(scanning, asked, answer)
    assert scanning.bodies("scan") == [] and len(scanning.bodies("exchange")) == 1


def test_readings_while_it_runs_do_not_disturb_the_run(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    read(stand, "22F190", number())
    assert stand.view["kind"] == "heard" and stand.state.open_intent is not None
