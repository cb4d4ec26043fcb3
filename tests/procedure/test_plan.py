"""A plan is the procedure's passes in the procedure's order, for the scope of the job."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec import structs

from witnessmark.errors import InputError
from witnessmark.procedure.load import load
from witnessmark.procedure.plan import FULL, Scope, asks_a_vehicle, parse_scope, plan

TRUCK = load(Path(__file__).parent / "truck.toml")


@pytest.mark.parametrize(
    ("scope", "passes"),
    [
        ("full", ["p1", "p2"]),
        ("nipples rl", ["p2"]),
        ("nipples rl,rr", ["p1", "p2"]),
        ("follows J7 p2", ["p2"]),
        ("follows J7 p2,p1", ["p1", "p2"]),
    ],
)
def test_a_scope_gives_its_passes_in_the_procedures_order(scope: str, passes: list[str]) -> None:
    assert [one.id for one in plan(TRUCK, parse_scope(scope))] == passes


@pytest.mark.parametrize("scope", [FULL, Scope("nipples", ("a", "b")), Scope("follows", ("p1",), "J7")])
def test_a_scope_reads_back_as_it_prints(scope: Scope) -> None:
    assert parse_scope(str(scope)) == scope


@pytest.mark.parametrize("text", ["", "half", "nipples", "nipples ,", "follows J7", "full p1"])
def test_a_scope_that_is_not_understood_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="not understood"):
        parse_scope(text)


def test_a_name_the_procedure_does_not_have_is_refused_with_the_nearest() -> None:
    with pytest.raises(InputError) as caught:
        plan(TRUCK, Scope("nipples", ("rll",)))
    assert caught.value.hint == "did you mean rl?"
    with pytest.raises(InputError, match="pass 'p9'"):
        plan(TRUCK, Scope("follows", ("p9",), "J7"))


def test_what_asks_a_vehicle_is_told_from_what_is_all_done_by_hand() -> None:
    assert asks_a_vehicle(TRUCK)
    by_hand = structs.replace(TRUCK, passes=tuple(structs.replace(one, wire_command="") for one in TRUCK.passes))
    machine = any(step.act in ("identify", "scan") for step in (*TRUCK.steps_before, *TRUCK.steps_after))
    assert asks_a_vehicle(by_hand) is machine
    assert not asks_a_vehicle(structs.replace(by_hand, steps_before=(), steps_after=()))
