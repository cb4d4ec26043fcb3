"""What other jobs left open on the vehicle is closed first of all, with one key, and nothing is asked before."""

from __future__ import annotations

from dataclasses import replace

from tests.job.stand import Stand

from witnessmark.report.lines import line


def test_nothing_else_is_asked_before_it_is_closed_and_its_entry_says_what_it_was() -> None:
    stand = Stand()
    left = "Job 260101-1 (abandoned): Nipple rear right is OPEN: close it."
    stand.runner.state = replace(stand.state, others=(left,))
    stand.until(lambda: stand.view["kind"] == "decide")
    assert left in stand.view["text"] and stand.view["text"].startswith("STOP")
    stand.wait(3)
    assert not stand.unit.heard, "no machine asks the vehicle before"
    stand.press("y")
    assert stand.view["step"] == "grade" and stand.state.others == ()
    (said,) = stand.bodies("step")
    assert said.said == left and stand.state.others_said == stand.journal.of("J1")[-1].seq
    assert line("step", said).startswith("what other jobs left open on the vehicle, closed and let off")
    stand.close()
