"""What a comeback looks at first of what the job before left open: what a look at the vehicle can answer anew."""

from __future__ import annotations

import pytest
from tests.audit.jobs import TRUCK_TEXT, Job, clean, kept
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.host.comeback import look_at
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
