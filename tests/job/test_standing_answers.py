"""What does not change between passes is asked by itself and holds for a time; what does is asked before every pass."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.cli.bay.dialog import Dialog

STANDING = PROCEDURE.replace(
    '[[questions]]\nid = "nobody-near"',
    '[[questions]]\nid = "mounted"\ntext = "Are the calipers mounted?"\nholds = "10 min"\n'
    '[[questions]]\nid = "supported"\ntext = "Is it on supports?"\nholds = "10 min"\nsaid_by = "pressurise"\n'
    '[[questions]]\nid = "nobody-near"',
)


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=STANDING)
    yield made
    made.close()


def asked(stand: Stand) -> list[str]:
    return [one["id"] for one in stand.view["questions"]]


def test_it_is_asked_once_and_not_before_the_next_pass(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    assert asked(stand) == ["mounted", "nobody-near", "hood"]
    assert [one.get("alone", False) for one in stand.view["questions"]] == [True, False, False]
    stand.go_to("arm", "p2")
    assert asked(stand) == ["nobody-near", "hood"]
    stand.go_to("armed", "p2")
    assert "yes, said" in stand.view["shown"]["Are the calipers mounted?"]


def test_a_no_refuses_and_it_is_asked_again(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.answer(mounted=False)
    assert "mounted? no" in stand.errors[-1]["what"] and not stand.acts
    stand.go_to("arm", "p1")
    assert "mounted" in asked(stand)


def test_after_its_time_it_is_asked_again_and_no_old_answer_passes(stand: Stand) -> None:
    stand.go_to("arm", "p2")
    stand.clock.advance(700)
    stand.turn()
    stand.wait(1)
    stand.do(do="answers", answers={"nobody-near": True, "hood": True})
    assert any("no answer" in one["what"] for one in stand.errors) or "mounted" in asked(stand)
    stand.go_to("arm", "p2")
    assert {"mounted", "supported"} <= set(asked(stand))


def test_after_a_pause_it_is_asked_again(stand: Stand) -> None:
    stand.go_to("arm", "p2")
    stand.send(do="pause", why="lunch")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("r")
    stand.go_to("arm", "p2")
    assert {"mounted", "supported"} <= set(asked(stand))


def test_one_key_for_all_does_not_answer_what_has_an_answer_of_its_own(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    dialog = Dialog()
    dialog.show(stand.view)
    assert dialog.press("Y") is None and "of its own" in dialog.complaint
    assert dialog.press("y") is None
    command = dialog.press("Y")
    assert isinstance(command, dict) and command["answers"] == {"mounted": True, "nobody-near": True, "hood": True}
