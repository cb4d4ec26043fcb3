"""A card with a pass done again, a pass bled after a mend, and a second mend: all that is asked then has its place."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, cast

import pytest
from tests.host.test_card_words import right
from tests.host.test_carding import DATA, SHIPPED, Blanks
from tests.job.stand import TECHNICIAN, MemoryJournal

from witnessmark.clock import ManualClock
from witnessmark.host.card import carding, entering
from witnessmark.host.card.card_line import Day
from witnessmark.job.amiss import bleeding
from witnessmark.job.fluid.container import IN_VEHICLE
from witnessmark.job.walk.fold import advance, fold
from witnessmark.job.walk.steps import Point
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft
from witnessmark.procedure import load
from witnessmark.procedure.words import FINAL_CHECKS

PLACES = ("mended", "spare", "again")
"""Where the card has what is asked behind the first round of its passes."""


class Walk:
    """A job that is keyed in line by line; `asked` is what it came to while `watched`, with each place."""

    def __init__(self, name: str) -> None:
        self.procedure = load.load(DATA / f"{name}.toml")
        self.journal = cast(Any, MemoryJournal(ManualClock()))
        self.journal.append_many = lambda drafts: [self.journal.append(one) for one in drafts]
        opened = bodies.JobOpened(
            title="", vehicle={}, procedure=load.to_document(self.procedure),
            procedure_digest=load.digest(self.procedure), plan=tuple(one.id for one in self.procedure.passes),
            grade="told",
        )  # fmt: skip
        self.journal.append(Draft("job-opened", "J1", TECHNICIAN.actor, body=bodies.to_body(opened)))
        self.state = fold(self.journal.of("J1"))
        now_ns = self.journal.clock.stamp().wall_ns
        self.at = f"{datetime.fromtimestamp(now_ns / 1e9):%H:%M:%S}"
        self.day = Day(datetime.fromtimestamp(now_ns / 1e9).date(), now_ns + 10**12)
        self.watched = False
        self.asked: set[tuple[bool, str, str]] = set()

    def write(self, text: str) -> None:
        for time in ("10:42:05", "10:42:15", "10:42:16"):
            text = text.replace(time, self.at)
        entering.enter(self.journal, self.state, text, self.day, TECHNICIAN, TECHNICIAN)
        for entry in self.journal.of("J1")[self.state.last_seq + 1 :]:
            self.state = advance(self.state, entry)

    def go_on(self, until: Callable[[Point], bool] = lambda point: False) -> None:
        """Write what each point asks for, within its limits; what stays all the same is left empty."""
        for _ in range(300):
            point = self.state.point
            if point is None or until(point):
                return
            at = entering.here(self.state)
            if self.watched:
                what = point.step.id if point.step is not None else point.kind
                self.asked |= {(bool(point.pass_id), what, kind) for kind in at.kinds}
            if point.mends:
                self.write(f"again {bled(self)}")
                continue
            stood, text = (self.state.cursor, self.state.points), right(point, at)
            if point.limit is not None:
                time, _, value = text.partition(" ")
                text = f"{time} {point.limit.low or point.limit.high}{value[value.find(',') :] if ',' in value else ''}"
            self.write(text)
            if (self.state.cursor, self.state.points) == stood:
                self.write("?")
        raise AssertionError("the walk has no end")


def bled(walk: Walk) -> str:
    return next(one for one in bleeding.offered(walk.state) if "," not in one)


def checks(point: Point) -> bool:
    return point.step is not None and not {*FINAL_CHECKS}.isdisjoint((point.step.affects, *point.step.also))


def drives(point: Point) -> bool:
    return point.step is not None and "road-test" in (point.step.affects, *point.step.also)


@pytest.mark.parametrize("name", SHIPPED)
def test_all_that_is_asked_again_for_a_mend_or_a_pass_done_again_has_its_place_on_the_card(name: str) -> None:
    walk = Walk(name)
    first, nipple = walk.procedure.passes[0], walk.procedure.nipples[0].id
    walk.go_on(lambda point: point.pass_id not in ("", first.id))
    walk.watched = True
    walk.write(f"again {first.id}")
    walk.go_on(lambda point: point.pass_id not in ("", first.id))
    assert (True, "open", "time 1") in walk.asked
    walk.watched = False
    walk.go_on(checks)
    walk.watched = True
    walk.write("10:42:05 no wet")
    walk.write(f"mended 10:42:05 replaced {nipple}, made safe")
    if not any(one.mends for one in walk.state.points[walk.state.cursor :]):
        walk.write(f"again {bled(walk)}")
    walk.go_on(drives)
    walk.write("10:42:05 no wet at a nipple")
    walk.write(f"mended 10:42:05 tightened {nipple}, not made safe")
    walk.go_on()
    fed = any("pressurise" in (one.affects, *one.also) for one in walk.procedure.steps_before)
    asked = {what for _, what, _ in walk.asked}
    assert {"pedal", "level", "wheels", "road-test", "torque"} <= asked and ("feed-on" in asked) is fed
    passes = {one.id for one in walk.procedure.passes}
    drawn = set()
    for one in Blanks(carding.card(walk.procedure, walk.procedure.passes)).named:
        where, point, kind = one.split("|")
        names = point.split(":")
        drawn |= {(where == "spare", names[names[0] in passes], kind)} if where in PLACES else set()
    assert walk.asked <= drawn


def test_why_the_fluid_in_the_vehicle_cannot_be_read_is_keyed_in_as_not_known() -> None:
    walk = Walk("vacuum")
    walk.go_on(lambda point: point.step is not None and point.step.affects == IN_VEHICLE)
    stood = walk.state.cursor
    walk.write("- there is no label")
    said = walk.journal.of("J1")[-1].body
    assert walk.state.cursor == stood + 1
    assert (said["act"], said["answer"], said["said"]) == ("confirmed", "not known", "there is no label")
