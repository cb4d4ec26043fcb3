"""The blank card has the places that `job enter` asks for, at every point of every procedure, and no others."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import msgspec
import pytest
from tests.audit.jobs import TRUCK, edit
from tests.audit.procedures import WHOLE
from tests.report.test_sheet import Page

from witnessmark.host.card.card_beside import may_draw, places_beside
from witnessmark.host.card.card_entries import unit_at
from witnessmark.host.card.card_line import Day, read_line
from witnessmark.host.card.card_mend import KINDS, MADE_SAFE, NOT_MADE_SAFE
from witnessmark.host.card.carding import card
from witnessmark.job.walk.places import NOT_CLEAR, Places, places
from witnessmark.job.walk.steps import Point, walk
from witnessmark.procedure import load
from witnessmark.procedure.model import Limit, Procedure, Step, Wake
from witnessmark.procedure.plan import parse_scope, plan
from witnessmark.procedure.repeated import repeated

DATA = Path(str(files("witnessmark_practice"))) / "data"
SHIPPED = ["procedure", "vacuum", "stored_pressure"]
HEAD_LINES = 4
"""Job, date, vehicle and who did the work: `job enter JOB --on --done-by`, which shows the vehicle first."""
DAY = Day(date(2026, 3, 2), 1 << 62)


class Blanks(HTMLParser):
    """Every place to write on: those that are named, and how many are not."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.named: list[str] = []
        self.bare = 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        place = found.get("data-place")
        classes = (found.get("class") or "").split()
        if place:
            self.named.append(place)
        elif {"line", "box"} & {*classes}:
            self.bare += 1


def points_of(procedure: Procedure) -> Iterator[tuple[Point, Places]]:
    passes = {one.id: one for one in procedure.passes}
    for point in walk(procedure, procedure.passes):
        yield point, places(point, passes.get(point.pass_id))


def drawn(procedure: Procedure, scope: str = "full") -> str:
    return card(procedure, plan(procedure, parse_scope(scope)))


@pytest.mark.parametrize("name", SHIPPED)
def test_every_point_has_its_places_on_the_card_once_and_the_card_has_no_other(name: str) -> None:
    procedure = load.load(DATA / f"{name}.toml")
    found = Blanks(drawn(procedure))
    wanted = [f"|{point.id}|{kind}" for point, at in points_of(procedure) for kind in at.kinds]
    walked = [one for one in found.named if one.startswith("|")]
    assert sorted(walked) == sorted(wanted)
    again = {one.partition("|")[2].partition("|")[0].rpartition(":")[2] for one in found.named if one[:5] == "again"}
    steps = {step.id for step in repeated(procedure)}
    assert len(again) == len(steps) and bool(again) == bool(steps)
    assert {one.split("|")[0] for one in found.named} <= {"", "again", "spare", "beside", "drawn", "mended"}
    drawn_at = [point.id for point, _ in points_of(procedure) if may_draw(procedure, point)]
    draws = [f"drawn|{step}|{kind}" for step in drawn_at for kind in ("time", "value")]
    assert [one for one in found.named if one.startswith("drawn|")] == draws and draws
    beside = [f"beside|{one.id}|{kind}" for one in procedure.passes for kind in places_beside(procedure).kinds]
    assert sorted(one for one in found.named if one.startswith("beside|")) == sorted(beside)
    said = [one.partition("||")[2] for one in found.named if one.startswith("mended||")]
    boxes = [f"box {one}" for one in (*KINDS, MADE_SAFE, NOT_MADE_SAFE)]
    assert said == ["time", *boxes[:-2], "words", "at", *boxes[-2:]]
    kept, spare = 2, 1
    assert found.bare == HEAD_LINES + kept + spare


@pytest.mark.parametrize("name", SHIPPED)
def test_the_places_of_a_line_stand_in_the_order_in_which_it_is_keyed_in(name: str) -> None:
    """The time first; what was seen of one that is not clear stands at its box, on the card and in the line."""
    procedure = load.load(DATA / f"{name}.toml")
    walked = [one for one in Blanks(drawn(procedure)).named if one.startswith("|")]
    for point, at in points_of(procedure):
        wanted = [*at.kinds]
        if f"box {NOT_CLEAR}" in wanted:
            wanted.remove("words")
            wanted.insert(wanted.index(f"box {NOT_CLEAR}") + 1, "words")
        assert [one.rpartition("|")[2] for one in walked if one.split("|")[1] == point.id] == wanted, point.id


