"""A wire command that was refused because nobody approves it: nothing stands open for it, and nothing is opened."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from tests.job.stand import LEAD, Stand

from witnessmark.job.allowed.approval import approve, withdraw
from witnessmark.mapping.load import from_document
from witnessmark.report.lines import line


@pytest.fixture
def stand() -> Iterator[Stand]:
    """A pass whose nipple stands open, and whose arming was refused as not approved."""
    made = Stand()
    made.go_to("arm", "p1")
    made.journal.append(withdraw(LEAD, from_document(made.document), "recalled"))
    made.answer()
    made.until(lambda: made.errors)
    assert made.errors[-1]["rule"] == "not-approved" and made.state.open_nipples == ("rr",)
    yield made
    made.close()


def test_a_nipple_that_was_opened_for_it_is_shut_with_a_key_and_none_is_opened_again_before(stand: Stand) -> None:
    stand.until(lambda: stand.view["kind"] == "close")
    assert stand.view["text"].startswith("Nothing is sent: pump is not approved")
    stand.press("y")
    stand.wait(5)
    assert stand.state.open_nipples == () and stand.view["kind"] == "busy"
    assert "Until then nothing is asked and no nipple opened" in stand.view["text"]


def test_the_job_keeps_once_who_withdrew_it_and_why_and_who_approved_what_is_then_sent(stand: Stand) -> None:
    stand.wait(6)
    (note,) = stand.bodies("note")
    assert note.said.startswith("the approval of pump was withdrawn by l-heron on ") and "recalled" in note.said
    stand.until(lambda: stand.view["kind"] == "close")
    stand.press("y")
    stand.journal.append(approve(LEAD, from_document(stand.document)))
    stand.go_to("running", "p1")
    assert len(stand.bodies("note")) == 1
    (armed,) = stand.bodies("armed")
    assert re.search(r"approved by l-heron on [\d :-]+ UTC \(entry \d+\)", line("armed", armed))


def test_once_it_is_approved_the_nipple_is_opened_anew_and_it_runs(stand: Stand) -> None:
    stand.until(lambda: stand.view["kind"] == "close")
    stand.press("y")
    stand.journal.append(approve(LEAD, from_document(stand.document)))
    stand.until(lambda: stand.view["kind"] == "open")
    stand.go_to("running", "p1")
    assert [one.act for one in stand.bodies("step") if one.act in ("opened", "closed")] == [
        "opened",
        "closed",
        "opened",
    ]
