"""A reading says with what it is read, and until when that is calibrated, before it is typed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.cli.bay.screen import Screen, plain
from witnessmark.clock import NS
from witnessmark.job.calibrated import read_with
from witnessmark.procedure.model import Step

DAY = 20_000 * 86_400 * NS
"""4 October 2024, UTC: `date -u -d @1728000000`."""
TOOLED = PROCEDURE.replace('affects = "torqued"', 'affects = "torqued"\ninstrument = "torque wrench"')


@pytest.mark.parametrize(
    ("instruments", "words"),
    [
        ({"wrench": "2024-10-04"}, "wrench, calibrated until 2024-10-04"),
        ({"wrench": "2024-10-03"}, "wrench, OUT OF CALIBRATION since 2024-10-03"),
        ({"gauge": "2030-01-01"}, "wrench; nobody recorded until when it is calibrated"),
    ],
)
def test_the_day_of_its_date_is_still_in_date(instruments: dict[str, str], words: str) -> None:
    stand = Stand()
    state = replace(stand.state, instruments=tuple(instruments.items()), last_wall_ns=DAY)
    stand.close()
    assert read_with(state, Step(id="t", text="Torque", instrument="wrench")) == words
    assert read_with(state, Step(id="l", text="Level")) == ""


def test_the_screen_says_it_beside_the_limits() -> None:
    stand = Stand(procedure=TOOLED)
    stand.go_to("reading", "p1")
    assert "read with" not in plain(stand.view)
    stand.follow()
    stand.go_to("reading", "p1")
    shown = plain(stand.view)
    stand.close()
    assert "limits: 8 N\u00b7m to 10 N\u00b7m, in N\u00b7m\nread with: torque wrench; nobody recorded" in shown


def test_another_instrument_is_named_with_one_key_and_its_own_date_goes_with_the_reading() -> None:
    stand = Stand(procedure=TOOLED)
    stand.runner.state = replace(stand.state, instruments=(("torque wrench", "2020-01-01"), ("wrench 2", "2099-01-01")))
    stand.go_to("reading", "p1")
    stand.follow()
    stand.go_to("reading", "p1")
    assert stand.view["what"] == "torque" and "OUT OF CALIBRATION" in stand.view["instrument"]
    dialog = Dialog()
    dialog.show(stand.view)
    assert dialog.press("i") is None and dialog.press("1") is None
    assert "read with: wrench 2" in Screen("J1").draw(dialog).plain
    commands = [dialog.press(key) for key in ("9", "\r")]
    assert commands[-1] == {
        "do": "reading", "view": stand.view["id"], "value": "9", "unit": "N.m", "instrument": "wrench 2",
    }  # fmt: skip
    stand.send(**commands[-1])
    stand.until(lambda: [one for one in stand.bodies("reading") if one.what == "torque"])
    (torque,) = [one for one in stand.bodies("reading") if one.what == "torque"]
    assert (torque.instrument, torque.calibrated_until) == ("wrench 2", "2099-01-01")
    stand.close()


def test_an_instrument_without_a_reading_is_refused_and_says_nothing_of_the_step() -> None:
    stand = Stand(procedure=TOOLED)
    stand.go_to("reading", "p1")
    stand.follow()
    stand.go_to("reading", "p1")
    stand.press("i", "wrench 9")
    before = len(stand.bodies("step"))
    stand.close()
    assert "comes with its reading" in stand.errors[-1]["what"] and len(stand.bodies("step")) == before
