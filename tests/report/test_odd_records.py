"""Odd records are still told: papers come of them without raising, and a text that cannot be read names its entry."""

from __future__ import annotations

import re
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.audit.jobs import NS, TECHNICIAN, WALL, Job
from tests.audit.procedures import complete
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.quantity import UNITS
from witnessmark.report.comparison import comparison
from witnessmark.report.facts import facts
from witnessmark.report.sheet import sheet
from witnessmark.report.statement import statement, tag

WHOLE = complete().entries()
TYPED = "<script>typed</script>"


def papers(entries: tuple[Entry, ...]) -> tuple[dict[str, Any], str]:
    """Return the facts of a record, and the text of its sheet, statement and tag."""
    told = facts(audit(entries, list(QUESTIONS.values())))
    return told, sheet(told) + statement(told) + tag(told)


def other(value: Any, draw: st.DrawFn) -> Any:
    """Return something else that could stand in the place of a value: of the same type."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, str):
        return draw(st.sampled_from(["", TYPED, "0", "-5", "opened", "closed", "skipped"]))
    if isinstance(value, dict) and "unit" in value:
        return {"value": draw(st.sampled_from(["0", "-1", "1E+3"])), "unit": draw(st.sampled_from([*UNITS]))}
    return draw(st.sampled_from([[], value]))


@st.composite
def odd_records(draw: st.DrawFn) -> tuple[Entry, ...]:
    """Draw a whole job of which entries are gone, written twice, at each other's time, otherwise, or corrected."""
    made = list(WHOLE)
    for _ in range(draw(st.integers(1, 6))):
        at, beside = (draw(st.integers(1, len(made) - 1)) for _ in range(2))
        one, how = made[at], draw(st.sampled_from(["gone", "twice", "when", "body", "amended", "amended"]))
        if how == "gone":
            del made[at : at + draw(st.integers(1, 4))]
        elif how == "when":
            made[at] = msgspec.structs.replace(one, occurred=made[beside].occurred)
        elif how == "body" and one.body:
            name = draw(st.sampled_from(sorted(one.body)))
            made[at] = msgspec.structs.replace(one, body={**one.body, name: other(one.body[name], draw)})
        else:
            last = made[-1]
            again = msgspec.structs.replace(one, seq=last.seq + 1, recorded=last.recorded)
            if how == "amended":
                said: dict[str, Any] = {name: other(value, draw) for name, value in list(one.body.items())[:2]}
                if one.kind == "amendment":
                    said = {"instead": said}
                body = {"instead": said, "reason": TYPED, "target": one.seq}
                again = msgspec.structs.replace(again, kind="amendment", body=body, done_by=TECHNICIAN)
            made.append(again)
        if len(made) < 2:
            return WHOLE
    return tuple(made)


@settings(max_examples=40, deadline=None)
@given(odd_records())
def test_papers_come_of_an_odd_record_or_it_says_which_entry_cannot_be_read(entries: tuple[Entry, ...]) -> None:
    try:
        told, text = papers(entries)
    except InputError as error:
        assert (error.place or "").startswith(("entry ", "evidence", "scope")), error
        return
    assert TYPED not in text
    assert [one["number"] for one in told["findings"]] == sorted(QUESTIONS)


CLOCKS = ("0", "1", str(WALL), str(WALL - 3600 * NS), "4102444800000000000", "16161865572743293329", "9" * 20)
"""What a clock may stand at, as an entry can hold it: from 1970 over 2100 and 2482 to the greatest of twenty digits."""


