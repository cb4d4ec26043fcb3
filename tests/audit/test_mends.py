"""What was mended is said by the job's own step, never by one of the procedure that a journal keeps."""

from __future__ import annotations

from tests.audit.jobs import TRUCK, TRUCK_TEXT, clean, kept
from tests.audit.shipped import ask

from witnessmark.audit.grounds.mends import every_mend

COVER = """
[[steps_after]]
id = "leak"
text = "No leak"
act = "check"
affects = "leak-check"
[[steps_after]]
id = "mended"
text = "Seat cover mended"
"""


def test_a_step_of_the_procedure_is_no_mend_whatever_it_is_called() -> None:
    job = clean(kept(TRUCK_TEXT + COVER)).step("leak", 700, "leak-check").step("mended", 800)
    assert not every_mend(job.case())
    assert ask(26, job).answer == "met"


def test_the_same_step_of_the_job_itself_is_one() -> None:
    assert len(every_mend(clean(TRUCK).step("mended", 800).case())) == 1
