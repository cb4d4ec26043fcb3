"""What two people do starts only once the second, who is signed on, has said that they are ready at the wheel."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.audit.shipped import QUESTIONS
from tests.job.stand import LEAD, PROCEDURE, TECHNICIAN, MemoryJournal, Stand, signed_on

from witnessmark.audit.run import audit
from witnessmark.journal.entry import Draft
from witnessmark.people.person import Person

TWO = PROCEDURE.replace('pressure_age = "90 s"', 'pressure_age = "90 s"\ntwo_people = true').replace(
    'affects = "road-test"', 'affects = "road-test"\nperson = "second"'
)


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=TWO, before=signed_on(LEAD, TECHNICIAN))
    yield made
    made.close()


def keys(stand: Stand) -> list[str]:
    return [one["key"] for one in stand.view["buttons"]]


def test_it_cannot_be_started_before_the_second_is_ready(stand: Stand) -> None:
    stand.go_to("armed", "p1")
    assert keys(stand) == ["w", "x"]
    stand.do(do="start")
    assert "not ready at the wheel" in stand.errors[-1]["what"] and not stand.acts


def test_it_starts_once_the_second_has_said_so_and_the_entry_names_them(stand: Stand) -> None:
    stand.go_to("armed", "p1")
    stand.press("w")
    stand.until(lambda: keys(stand) == ["s", "x"])
    stand.press("s")
    stand.until(lambda: stand.acts)
    entry = next(one for one in stand.journal.of("J1") if one.body.get("step") == "ready-at-wheel")
    assert (entry.done_by, entry.entered_by, entry.body["pass_id"]) == (LEAD.actor, TECHNICIAN.actor, "p1")
    intent = next(one for one in stand.journal.of("J1") if one.kind == "intent")
    assert entry.seq < intent.seq


def test_who_was_ready_must_say_so_again_when_it_is_armed_again(stand: Stand) -> None:
    stand.go_to("armed", "p1")
    stand.press("w")
    stand.until(lambda: keys(stand) == ["s", "x"])
    stand.press("x")
    stand.go_to("armed", "p1")
    assert keys(stand) == ["w", "x"]


@pytest.mark.parametrize("people", [(), (TECHNICIAN,)], ids=["nobody", "only the first"])
def test_without_a_second_who_is_signed_on_it_stays_refused(people: tuple[Person, ...]) -> None:
    stand = Stand(procedure=TWO, before=signed_on(*people))
    stand.go_to("armed", "p1")
    stand.press("w")
    stand.until(lambda: any("second person" in one["what"] for one in stand.errors))
    assert "sign-on" in stand.errors[-1]["hint"] and keys(stand) == ["w", "x"] and not stand.acts
    stand.close()


def test_who_has_gone_is_not_the_second() -> None:
    def before(journal: MemoryJournal) -> None:
        signed_on(LEAD)(journal)
        journal.append(Draft("sign-off", None, LEAD.actor, body={}))

    stand = Stand(procedure=TWO, before=before)
    stand.go_to("armed", "p1")
    stand.press("w")
    stand.until(lambda: any("nobody else" in one["what"] for one in stand.errors))
    stand.close()


def test_a_pass_for_one_person_asks_for_no_second(stand: Stand) -> None:
    stand.go_to("armed", "p1")
    stand.press("w")
    stand.until(lambda: keys(stand) == ["s", "x"])
    stand.go_to("armed", "p2")
    assert keys(stand) == ["s", "x"]


def test_who_is_ready_says_so_too_before_another_tester_runs_it_and_again_before_the_next_run() -> None:
    stand = Stand(procedure=TWO, grade="told", without_map=True, before=signed_on(LEAD, TECHNICIAN))
    stand.go_to("tell", "p1")
    assert keys(stand) == ["w", "b", "e"] and stand.view["text"].startswith("Two people: who sits at the wheel")
    stand.press("w")
    assert keys(stand) == ["b", "e"] and "Two people" not in stand.view["text"]
    stand.press("b")
    stand.press("0")
    assert keys(stand) == ["w", "b", "e"], "it did not start after all: it is asked anew"
    stand.press("w")
    stand.press("b")
    stand.wait(8)
    stand.press("e")
    who = next(one for one in audit(stand.journal.made, [QUESTIONS[32]]).findings[0].details if one.subject == "p1")
    assert (who.answer, who.text) == ("met", "a second person was ready at the wheel (told)")
    stand.close()