@pytest.mark.parametrize("name", SHIPPED)
def test_what_a_pass_done_again_asks_for_has_a_place_on_the_spare_one(name: str) -> None:
    procedure = load.load(DATA / f"{name}.toml")
    for passes in (procedure.passes, procedure.passes[:1]):  # one that the scope leaves out may be taken in
        found = Blanks(card(procedure, passes))
        spare = {one.rpartition("|")[2] for one in found.named if one.startswith("spare|")}
        assert {kind for point, at in points_of(procedure) if point.pass_id for kind in at.kinds} == spare


@pytest.mark.parametrize("name", SHIPPED)
def test_every_place_of_a_point_is_read_back_from_a_line(name: str) -> None:
    for point, at in points_of(load.load(DATA / f"{name}.toml")):
        line = read_line(example(at), at, DAY, point.id)
        assert len(line.times) == len(at.times), point.id
        assert bool(line.value) == (at.unit is not None)
        assert bool(line.by) == at.by
        assert bool(line.why) == (not at.times)
        for box in at.boxes:
            assert box in read_line(example(at, box), at, DAY, point.id).boxes, (point.id, box)


def example(at: Places, box: str = "") -> str:
    """Return a line with something at every place."""
    if not at.times:
        return f"- {at.words}"
    parts = ["10:42:05", "10:42:15", "10:42:06"][: len(at.times)]
    parts += ["12.5"] if at.unit is not None else []
    ticked = box or next(iter(at.boxes), "")
    if ticked:
        parts[-1] += f", {ticked}" if at.unit is not None else ""
        parts += [] if at.unit is not None else [ticked]
    return " ".join(parts) + (" by t-heron" if at.by else "")


def test_a_reading_is_asked_for_in_the_unit_of_its_step_whatever_its_band_is_written_in() -> None:
    """A gauge of the feed in psi, a torque band that begins in lbf.ft: a bare number is what the instrument shows."""
    torque = Step(id="torque", text="Read the torque", act="read", what="torque", unit="lbf.in")
    feed = Step(id="feed", text="Read the feed", act="read", what="feed-pressure", unit="psi")
    own = msgspec.structs.replace(TRUCK, steps_before_each_pass=(feed,), steps_after_each_pass=(torque,))
    asked = {(point.step.what, at.unit, unit_at(point)) for point, at in points_of(own) if point.step and point.limit}
    assert {("feed-pressure", "psi", "psi"), ("torque", "lbf.in", "lbf.in")} <= asked
    pressure = msgspec.structs.replace(own, steps_before_each_pass=(msgspec.structs.replace(feed, unit=""),))
    assert ("bar", "bar") in {(at.unit, unit_at(point)) for point, at in points_of(pressure) if point.id == "p1:feed"}


def test_a_card_has_every_step_every_pass_and_every_caution() -> None:
    text = Page(drawn(WHOLE)).text
    for step in (*WHOLE.steps_before, *WHOLE.steps_after_each_pass, *WHOLE.steps_after):
        assert step.text in text
    for nipple in WHOLE.nipples:
        assert nipple.name in text
    assert all(caution in text for caution in WHOLE.cautions)
    assert WHOLE.physical_fallback in text
    assert "entered afterwards" in text
    assert "this procedure is invented" in text


def test_a_card_has_a_line_for_each_nipple_of_a_pass() -> None:
    both = edit(('nipples = ["fl"]', 'nipples = ["fl", "fr"]'))
    found = Blanks(drawn(both, "nipples fl")).named
    assert len([one for one in found if one.startswith("|p4:open")]) == 2


def closing(also: tuple[str, ...], **keys: object) -> Procedure:
    """Return a procedure whose touch of the torque says these words too."""
    step = Step(id="torque", text="Torque it", act="read", what="torque", unit="N.m", affects="torqued", also=also)
    changed = msgspec.structs.replace(TRUCK, steps_after_each_pass=(step,))
    passes = tuple(msgspec.structs.replace(one, **keys) for one in changed.passes)
    return msgspec.structs.replace(changed, passes=passes)


def test_a_card_asks_for_clear_and_not_clear_only_where_the_pass_does() -> None:
    asks = Blanks(drawn(closing(("closed", "clear", "capped")), "nipples fl")).named
    assert {"|p4:torque:fl|box clear", "|p4:torque:fl|box not clear", "|p4:torque:fl|box capped"} <= {*asks}
    never = Blanks(drawn(closing(("closed", "clear", "capped"), clear=False), "nipples fl")).named
    assert [one for one in never if "box c" in one] == ["|p4:torque:fl|box capped", "spare|p1:torque:rr|box capped"]


def test_a_card_holds_only_the_passes_of_the_scope() -> None:
    text = Page(drawn(TRUCK, "nipples rl")).text
    assert "rear left" in text
    assert "rear right" not in text


