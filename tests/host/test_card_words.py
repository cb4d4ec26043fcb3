"""A line that is keyed in one line too early or too late is refused, or asked about, wherever it does not fit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from tests.host.test_carding import DATA, SHIPPED

from witnessmark.errors import InputError
from witnessmark.host.card import card_beside, card_mend, card_words, entering
from witnessmark.host.card.card_entries import bodies_of
from witnessmark.host.card.card_known import Known
from witnessmark.host.card.card_line import Day, read_line
from witnessmark.job.fluid.container import IN_VEHICLE, READ_OFF
from witnessmark.job.plausible import bounds
from witnessmark.job.walk.places import NO, YES, Places, identifies, may_leave, places
from witnessmark.job.walk.state import UNEXPLAINED, JobState
from witnessmark.job.walk.steps import Point, walk
from witnessmark.procedure import load

DAY = Day(date(2026, 3, 2), 1 << 62)
OTHERS = ["yes", "no", "2.0 with", "2.0 bar, with", "8 N.m, clear, capped, with", "180", "12 d", "clear", "with",
          "8 with wrench 7", "10:42:15", "done, yes", "no code", "not clear", "?, clear", "1.2 N·m capped"]  # fmt: skip


def stands(procedure_name: str) -> list[JobState]:
    """Return a state at each kind of place that a procedure asks for, one of each."""
    procedure = load.load(DATA / f"{procedure_name}.toml")
    points = walk(procedure, procedure.passes)
    begun = JobState("J1", procedure, None, "", "told", procedure.passes, points, "")
    found = {}
    for at, point in enumerate(points):
        state = replace(begun, cursor=at)
        found.setdefault((point.kind, entering.form(state)), state)
    return list(found.values())


def right(point: Point, at: Places) -> str:
    """Return a line as the card of a point has it, with all that may be ticked."""
    parts = ["10:42:05", "10:42:15", "10:42:16"][: len(at.times)]
    if at.unit is not None:
        clear = ", ".join(one for one in at.boxes if one != "not clear")
        step = point.step
        least = bounds(step.what or step.id, at.unit)[0] if step is not None else ""
        parts.append(", ".join(part for part in (f"{least} {at.unit}", clear, "with" if at.tool else "") if part))
    elif point.kind == "ask":
        parts.append("0DU14LT2XN0000014" if identifies(point) else "P0123")
    elif at.boxes:
        parts.append(at.boxes[0])
    elif point.step is not None and point.step.affects in READ_OFF:
        parts.append("DOT 4")
    return " ".join([*parts, *(["by t-heron"] if at.by else [])])


def is_taken(state: JobState, text: str) -> bool:
    """Whether a line is recorded with no question."""
    point = state.point
    assert point is not None
    try:
        if entering.doubt(state, text, DAY, Known()):
            return False
        at = entering.here(state)
        line = read_line(text, at, DAY, point.id)
        card_words.check(point, at, line)
        bodies_of(state, point, line, DAY)
    except InputError as error:
        assert error.hint and error.place
        return False
    return True


@pytest.mark.parametrize("name", SHIPPED)
def test_a_line_is_taken_where_it_belongs_and_at_no_place_that_is_written_otherwise(name: str) -> None:
    found = stands(name)
    assert len(found) > 8
    for state in found:
        point = state.point
        assert point is not None
        own = right(point, entering.here(state))
        assert is_taken(state, own), own
        for other in found:
            at = other.point
            assert at is not None
            if (text := right(at, entering.here(other))) != own and is_taken(state, text):
                assert alike(entering.here(state), entering.here(other), text), (point.id, text)


def alike(one: Places, other: Places, text: str) -> bool:
    """Whether two places are written alike: the same times and unit; of a drive a time alone says that it was."""
    same = (len(one.times), one.unit) == (len(other.times), other.unit)
    return same or (one.boxes == (YES, NO) and text == "10:42:05")


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("words", OTHERS)
def test_what_another_line_has_is_nobody_s_words(name: str, words: str) -> None:
    for state in stands(name):
        point, at = state.point, entering.here(state)
        assert point is not None
        fits = (at.unit is not None and words[0].isdigit()) or (words in at.boxes)
        fits = fits or (words == "?, clear" and "clear" in at.boxes) or (len(at.times) > 1 and words == "10:42:15")
        assert fits or not is_taken(state, f"10:42 {words}"), (point.id, words)
        assert not is_taken(state, f"- {words}")
        if at.boxes == (YES, NO):
            assert not is_taken(state, f"10:42 no {words}") and not is_taken(state, f"10:42 yes, {words}")


@pytest.mark.parametrize(
    "words",
    ["2 drops at the hose", "no rig here", "with a new washer", "clear at last, then foam", "yes it was loose",
     "8 N.m is all it takes", "the card was wet"],
)  # fmt: skip
def test_what_a_person_says_may_begin_as_another_line_does(words: str) -> None:
    assert not card_words.of_another_line(words)


def test_words_behind_a_time_are_taken_once_more_where_the_card_has_them_for_what_was_left_out() -> None:
    found = [one for name in SHIPPED for one in stands(name) if "left out" in entering.here(one).words]
    found = [
        one for one in found if one.point is not None and one.point.kind == "step" and not entering.here(one).boxes
    ]
    assert found
    for state in found:
        assert "- and no rig says that it was left out" in entering.doubt(state, "10:42 no rig", DAY, Known())
        assert entering.doubt(state, "10:42 done", DAY, Known()) == ""


def test_what_was_left_out_may_have_a_time_before_it() -> None:
    for state in stands("procedure"):
        point = state.point
        if point is None or point.kind != "ask":
            continue
        line = read_line("10:42 - display dark", entering.here(state), DAY, point.id)
        ((kind, when, body),) = bodies_of(state, point, line, DAY)
        assert (kind, body.act, body.said) == ("step", "skipped", "display dark")
        assert when == DAY.read("10:42")
        with pytest.raises(InputError, match="no reason is written"):
            read_line("10:42 -", entering.here(state), DAY, point.id)


def test_what_stands_beside_the_walk_takes_no_other_line_either() -> None:
    (state, *_) = stands("procedure")
    with pytest.raises(InputError, match="has no place on this line") as refused:
        card_beside.body_of(state, "off", "10:41 500 mL", DAY)
    assert "filled 10:42" in refused.value.hint
    check = next(at for at, one in enumerate(state.points) if one.step is not None and one.step.id == "pedal")
    wrong = replace(state, cursor=check, not_right=(state.points[check].id,))
    for words in OTHERS:
        with pytest.raises(InputError):
            card_mend.read(wrong, words)
    wheels = next(at for at, one in enumerate(state.points) if one.step is not None and one.step.id == "wheels")
    assert places(state.points[wheels]).unit == "N.m"


def test_what_was_seen_of_one_that_is_not_clear_is_asked_only_where_it_has_a_box() -> None:
    for state in (one for name in SHIPPED for one in stands(name)):
        assert ("not clear: what was seen" in entering.form(state)) is ("not clear" in entering.here(state).boxes)


@pytest.mark.parametrize("name", SHIPPED)
def test_a_dash_of_which_the_card_has_no_reason_says_that_it_was_left_out_or_is_not_known(name: str) -> None:
    for state in stands(name):
        point, at = state.point, entering.here(state)
        assert point is not None
        for text in ("- ?", "10:42 - ?") if len(at.times) == 1 else ("- ?",):
            assert is_taken(state, text) is may_leave(point), (point.id, text)
            if may_leave(point):
                line = read_line(text, at, DAY, point.id)
                ((kind, _, body),) = bodies_of(state, point, line, DAY)
                in_it = point.step is not None and point.step.affects == IN_VEHICLE
                act, answer = ("confirmed", "not known") if in_it else ("skipped", "")
                assert (kind, body.act, body.answer, body.said) == ("step", act, answer, "")
    assert not is_taken(state, "- ? ?")


def test_what_was_read_stays_so_with_no_reason_written() -> None:
    (state,) = (one for one in stands("procedure") if one.point is not None and one.point.id == "codes-before")
    due = replace(state, codes_due="codes-before")
    assert due.point is not None
    line = read_line("- ?", entering.here(due), DAY, "codes-before")
    ((_, _, body),) = bodies_of(due, due.point, line, DAY)
    assert (body.step, body.act, body.answer) == (UNEXPLAINED, "confirmed", "codes-before")


@pytest.mark.parametrize("name", SHIPPED)
def test_a_length_behind_yes_or_no_is_what_was_seen_where_no_value_is_asked_in_its_unit(name: str) -> None:
    checks = [one for one in stands(name) if entering.here(one).boxes == (YES, NO)]
    assert checks
    for state in checks:
        point, at = state.point, entering.here(state)
        assert point is not None
        for text, looked in (("10:42 no 1 mm", True), ("10:42 yes 8,5 mm", False)):
            assert is_taken(state, text), (point.id, text)
            line = read_line(text, at, DAY, point.id)
            ((_, _, body),) = bodies_of(state, point, line, DAY)
            assert (body.looked, body.said) == (looked, text.split(" ", 2)[2])
            with pytest.raises(InputError, match="has no place on this line"):
                card_words.check(point, at, line, {"mm"})
        assert not is_taken(state, "10:42 no 1 mm, clear") and not is_taken(state, "10:42 1 mm")


@pytest.mark.parametrize("text", ["00283 01130", "16352", "C1234, 00283"])
def test_codes_of_digits_alone_are_refused_with_how_one_is_written(text: str) -> None:
    (state,) = (one for one in stands("procedure") if one.point is not None and one.point.id == "codes-before")
    assert state.point is not None
    line = read_line(f"10:42 {text}", entering.here(state), DAY, "codes-before")
    with pytest.raises(InputError, match="is not a trouble code") as refused:
        card_words.check(state.point, entering.here(state), line)
        bodies_of(state, state.point, line, DAY)
    assert "write P, C, B or U" in refused.value.hint
