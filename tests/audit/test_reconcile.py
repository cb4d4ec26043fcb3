"""All entries lie on one clock; what disturbed the clocks is named."""

from __future__ import annotations

from tests.audit.jobs import NS, WALL, Job

from witnessmark.audit.reconcile import Reconciled
from witnessmark.range import Range


def moments(job: Job) -> tuple[list[float], list[str]]:
    """Return when each entry was written, in s from the start, and the kinds of disturbances."""
    clock = Reconciled(job.entries())
    times = [(clock.recorded(entry) - WALL) / NS for entry in job.entries()]
    return times, [one.kind for one in clock.disturbances]


def test_a_quiet_job_keeps_its_times() -> None:
    assert moments(Job().open("rr", "p1", 10).close("rr", 40)) == ([-1, 10, 40], [])


def test_a_restart_of_the_program_changes_nothing() -> None:
    assert moments(Job().open("rr", "p1", 10).restart().close("rr", 40)) == ([-1, 10, 40], [])


def test_a_clock_set_forward_moves_no_step_and_is_named() -> None:
    job = Job().open("rr", "p1", 10).set_clock(3600).close("rr", 40)
    assert moments(job) == ([-1, 10, 40], ["stepped"])
    clock = Reconciled(job.entries())
    assert clock.occurred(job.entries()[2]) == Range(WALL + 39 * NS, WALL + 41 * NS)
    assert clock.disturbances[0].by_ns == 3600 * NS
    assert clock.disturbances[0].cites == (1, 2)


def test_half_a_second_and_100_ppm_are_no_step() -> None:
    assert moments(Job().open("rr", "p1", 10).set_clock(0.5).close("rr", 40))[1] == []
    assert moments(Job().open("rr", "p1", 10).set_clock(0.6).close("rr", 11))[1] == ["stepped"]
    assert moments(Job().open("rr", "p1", 10).set_clock(0.6).close("rr", 2010))[1] == []


def test_after_a_reboot_wall_time_joins_the_two() -> None:
    job = Job().open("rr", "p1", 10).reboot().close("rr", 400)
    assert moments(job) == ([-1, 10, 400], ["reboot"])


def test_a_second_boot_never_begins_before_the_end_of_the_first() -> None:
    job = Job().open("rr", "p1", 100).set_clock(-3600).reboot().close("rr", 130)
    times, kinds = moments(job)
    assert times == [-1, 100, 100]
    assert kinds == ["reboot"]


def test_what_the_machine_slept_is_added_and_named() -> None:
    job = Job().open("rr", "p1", 10).sleep(300).close("rr", 400)
    assert moments(job) == ([-1, 10, 400], ["asleep"])


def test_a_monotonic_clock_that_runs_back_is_named_and_time_still_goes_on() -> None:
    job = Job().open("rr", "p1", 100)
    job.mono_shift_ns -= 50 * NS
    times, kinds = moments(job.close("rr", 120))
    assert kinds == ["backwards"]
    assert times == [-1, 100, 120]


def test_a_time_entered_afterwards_stays_as_it_was_entered() -> None:
    job = Job().set_clock(3600).open("rr", "p1", -3590, basis="typed", entered=50)
    entry = job.entries()[1]
    assert Reconciled(job.entries()).occurred(entry) == Range(WALL + 9 * NS, WALL + 11 * NS)


def test_an_entry_of_another_program_at_another_rate_is_no_step() -> None:
    job = Job(rate=8).open("rr", "p1", 10).restart()
    job.rate = 1
    job.mono_shift_ns -= 500 * NS
    assert moments(job.close("rr", 400)) == ([-1, 10, 400], [])


def test_another_rate_within_one_program_is_named() -> None:
    job = Job(rate=8).open("rr", "p1", 10)
    job.rate = 1
    job.mono_shift_ns -= 500 * NS
    assert moments(job.close("rr", 400))[1] == ["backwards"]
