"""`witnessmark job open`: what could never be sent is refused before any work."""

from __future__ import annotations

import pytest
from tests.cli.bay import DATA, MAP, PROCEDURE, Bay

from witnessmark.errors import InputError

LONGER = ('wire_command = "purge-unit"\nseconds = "10 s"', 'wire_command = "purge-unit"\nseconds = "31 s"')

ALLOWED = ('longest_run = "20 s"', 'longest_run = "40 s"')
"""The procedure's own limit lets it run so long; the map's does not."""


@pytest.mark.parametrize(("grade", "code"), [("sent", 2), ("heard", 0), ("told", 0)])
def test_a_run_that_is_too_long_to_be_sent_is_refused_with_its_pass_and_the_way_on(
    bay: Bay, grade: str, code: int
) -> None:
    text = PROCEDURE.read_text(encoding="utf-8")
    assert LONGER[0] in text
    path = bay.folder.parent / "longer.toml"
    path.write_text(text.replace(*LONGER).replace(*ALLOWED), encoding="utf-8")
    words = ("--procedure", path, "--map", MAP, "--vehicle", "depot-14", "--link", "canbus:virtual/a")
    done = bay.run("job", "open", *words, "--grade", grade)
    assert done.exit_code == code, (done.output, done.exception)
    if code:
        assert isinstance(done.exception, InputError)
        assert "pass p6 (purge-unit): 31 s are asked for, at most 30 s are allowed" in done.exception.what
        assert "write other seconds" in done.exception.hint and "--grade told" in done.exception.hint
        assert bay.entries(kind="job-opened") == []


def test_passes_that_the_scope_leaves_out_refuse_nothing(bay: Bay) -> None:
    path = bay.folder.parent / "longer.toml"
    path.write_text(PROCEDURE.read_text(encoding="utf-8").replace(*LONGER).replace(*ALLOWED), encoding="utf-8")
    words = ("--procedure", path, "--map", MAP, "--vehicle", "depot-14", "--link", "canbus:virtual/a")
    bay.fine("job", "open", *words, "--scope", "nipples rear-left")


def test_what_another_job_left_open_on_the_same_vehicle_is_said_first(bay: Bay) -> None:
    from witnessmark.host.left_open import left_open
    from witnessmark.journal import bodies
    from witnessmark.journal.entry import Draft

    words = ("job", "open", "--procedure", PROCEDURE, "--grade", "told", "--vehicle", "v", "--vin", "1M8GDM9AXKP042788")
    assert "STOP" not in bay.run(*words).output
    (first,) = [one.job for one in bay.entries(kind="job-opened")]
    opened = bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")
    with bay.shop.write() as journal:
        journal.append(Draft("step", first, "person:t-otter", body=bodies.to_body(opened)))
    output = bay.run(*words).output
    assert f"STOP, before anything else: Job {first} (open): Nipple rear left is OPEN: close it." in output
    assert f"note: not finished on this vehicle: job {first} (open)" in output
    assert output.index("STOP") < output.index("is open: ")
    second = next(one.job for one in bay.entries(kind="job-opened") if one.job != first)
    told = left_open(bay.shop, str(second))
    assert f"Can be accepted by nobody: Job {first} (open): Nipple rear left is OPEN: close it." in told[0]


@pytest.mark.parametrize(("more", "told"), [((), True), (("--map", MAP), False), (("--grade", "told"), False)])
def test_a_link_that_no_map_lets_anything_go_over_is_told_at_once(
    bay: Bay, more: tuple[object, ...], told: bool
) -> None:
    words = ("--procedure", DATA / "vacuum.toml", "--vehicle", "depot-14", "--link", "canbus:virtual/a", *more)
    done = bay.run("job", "open", *words)
    assert done.exit_code == 0 and ("nothing goes over --link" in done.stderr) == told
