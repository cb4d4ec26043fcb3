"""A card where the vehicle is made safe to bleed what a mend opened: nothing is said there of the check itself."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any, cast

import pytest
from tests.host.test_carding import Blanks
from tests.job.stand import TECHNICIAN, Stand
from tests.job.test_mend_safe import MODES, to_pedal

from witnessmark.errors import InputError
from witnessmark.host.card import carding, entering
from witnessmark.host.card.card_line import Day
from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.state import JobState


class Card:
    """A job whose pedal leaks behind a service mode that was left, keyed in from a card from there on."""

    def __init__(self) -> None:
        self.stand = Stand(procedure=MODES)
        to_pedal(self.stand)
        self.stand.press("n", "leaks")
        now_ns = self.stand.clock.stamp().wall_ns
        self.at = datetime.fromtimestamp(now_ns / 1e9)
        self.day = Day(self.at.date(), now_ns + 3_000_000_000)
        self.journal = cast(Any, self.stand.journal)
        self.journal.append_many = lambda drafts: [self.journal.append(one) for one in drafts]

    @property
    def state(self) -> JobState:
        return fold(self.journal.of("J1"))

    def write(self, text: str) -> None:
        entering.enter(self.journal, self.state, text.format(f"{self.at:%H:%M:%S}"), self.day, TECHNICIAN, TECHNICIAN)


@pytest.fixture
def card() -> Iterator[Card]:
    made = Card()
    made.write("mended {} replaced rear-right, made safe")
    while made.state.point is not None and not made.state.point.mends:
        made.write("{} 1" if made.state.point.kind == "reading" else "{}")
    yield made
    made.stand.close()


@pytest.mark.parametrize("line", ["{} yes", "{} no still wet", "- it could not be seen", "{}"])
def test_nothing_of_the_check_is_taken_where_it_is_only_to_be_bled(card: Card, line: str) -> None:
    before = card.state
    with pytest.raises(InputError, match="made safe here to mend it") as refused:
        card.write(line)
    assert "again and p1" in refused.value.hint and card.state == before
    assert entering.form(before).startswith("again and p1") and "yes" not in entering.form(before)


def test_an_empty_line_leaves_it_unbled_and_the_walk_goes_on_to_what_puts_it_back(card: Card) -> None:
    card.write("?")
    assert not any(one.mends for one in card.state.points[card.state.cursor :])
    assert card.state.to_bleed and card.state.not_right


def test_the_pass_is_bled_from_there(card: Card) -> None:
    card.write("again p1")
    assert card.state.point is not None and card.state.point.pass_id == "p1"


def test_all_that_is_asked_again_has_a_place_on_the_card_beside_the_mend(card: Card) -> None:
    procedure = card.state.procedure
    places = [one.split("|") for one in Blanks(carding.card(procedure, card.state.plan)).named]
    drawn = {step.split(":")[-1] for where, step, _ in places if where == "mended"}
    asked: set[str] = set()
    card.write("again p1")
    while (point := card.state.point) is not None:
        asked |= {point.step.id} if point.step is not None and not point.pass_id else set()
        card.write("?")
    assert {"mode-off", "pedal", "level", "road-test"} <= asked and asked | {"mode-on", "let-off"} <= drawn
