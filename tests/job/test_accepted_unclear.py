"""Fluid that did not run clear and is accepted: how its nipple was left is asked all the same, and judged by that."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import Stand
from tests.job.test_few_touches import FEW

from witnessmark.audit.case import open_case
from witnessmark.audit.questions import ran_clear, torque_cap
from witnessmark.audit.run import find
from witnessmark.audit.verdict import Finding


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=FEW)
    made.press("2")
    while made.view.get("what") != "torque":
        made.follow()
    made.press("n", "dark or dirty")
    made.press("y")
    made.press("k", "it ran long enough")
    yield made
    made.close()


def ask(stand: Stand) -> Finding:
    (question,) = torque_cap.audit_questions()
    return find(question, open_case(stand.journal.of("J1")))


def test_torque_and_cap_are_asked_before_the_next_pass(stand: Stand) -> None:
    assert (stand.view["kind"], stand.view["what"], stand.view["pass_id"]) == ("reading", "torque", "p1")
    assert "as it is shut now" in stand.view["text"] and not stand.view.get("buttons")
    assert stand.view["text"].endswith("At rear right: read its torque and see that its cap is on."), "nothing is over"
    stand.read("9", "N.m")
    (read,) = (one for one in stand.bodies("reading") if one.what == "torque")
    assert (read.also, read.nipple) == (("capped",), "rr")
    assert stand.view["pass_id"] == "p2"
    assert [one.text for one in ask(stand).details if one.answer == "met"] == ["9 N.m, asked 8 N.m to 10 N.m", "done"]


def test_what_was_seen_of_the_fluid_is_no_reason_of_torque_or_cap(stand: Stand) -> None:
    found = ask(stand)
    assert found.answer == "no proof" and "dark" not in found.text, found
    (question,) = ran_clear.audit_questions()
    assert find(question, open_case(stand.journal.of("J1"))).answer == "not met"


def test_a_pass_that_is_done_again_later_is_asked_again_whether_it_ran_clear() -> None:
    stand = Stand(procedure=FEW)
    stand.press("2")
    while stand.view.get("what") != "torque":
        stand.follow()
    stand.press("n", "dark or dirty")
    stand.press("y")
    stand.press("r")
    while stand.view.get("what") != "torque":
        stand.follow()
    assert "n" in [one["key"] for one in stand.view["buttons"]]
    stand.close()
