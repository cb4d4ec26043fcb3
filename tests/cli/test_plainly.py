"""What a hostile file says cannot move the cursor of whoever reads it."""

from __future__ import annotations

import pytest
from tests.cli.bay import Bay

from witnessmark.cli.plainly import plain
from witnessmark.journal.bodies import StepDone, to_body
from witnessmark.journal.entry import Draft


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain text, \u00e4 \u2014 \u4e16", "plain text, \u00e4 \u2014 \u4e16"),
        ("two\nlines", "two\nlines"),
        ("\x1b[2JINTACT", "\\x1b[2JINTACT"),
        ("\u202eTCATNI", "\\u202eTCATNI"),
        ("a\x00b\x9bc\r", "a\\x00b\\x9bc\\r"),
    ],
)
def test_signs_that_do_not_print_are_shown_as_their_codes(text: str, shown: str) -> None:
    assert plain(text) == shown


def test_a_remark_cannot_clear_the_screen_of_who_reads_the_job(bay: Bay) -> None:
    job = bay.open_job()
    body = to_body(StepDone(step="x", act="done", said="\x1b[2JRELEASED"))
    with bay.shop.write() as journal:
        journal.append(Draft("step", job, "person:t-otter", body=body))
    assert "\\x1b[2JRELEASED" in bay.fine("job", "show", job)
