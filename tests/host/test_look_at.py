"""What a comeback looks at first of what the job before left open: what a look at the vehicle can answer anew."""

from __future__ import annotations

import pytest
from tests.audit.jobs import TRUCK_TEXT, Job, clean, kept
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.host.comeback import look_at, to_flush
from witnessmark.procedure.mending import REPLACED

LEAK = '[[steps_after]]\nid = "leak"\ntext = "No leak"\nact = "check"\naffects = "leak-check"\n'
OTHER = '[[steps_after]]\nid = "pedal"\ntext = "Firm?"\nact = "check"\naffects = "pedal-check"\n'
ASKS = "Leak check, pedal and road test done?"


def mended(text: str) -> Job:
    """Return a job that leaked, in which a part of the front left was replaced and not bled."""
    job = clean(kept(TRUCK_TEXT + text)).step("leak", 700, "leak-check", act="skipped", said="it leaks", looked=True)
    job.step("mended", 800, act="confirmed", answer=REPLACED)
    return job.step("mended-at", 801, act="confirmed", nipple="fl")


@pytest.mark.parametrize(
    ("text", "still", "looked"), [(LEAK, True, True), (LEAK, False, False), (LEAK + OTHER, False, True)]
)
def test_a_check_is_looked_at_but_where_it_rests_only_on_what_was_not_bled(
    text: str, still: bool, looked: bool
) -> None:
    job = mended(text)
    if still:
        job.step("leak", 900, "leak-check", act="skipped", said="it still leaks", looked=True)
    else:
        job.step("leak", 900, "leak-check", act="confirmed")
    *first, record = look_at(audit(job.case().entries, tuple(QUESTIONS.values())), {})
    assert any(ASKS in one for one in first) is looked and (ASKS in record) is not looked
    assert "not shown bled after it: front left. Bled in this job: p4." in record


@pytest.mark.parametrize(
    ("grade", "age", "poured", "left"),
    [
        ("DOT 5", "3 d", True, "The right fluid?"),
        ("DOT 4", "60 d", True, "Was the container fresh?"),
        ("DOT 5", "60 d", False, ""),
        ("DOT 4", "3 d", True, ""),
    ],
)
def test_after_the_wrong_fluid_was_poured_every_pass_is_done_again_and_no_look_stands_for_it(
    grade: str, age: str, poured: bool, left: str
) -> None:
    text = 'container_age = "14 d"\n' + TRUCK_TEXT
    job = Job(kept(text), scope="nipples fl").step("container", 5, "fluid-grade", answer=grade)
    job.read("container-age", age, 6)
    if poured:
        job.read("volume-in", "300 mL", 7).open("fl", "p4", 100).close("fl", 130, "p4")
    audited = audit(job.case().entries, tuple(QUESTIONS.values()))
    *first, record = look_at(audited, {})
    assert to_flush(audited) == (["p1", "p2", "p3", "p4"] if left else [])
    if left:
        assert f"- {left} not met" in record and not any(left in one for one in first)
    assert any("not met" in one for one in first) is (not poured)
