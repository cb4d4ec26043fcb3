"""Before anything is opened for a run of another tester, what must be seen is asked, answered, and an entry."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.bus import ListeningLink
from tests.job.stand import PROCEDURE, Stand

from witnessmark.journal.bodies import StepDone
from witnessmark.report.lines import line

HOLDS = PROCEDURE.replace('text = "Is nobody near?"', 'text = "Is nobody near?"\nholds = "600 s"')


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(grade="told", without_map=True)
    yield made
    made.close()


def looks(stand: Stand) -> list[StepDone]:
    return [one for one in stand.bodies("step") if one.step == "safety-look"]


def asked(stand: Stand) -> list[str]:
    return [one["id"] for one in stand.view["questions"]]


def to_tell(stand: Stand) -> None:
    """Follow the views until the next run is asked for, its motor rested."""
    stand.go_to("tell")
    stand.until(lambda: "motor rests" not in stand.view["text"])
    stand.go_to("tell")


def tell(stand: Stand, key: str = "e") -> None:
    to_tell(stand)
    stand.press("b")
    stand.wait(8)
    stand.press(key)


def test_it_is_asked_before_the_nipple_is_opened_with_all_that_no_machine_reads(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    assert asked(stand) == ["nobody-near", "voltage", "gear", "hood", "speed"]
    assert "Look before anything is opened or run" in stand.view["text"] and "arm" not in stand.view["text"]
    assert stand.state.open_nipples == ()
    stand.answer()
    assert stand.view["kind"] == "open" and "armed" not in stand.kinds() and stand.errors == []
    (said,) = looks(stand)
    assert (said.act, said.pass_id) == ("confirmed", "p1")
    text = line("step", said)
    assert text.startswith("looked before anything was opened or run, and said yes to")
    assert "Is nobody near? Supply (at least 11.5 V). Selector in park. Is the hood shut?" in text


def test_a_no_opens_nothing_and_is_recorded(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.answer(gear=False)
    stand.until(lambda: stand.bodies("refused"))
    (refused,) = stand.bodies("refused")
    assert refused.why == "Selector in park no" and looks(stand) == []
    stand.until(lambda: stand.view["kind"] == "arm")


def test_what_is_left_unanswered_is_asked_still(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.do(do="answers", answers={"nobody-near": True})
    assert "not all of it was answered" in stand.errors[-1]["what"] and looks(stand) == []


def test_each_pass_and_each_further_run_is_asked_for_once(stand: Stand) -> None:
    tell(stand)
    tell(stand, "0")  # it did not start after all: what was seen holds for the one that does
    assert stand.view["kind"] == "tell"
    tell(stand, "x")
    stand.press("1")
    stand.go_to("decide")
    stand.press("r")
    to_tell(stand)
    assert [one.pass_id for one in looks(stand)] == ["p1", "p2", "p2"]


def test_after_a_pause_it_is_asked_again(stand: Stand) -> None:
    stand.go_to("open", "p1")
    stand.do(do="pause", why="lunch")
    stand.press("r")
    stand.go_to("open", "p1")
    assert len(looks(stand)) == 2


def test_what_holds_between_passes_is_asked_once() -> None:
    stand = Stand(procedure=HOLDS, grade="told", without_map=True)
    stand.go_to("arm", "p1")
    assert "nobody-near" in asked(stand)
    tell(stand)
    stand.go_to("tell", "p2")
    stand.until(lambda: stand.view["kind"] == "arm")
    assert "nobody-near" not in asked(stand) and "gear" in asked(stand)
    stand.close()


def test_where_we_listen_nobody_here_reads_what_a_machine_could_and_the_person_is_asked() -> None:
    bus = ListeningLink()
    stand = Stand(grade="heard", bus=bus)
    bus.clock = stand.clock
    stand.go_to("arm", "p1")
    assert {"voltage", "gear", "hood", "nobody-near", "speed"} == {*asked(stand)}
    stand.answer()
    assert stand.view["kind"] == "open" and bus.sent == [] and len(looks(stand)) == 1
    stand.go_to("hear", "p1")
    assert "Look" not in str(stand.view["shown"]), "it was answered"
    stand.close()