@st.composite
def odd_clocks(draw: st.DrawFn) -> tuple[Entry, ...]:
    """Draw a whole job of which some entries were written by clocks that stood anywhere, in their own boot or not."""
    made, clock = list(WHOLE), st.sampled_from(CLOCKS)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.sampled_from([0, 1, len(made) // 2, len(made) - 1]))
        one, boot = made[at], draw(st.sampled_from(["boot-1", "boot-2", "boot-3"]))
        here = msgspec.structs.replace(one.recorded, wall=draw(clock), mono=draw(clock), boot=draw(clock), boot_id=boot)
        start, end = sorted((draw(clock), draw(st.sampled_from([here.wall, *CLOCKS]))), key=int)
        happened = msgspec.structs.replace(one.occurred, start=start, end=end)
        made[at] = msgspec.structs.replace(one, recorded=here, occurred=draw(st.sampled_from([happened, one.occurred])))
    return tuple(made)


@settings(max_examples=30, deadline=None)
@given(odd_clocks())
def test_papers_come_of_a_record_whose_clocks_stood_anywhere(entries: tuple[Entry, ...]) -> None:
    told, text = papers(entries)
    page = comparison(told, facts(audit(WHOLE, [])), ["A", "B"])
    assert all(f'id="e{one.seq}"' in text for one in entries)
    assert not {"nan", "None", "inf"} & set(re.findall(r'"(?:[^"]*[ ,MHVvl])?(nan|None|inf)', text + page))
    assert all(float(wide) >= 0 for wide in re.findall(r'<rect x="[^"]*" y="[^"]*" width="([^"]*)"', text + page))


@pytest.mark.parametrize("far", ["0", "16161865572743293329", "9" * 20])
def test_the_entry_whose_clock_leapt_is_named_and_the_rest_drawn(far: str) -> None:
    at = {"0": 0}.get(far, len(WHOLE) - 1)
    wrong = msgspec.structs.replace(WHOLE[at].recorded, wall=far, boot_id="boot-0", boot=None)
    happened = msgspec.structs.replace(WHOLE[at].occurred, start=far, end=far)
    made = [*WHOLE]
    made[at] = msgspec.structs.replace(WHOLE[at], recorded=wrong, occurred=happened)
    told, text = papers(tuple(made))
    later = WHOLE[max(at, 1)].seq
    years = {"0": "55", "9" * 20: "3113"}.get(far, "457")
    said = f"the clocks put {years} years between entries {later - 1} and {later}"
    assert told["job"]["clocks"] == said and text.count(said) == 3
    assert len(re.findall('class="break"', text)) >= 1


@pytest.mark.parametrize("what", ["feed-pressure", "volume", "boiling-point", "level", "torque", "waste"])
def test_a_reading_in_a_unit_of_something_else_keeps_no_paper_back(what: str) -> None:
    job = Job().read(what, "5 V", 5, pass_id="p1").read(what, "6 V", 6).read(what, "7 V", 7)
    told, text = papers(job.entries())
    assert f"{what.replace('-', ' ')} 5 V" in str(told["entries"]) and "5 V" in text


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("reading", {"what": "level", "amount": {"value": "full", "unit": "mL"}}),
        ("keepalive", {"actuation": 1, "request": "3E80", "count": 1, "largest_gap_ns": "long"}),
        ("keepalive", {"actuation": 1, "request": "3E8", "count": 1, "largest_gap_ns": "1"}),
        ("outcome", {"actuation": 1, "pass_id": "p1", "result": "failed", "stop": "sent", "from_mono": "noon"}),
    ],
)
def test_a_text_that_is_no_number_and_no_bytes_is_said_by_its_entry(kind: str, body: dict[str, Any]) -> None:
    job = Job()
    job.add(kind, body, 5)
    with pytest.raises(InputError, match=r"entry 1: a .* cannot be read"):
        audit(job.entries(), [])


def corrected(*made: dict[str, Any]) -> Job:
    """Return a job with a reading, a correction of it, one of that correction, and so on."""
    job = Job().read("feed-pressure", "2.0 bar", 5)
    for instead in made:
        job.add("amendment", {"target": job.last(), "reason": "misread", "instead": instead}, 10, by=TECHNICIAN)
    return job


def test_a_correction_of_a_correction_is_shown_beside_the_entry_it_is_about() -> None:
    amounts = [{"amount": {"value": value, "unit": "bar"}} for value in ("2.1", "2.2", "2.3")]
    job = corrected(amounts[0], {"instead": amounts[1]}, {"instead": {"instead": amounts[2]}})
    told, _ = papers(job.entries())
    assert [one["text"] for one in told["entries"][1]["corrected"]] == [
        "amount: 2.1 bar",
        "amount: 2.2 bar",
        "amount: 2.3 bar",
    ]


def test_a_correction_of_nothing_is_told_as_an_entry_alone() -> None:
    job = Job()
    job.add("amendment", {"target": "x", "reason": "misread", "instead": ["y"]}, 10, by=TECHNICIAN)
    told, _ = papers(job.entries())
    assert [one["corrected"] for one in told["entries"]] == [[], []]


def test_what_was_accepted_of_a_number_that_no_question_can_have_is_told_whole() -> None:
    job = Job()
    job.add("state", bodies.State(state="released", accepted=("9" * 5000 + " x", "9 y")), 10, by=TECHNICIAN)
    told, _ = papers(job.entries())
    assert [one["number"] for one in told["release"]["accepted"]] == [None, 9]
