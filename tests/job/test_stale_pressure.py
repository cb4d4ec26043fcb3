"""A pressure that was read too long ago, with the nipple open: whether it was closed and opened again is asked."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, START, Stand

AT_ARMING = PROCEDURE.replace("invented = true\n", "invented = true\nopened_at_arming = true\n", 1)


@pytest.fixture(params=[PROCEDURE, AT_ARMING], ids=["opened by itself", "opened at arming"])
def stand(request: pytest.FixtureRequest) -> Iterator[Stand]:
    made = Stand(procedure=request.param)
    yield made
    made.close()


def acts(stand: Stand) -> list[str]:
    return [one.act for one in stand.bodies("step") if one.act in ("opened", "closed")]


def refused_at_start(stand: Stand) -> None:
    """Armed with a fresh pressure, started when it is older than 90 s."""
    stand.go_to("arm", "p1")
    stand.wait(50)
    stand.answer()
    stand.go_to("armed", "p1")
    stand.wait(45)
    stand.press("s")
    stand.until(lambda: stand.errors)
    assert "older than 90 s" in stand.errors[-1]["what"] and not stand.acts
    stand.until(lambda: stand.view["kind"] not in ("armed", "busy"))


def test_it_is_asked_whether_the_nipple_was_closed_and_each_act_is_an_entry(stand: Stand) -> None:
    refused_at_start(stand)
    assert (stand.view["kind"], stand.view["nipples"]) == ("close", ["rr"])
    assert "too long ago" in stand.view["text"] and [one["key"] for one in stand.view["buttons"]] == ["y", "n"]
    stand.press("y")
    assert acts(stand) == ["opened", "closed"] and stand.state.open_nipples == ()
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")
    stand.read("2.0", "bar")
    stand.go_to("armed", "p1")
    assert acts(stand) == ["opened", "closed", "opened"] and stand.state.open_nipples == ("rr",)
    stand.press("s")
    stand.until(lambda: START in stand.acts)
    stand.go_to("reading", "p1")
    assert stand.view["what"] == "torque" and acts(stand) == ["opened", "closed", "opened", "closed"]


def test_one_that_stays_open_is_said_to_stay_open_and_the_pressure_is_read(stand: Stand) -> None:
    refused_at_start(stand)
    stand.press("n")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")
    assert stand.state.open_nipples == ("rr",) and acts(stand) == ["opened"]
    stand.read("2.0", "bar")
    assert stand.view["kind"] == "arm" and "opened" not in [one["id"] for one in stand.view["questions"]]
    stand.answer()
    stand.go_to("armed", "p1")
    stand.press("x")
    stand.wait(95)
    assert stand.view["kind"] == "close", "it is asked again as often as the reading grows old"


def test_with_the_nipple_shut_only_the_pressure_is_asked(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.read("2.0", "bar")
    stand.wait(95)
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")
    assert acts(stand) == []


def test_a_pressure_read_again_is_read_as_the_procedure_says_and_with_its_gauge() -> None:
    step = 'act = "read"\nwhat = "feed-pressure"\nunit = "bar"\ninstrument = "gauge of the feed"\n'
    before = f'[[steps_before_each_pass]]\nid = "restore"\ntext = "Restore the feed"\n{step}'
    stand = Stand(procedure=PROCEDURE.replace("[[passes]]", before + "[[passes]]", 1))
    stand.go_to("arm", "p1")
    stand.wait(95)
    stand.until(lambda: stand.view["kind"] == "close")
    stand.press("n")
    assert (stand.view["kind"], stand.view["text"]) == ("reading", "Restore the feed")
    stand.read("2.0", "bar")
    assert {one.instrument for one in stand.bodies("reading") if one.what == "feed-pressure"} == {"gauge of the feed"}
    stand.close()


def test_arming_that_expires_says_so(stand: Stand) -> None:
    stand.go_to("armed", "p1")
    stand.until(lambda: stand.view["kind"] != "armed")
    said = [one["said"] for one in stand.told if "said" in one]
    stands = "The nipple rear right is OPEN under PRESSURE."
    assert said == [f"Not started within 60 s: not armed any more. Nothing was sent. {stands}"]
    assert [one.why for one in stand.bodies("disarmed")] == ["not started in time"]


def test_arming_that_was_left_is_not_said_to_have_expired(stand: Stand) -> None:
    stand.go_to("armed", "p1")
    stand.press("x")
    stand.until(lambda: stand.view["kind"] == "arm")
    assert not [one for one in stand.told if "said" in one]


def test_its_age_counts_on_while_it_is_armed_and_the_view_stays_the_one_that_is_answered(stand: Stand) -> None:
    stand.go_to("armed", "p1")
    first = stand.view
    stand.wait(20)
    assert (stand.view["kind"], stand.view["id"]) == ("armed", first["id"])
    ages = [int(one["shown"]["feed pressure"].split()[2]) for one in (first, stand.view)]
    assert first["shown"]["feed pressure"].startswith("2.0 bar, ") and 19 <= ages[1] - ages[0] <= 20
    assert stand.bodies("armed")[-1].shown["feed pressure"] == first["shown"]["feed pressure"], "as it was armed"
    stand.press("s")
    stand.until(lambda: START in stand.acts)
