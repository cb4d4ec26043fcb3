"""What may still run and what stands open is on the screen before a job's link is tried."""

from __future__ import annotations

from msgspec import to_builtins
from tests.job.stand import Stand

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.cli.bay.screen import Screen
from witnessmark.job.screens.take_up_view import take_up_view
from witnessmark.job.walk.fold import fold


def picture(stand: Stand) -> str:
    """Return the first picture of a face, as the record stands."""
    one = Dialog()
    one.show(to_builtins(take_up_view(fold(stand.journal.of("J1")))))
    return " ".join(Screen("J1").draw(one, 100, 30).plain.split())


def test_a_run_that_a_crash_left_behind_is_unknown_before_anybody_has_written_so() -> None:
    stand = Stand()
    stand.go_to("running")
    shown = picture(stand)
    assert "Treat as running; hands clear. An actuation has no known end." in shown
    assert "Nipple rear right is OPEN: do not touch it until it is seen at rest. The feed's pressure is on." in shown
    assert "IF IT DOES NOT STOP: Close the nipple, ignition off." in shown and "[p] pause" not in shown
    stand.close()


def test_what_stands_open_is_shown_and_a_job_with_nothing_open_only_waits() -> None:
    stand = Stand()
    assert "The job is taken up: wait." in picture(stand) and "OPEN" not in picture(stand)
    stand.go_to("open", "p1")
    assert "The feed's pressure is on." in picture(stand)
    stand.press("y")
    assert "Nipple rear right is OPEN: close it. The feed's pressure is on." in picture(stand)
    stand.close()
