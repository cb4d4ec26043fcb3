"""What is written of a job beside its runner has its time from the clock that the job lives by, and says which."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.bay import DATA, Bay

from witnessmark.audit.say import moment
from witnessmark.clock import NS, PracticeClock, SystemClock
from witnessmark.errors import LocalError
from witnessmark.host import job_clock
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal

RATE = 8


@pytest.fixture
def practice(bay: Bay, monkeypatch: pytest.MonkeyPatch) -> PracticeClock:
    """A practice vehicle's clock that is a day ahead, and a job (entry 1) with a reading (entry 2) on it."""
    now = SystemClock().stamp()
    start = type(now)(now.wall_ns + 86_400 * NS, now.mono_ns, now.boot_ns)
    clock = PracticeClock(RATE, start)
    monkeypatch.setattr(job_clock, "clock_of", lambda address: clock)
    bay.open_job()
    reading = bodies.Reading(what="feed-pressure", amount=bodies.Amount("21", "bar"))
    with Journal.open(bay.shop.journal_path, clock, write=True) as journal:
        job = journal.jobs()[0].job
        journal.append(Draft("reading", job, "person:t-otter", body=bodies.to_body(reading)))
    return clock


def test_a_correction_a_photo_and_the_end_have_the_time_of_the_practice_vehicle(
    bay: Bay, practice: PracticeClock, tmp_path: Path
) -> None:
    photo = tmp_path / "gauge.jpg"
    photo.write_bytes(b"photo")
    job = bay.entries()[1].job
    said = bay.fine("amend", 2, "--reason", "a slipped digit", "--set", "amount.value=2.1")
    said += bay.fine("attach", job, photo, "--shows", "gauge")
    said += bay.fine("job", "abandon", job, "--why", "late", "--unsealed")
    assert said.count("time: the practice vehicle's clock, 8 times as fast as real time") == 3
    walls = [one.recorded.wall_ns for one in bay.entries(job)[1:]]
    assert walls == sorted(walls) and {one.recorded.rate for one in bay.entries(job)[1:]} == {RATE}
    assert "clock]" not in "".join(bay.fine("job", "show", job).splitlines(keepends=True)[2:3])


def test_without_the_practice_vehicle_it_is_said_that_the_time_is_the_systems(
    bay: Bay, practice: PracticeClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(address: str) -> PracticeClock:
        raise LocalError("no practice vehicle runs there", hint="start it")

    monkeypatch.setattr(job_clock, "clock_of", gone)
    said = bay.fine("amend", 2, "--reason", "a slipped digit", "--set", "amount.value=2.1")
    assert "time: the system's clock." in said and "may show an earlier time" in said
    made = bay.entries(kind="amendment")[0]
    assert made.recorded.rate == 1
    days = [line for line in bay.fine("job", "show", made.job or "").splitlines() if line[:1].isdigit()]
    written = moment((made.occurred.from_ns + made.occurred.to_ns) // 2, None)
    assert written is not None
    assert days[-1] == written.strftime("%Y-%m-%d") and days[-2] > days[-1]
    last = bay.fine("job", "show", made.job or "").splitlines()[-1]
    assert last.split()[1] == written.strftime("%H:%M:%S") and last.endswith("[the system's clock]")
    told = json.loads(bay.fine("sheet", made.job or "", "--json"))["entries"]
    assert [one["another_clock"] for one in told] == [False, False, True]
    assert told[-1]["at"].endswith(written.strftime(":%M:%S"))


def test_entries_on_another_clock_than_the_first_are_marked(bay: Bay, practice: PracticeClock) -> None:
    job = bay.entries()[1].job
    lines = bay.fine("job", "show", job).splitlines()
    assert lines[-1].endswith("[a practice clock]") and "clock]" not in lines[0]


def test_a_job_on_a_real_vehicle_has_one_clock_and_says_nothing(bay: Bay, tmp_path: Path) -> None:
    words = ("--procedure", DATA / "vacuum.toml", "--vehicle", "v-1")
    job = bay.fine("job", "open", *words).split()[1]
    shop = bay.shop
    assert job_clock.on_its_clock(shop, job) == (shop, "")
    assert "time:" not in bay.fine("job", "abandon", job, "--why", "late", "--unsealed")
