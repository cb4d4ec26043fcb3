"""The reasons that are picked by number."""

from __future__ import annotations

from witnessmark.job import reasons


def test_a_leads_word_that_another_tells_of_says_that_no_lead_was_asked() -> None:
    each = [one for name in vars(reasons) if isinstance(many := getattr(reasons, name), tuple) for one in many]
    named = {one for one in each if "lead" in one.split()}
    assert named == {reasons.LEAD} and "no lead was asked for a PIN" in reasons.LEAD
