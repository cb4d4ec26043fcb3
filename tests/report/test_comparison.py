"""The page of two jobs says which is which, and what was corrected of either."""

from __future__ import annotations

from tests.audit.jobs import Job, clean, edit
from tests.report.test_facts import of
from tests.report.test_sheet import Page, corrected

from witnessmark.report.comparison import comparison


def test_each_job_is_named_once_below_the_title_and_by_its_letter_elsewhere() -> None:
    text = Page(comparison(of(clean()), of(clean()), ["one in a long folder", "another in a long folder"])).text
    assert text.count("A: one in a long folder") == text.count("B: another in a long folder") == 1
    assert "A: job J1" in text and "B: job J1" in text


def test_what_was_corrected_of_either_job_is_said() -> None:
    text = Page(comparison(of(corrected()), of(clean()), ["A", "B"])).text
    assert text.count("corrected later, entry") == 1


def test_a_pressure_that_no_procedure_asks_for_is_not_said_to_lack_a_reading() -> None:
    bands = ('pressure = { low = "1.8 bar", high = "2.2 bar" }\npressure_age = "60 s"\n', "")
    free, asked = Job(edit(bands)).open("fl", "p4", 5), Job().open("fl", "p4", 5)
    text = Page(comparison(of(free), of(asked), ["A", "B"])).text.partition("Answered differently")[0]
    assert (text.count("not asked"), text.count("no reading")) == (4, 4)


def test_a_reading_outside_its_band_is_marked_and_what_is_answered_alike_is_named() -> None:
    loose = clean().read("torque", "5 N.m", 700, pass_id="p4", low="7 N.m", high="9 N.m")
    text = Page(comparison(of(loose), of(clean()), ["A", "B"])).text
    assert text.count("torque 5 N\u00b7m, asked 7 N\u00b7m to 9 N\u00b7m") == 1
    assert "Was every nipple served?" in text.partition("Answered alike")[2]
