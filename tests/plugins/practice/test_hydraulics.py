"""The model of the practice truck's hydraulics: nothing is lost, and everything has a cause."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from witnessmark_practice.hydraulics import RESERVOIR_ML, Hydraulics, make_lines

NIPPLES = sorted(make_lines())

acts = st.one_of(
    st.tuples(st.just("wait"), st.floats(0.0, 90.0)),
    st.tuples(st.just("open"), st.sampled_from(NIPPLES)),
    st.tuples(st.just("close"), st.sampled_from(NIPPLES)),
    st.tuples(st.just("pump"), st.sampled_from(NIPPLES)),
    st.tuples(st.just("press"), st.floats(0.0, 3.0)),
    st.tuples(st.just("refill"), st.floats(0.0, 200.0)),
    st.tuples(st.just("draw"), st.floats(0.0, 400.0)),
    st.tuples(st.just("pedal"), st.just(0)),
)


def _act(model: Hydraulics, name: str, value: float | str) -> None:
    match name, value:
        case "wait", float(seconds):
            model.advance(model.now_s + seconds)
        case "open", str(nipple):
            model.lines[nipple].opening = 1.0
        case "close", str(nipple):
            model.lines[nipple].opening = 0.0
        case "pump", str(nipple):
            model.lines[nipple].head_bar = 3.0
        case "press", float(bar):
            model.feed_fitted, model.feed_bar = True, bar
        case "refill", float(volume):
            model.refill(min(volume, RESERVOIR_ML - model.level_ml))
        case "draw", float(volume):
            model.draw_off(volume)
        case "pedal", _:
            model.pedal()


@given(st.lists(acts, max_size=12))
@settings(max_examples=60, deadline=None)
def test_no_fluid_appears_or_vanishes_and_no_volume_goes_below_nothing(steps: list[tuple[str, float | str]]) -> None:
    model = Hydraulics()
    before = model.fluid_ml()
    for name, value in steps:
        _act(model, name, value)
    assert model.fluid_ml() == pytest.approx(before + model.filled_ml, abs=1e-6)
    assert 0 <= model.level_ml <= RESERVOIR_ML + 1e-6
    assert -1e-9 <= model.reservoir_old_ml <= model.level_ml + 1e-6
    assert model.feed_bar >= 0
    for line in model.lines.values():
        assert line.old_ml >= -1e-9 and line.air_ml >= -1e-9 and line.new_ml >= -1e-6


def _pressurised(bar: float = 2.0) -> Hydraulics:
    model = Hydraulics(feed_fitted=True, feed_bar=bar)
    model.draw_off(600)
    model.refill(780)
    return model


def test_nothing_flows_through_shut_nipples() -> None:
    model = _pressurised()
    model.advance(300)
    assert all(line.collected_ml == 0 for line in model.lines.values())
    assert model.level_ml == 800


def test_pressure_decays_by_itself_and_faster_while_fluid_leaves() -> None:
    still, running = _pressurised(), _pressurised()
    running.lines["rear-left"].opening = 1.0
    still.advance(60)
    running.advance(60)
    assert still.feed_bar == pytest.approx(2.0 * 2.718281828 ** (-60 / 1500))
    assert running.feed_bar < still.feed_bar < 2.0


def test_the_pump_more_than_doubles_the_flow_of_its_own_nipple_only() -> None:
    model = _pressurised()
    for nipple in ("rear-left", "rear-right"):
        model.lines[nipple].opening = 1.0
    model.lines["rear-left"].head_bar = 3.0
    assert model.flow_ml_s("rear-left") == pytest.approx(5.0)
    assert model.flow_ml_s("rear-right") == pytest.approx(2.0)


def test_an_open_nipple_washes_its_own_circuit_and_drives_out_the_air() -> None:
    model = _pressurised()
    front, air = model.washed()["front"], model.lines["rear-left"].air_ml
    model.lines["rear-left"].opening = 1.0
    model.advance(120)
    assert model.washed()["front"] == front
    assert model.washed()["rear"] > 0.3
    assert model.lines["rear-left"].air_ml < 0.1 * air


def test_a_dry_reservoir_sends_air_into_the_line() -> None:
    model = _pressurised()
    model.draw_off(790)
    model.lines["rear-right"].opening = 1.0
    model.advance(60)
    assert model.level_ml == pytest.approx(0.0)
    assert model.lines["rear-right"].air_ml > 15
    assert model.pedal() == "sinks"
    model.lines["rear-right"].opening = 0.0
    assert [model.pedal() for _ in range(4)][-1] == "soft"


def test_the_pedal_gets_firm_when_the_air_is_out() -> None:
    model = _pressurised()
    for line in model.lines.values():
        line.air_ml = 0.0
    assert [model.pedal() for _ in range(3)] == ["soft", "soft", "firm"]


def test_small_steps_and_one_large_step_agree() -> None:
    fine, coarse = _pressurised(), _pressurised()
    for model in (fine, coarse):
        model.lines["rear-left"].opening = 1.0
    for step in range(1, 301):
        fine.advance(step * 0.1)
    coarse.advance(30.0)
    assert fine.lines["rear-left"].collected_ml == pytest.approx(coarse.lines["rear-left"].collected_ml, rel=1e-3)


def test_time_never_runs_backwards() -> None:
    model = _pressurised()
    model.advance(10)
    pressure = model.feed_bar
    model.advance(5)
    assert (model.now_s, model.feed_bar) == (10, pressure)