def test_a_card_fetches_and_runs_nothing() -> None:
    names = {name for name, _ in Page(drawn(TRUCK)).tags}
    assert names.isdisjoint({"script", "link", "img", "iframe", "form", "a"})


def test_a_card_says_how_the_vehicle_is_woken_and_what_that_energises() -> None:
    text = Page(drawn(msgspec.structs.replace(TRUCK, wake=Wake("Open the door", "The pump")))).text
    assert "Open the door" in text and "The pump" in text


@pytest.mark.parametrize("group", ["steps_before_each_pass", "steps_after_each_pass"])
def test_a_card_keeps_cautions_and_second_persons_of_what_is_done_at_each_pass(group: str) -> None:
    step = Step(id="hose", text="Hose on", caution="Mind the eyes", person="second")
    text = drawn(msgspec.structs.replace(TRUCK, **{group: (step,)}))
    assert "Hose on (second person) Take care: Mind the eyes" in Page(text).text
    assert "|p1:hose|by" in Blanks(text).named


def test_a_value_may_stay_outside_its_limits_only_where_there_are_limits() -> None:
    bare = msgspec.structs.replace(TRUCK, steps_before=(), steps_after=(), steps_before_each_pass=())
    passes = tuple(msgspec.structs.replace(one, pressure=None, volume=None) for one in bare.passes)
    plain = msgspec.structs.replace(bare, passes=passes, steps_after_each_pass=())
    assert "left so" not in drawn(plain)
    held = msgspec.structs.replace(
        plain, steps_after=(Step(id="level", text="Level", act="read", unit="mL", limit=Limit("1 mL", "2 mL")),)
    )
    assert "left so" in drawn(held)


def test_a_card_has_lines_for_what_may_be_done_again_and_only_where_something_may() -> None:
    repeats = edit(("[pump]", '[[steps_after]]\nid = "leaks"\ntext = "Nothing is wet"\nmay_repeat = true\n\n[pump]'))
    text = Page(drawn(repeats)).text
    assert "Nothing is wet leaks" in text.partition("Done again")[2]
    assert "Done again" not in Page(drawn(WHOLE)).text


def test_a_card_asks_for_a_filling_only_where_no_step_of_the_pass_does_and_for_the_feed_where_one_is() -> None:
    pressed, vacuum = (load.load(DATA / f"{name}.toml") for name in ("procedure", "vacuum"))
    assert "off time" in places_beside(pressed).kinds and "filled value" in places_beside(pressed).kinds
    assert places_beside(vacuum).kinds == ("level time", "level value", "note")
    assert "level box yes" in places_beside(msgspec.structs.replace(TRUCK, steps_before=(), steps_after=())).kinds


def test_a_card_names_its_job_vehicle_date_and_number_on_each_page() -> None:
    text = drawn(TRUCK)
    style = text[text.index("@page") : text.index("</style>")]
    for words in ('"Job ____', "vehicle ____", "date ____", 'counter(page) " of " counter(pages)'):
        assert words in style


@pytest.mark.parametrize("name", ["procedure", "stored_pressure"])
def test_a_card_says_what_to_look_at_before_each_run_and_asks_for_nothing_that_has_no_place(name: str) -> None:
    procedure = load.load(DATA / f"{name}.toml")
    looks = [one.text for one in (*procedure.questions, *procedure.preconditions)]
    text = Page(drawn(procedure)).text
    assert looks and all(" ".join(one.split()) in text for one in looks)
    assert text.index("Before each run, with your own eyes") < text.index(" ".join(looks[0].split()))
    bare = msgspec.structs.replace(procedure, questions=(), preconditions=())
    assert "Does the vehicle stand still, held so that it cannot roll?" in Page(drawn(bare)).text
    by_hand = [msgspec.structs.replace(one, wire_command="", seconds="") for one in bare.passes]
    assert "with your own eyes" not in drawn(msgspec.structs.replace(bare, passes=tuple(by_hand)))


def test_a_card_says_what_fluid_is_asked_for_what_limits_hold_before_a_run_and_which_pass_takes_two_people() -> None:
    procedure = load.load(DATA / "stored_pressure.toml")
    first, *rest = procedure.passes
    two = msgspec.structs.replace(procedure, passes=(msgspec.structs.replace(first, two_people=True), *rest))
    text = Page(drawn(two)).text
    asked = " ".join([f"{procedure.fluid},", procedure.fluid_class])
    assert f"The fluid that the procedure asks for: {asked}" in text
    assert "The stored pressure is let off (at most 3 bar)" in text
    assert text.count("two people: it is run once who sits at the wheel says ready") == 1
