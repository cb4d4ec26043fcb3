"""What a person read of the control unit on another tester and wrote on a card is keyed in as told."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay
from tests.cli.test_empty_card import BEFORE, findings, keyed, made, open_job
from tests.cli.test_entering import CARD
from tests.job.test_asking import STEPS

from witnessmark.host.card import entering

LAST = '[[steps_after]]\nid = "codes-after"\ntext = "Read the codes"\nact = "scan"\n'
TEXT = CARD.replace("[[steps_before]]", f"{STEPS}[[steps_before]]", 1).replace(
    "[[steps_after]]", f"{LAST}[[steps_after]]", 1
)


@pytest.fixture
def job(bay: Bay, tmp_path: Path) -> str:
    path = tmp_path / "asks.toml"
    path.write_text(TEXT, encoding="utf-8")
    return open_job(bay, path)


def test_number_and_codes_are_told_by_who_did_the_work_and_taken_back_like_any_line(bay: Bay, job: str) -> None:
    said, found = keyed(bay, job, "10:38", "10:38 V 123 as read", "10:39 none", "10:39 P0123, C2A10-00")
    assert "it does not say what another tester showed" in said and "is not a trouble code" in said
    number, codes = (one for one in found if one.kind in ("condition", "scan"))
    assert (number.body["source"], codes.body["codes"]) == ("told", ["P0123", "C2A10-00"])
    assert {one.occurred.basis for one in (number, codes)} == {"typed"} and codes.done_by == "person:t-otter"
    said, back = keyed(bay, job, "back", "10:40 no code")
    assert "P0123" in said.partition("taken back:")[2].splitlines()[1]
    assert [one.body.get("target", one.body.get("codes")) for one in back] == [codes.seq, []]


def test_codes_keyed_in_count_as_read_when_the_card_says_and_as_entered_afterwards(bay: Bay, job: str) -> None:
    _, found = keyed(bay, job, "?", "10:39 no code", *BEFORE, "10:43", "10:49 no code", "10:50")
    told = findings(bay, job)
    assert told["codes"]["answer"] == "met" and "t-otter" in told["codes"]["text"], told["codes"]
    scan = next(one.seq for one in reversed(found) if one.kind == "scan")
    assert scan in told["entered-live"]["cites"]
    bay.fine("amend", scan, "--reason", "misread", "--set", "at=10:41")
    assert "as corrected no proof" in findings(bay, job)["codes"]["text"]


@pytest.mark.parametrize(("line", "step"), [("- the customer knows", "codes-after"), ("?", "not-explained")])
def test_codes_that_the_work_does_not_set_stay_with_a_reason_or_without(
    bay: Bay, job: str, line: str, step: str
) -> None:
    said, found = keyed(bay, job, "?", "10:39 no code", *BEFORE, "10:43", "10:49 P0123", line, "10:50")
    assert "The work does not set all of it: write what was read later" in said
    assert [name for name, _ in made(found)][-3:] == ["codes-after", step, "road-test"]
    state = entering.state_of(bay.shop, job)
    assert state.point is None and not state.codes_due
