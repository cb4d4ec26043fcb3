"""The fluid as it was tested, against the wet minimum; how far each hydraulic circuit was flushed."""

from __future__ import annotations

import math

import pytest
from tests.audit.jobs import Job, edit

from witnessmark.audit.fluid import fluid_test, flush
from witnessmark.procedure.model import Nipple


@pytest.mark.parametrize(
    ("read", "above"),
    [("155 degC", True), ("154.9 degC", False), ("311 degF", True), ("310 degF", False), ("180 degC", True)],
)
def test_a_boiling_point_is_held_to_the_wet_minimum_of_the_grade(read: str, above: bool) -> None:
    """155 degC, 311 degF for DOT 4: 49 CFR 571.116 (secondary page); the rule prints the rounded 311."""
    (found,) = fluid_test.tests(Job().read("boiling-point", read, 5, instrument="tester").case())
    assert found.above is above and found.least_c == 155
    assert "49 CFR 571.116" in found.text and "read with tester" in found.text
    assert ("BELOW" in found.text) is not above


def test_where_only_a_class_is_named_its_table_counts_and_says_that_it_is_from_memory() -> None:
    procedure = edit(('fluid = "DOT 4"', 'fluid_class = "class 6"'))
    (found,) = fluid_test.tests(Job(procedure).read("boiling-point", "160 degC", 5).case())
    assert (found.least_c, found.above) == (165, False) and "from memory" in found.text


def test_a_fluid_that_no_table_has_is_said_and_not_judged() -> None:
    procedure = edit(('fluid = "DOT 4"', 'fluid = "own mixture"'))
    (found,) = fluid_test.tests(Job(procedure).read("boiling-point", "160 degC", 5).case())
    assert found.above is None and "no wet minimum is known for own mixture" in found.text


@pytest.mark.parametrize(
    ("nipple", "holds"),
    [
        (Nipple("a", "a", "one", line_volume="18 mL"), 18.0),
        (Nipple("a", "a", "one", line_volume="0.018 L", caliper_volume="7 mL"), 25.0),
        (Nipple("a", "a", "one", bore="4 mm", length="1000 mm"), math.pi * 0.2**2 * 100),
        (Nipple("a", "a", "one", bore="4 mm", length="100 cm", caliper_volume="10 mL"), math.pi * 0.2**2 * 100 + 10),
        (Nipple("a", "a", "one", caliper_volume="10 mL"), None),
        (Nipple("a", "a", "one"), None),
    ],
)
def test_a_line_holds_what_is_given_or_a_cylinder_of_its_bore_and_length(nipple: Nipple, holds: float | None) -> None:
    found = flush.line_ml(nipple)
    assert found == (None if holds is None else pytest.approx(holds))


def lines() -> Job:
    circuits = {"rr": ("rear right", "one"), "rl": ("rear left", "two"),
                "fr": ("front right", "two"), "fl": ("front left", "one")}  # fmt: skip
    text = []
    for name, (words, circuit) in circuits.items():
        old = f'id = "{name}", name = "{words}", circuit = "{circuit}"'
        text.append((old, f'{old}, line_volume = "20 mL"'))
    return Job(edit(*text))


def test_what_was_collected_at_a_circuits_nipples_is_set_against_what_its_lines_hold() -> None:
    job = lines()
    for one in job.case().plan:
        for name in one.nipples:
            job.read("volume", "50 mL", 10, pass_id=one.id, nipple=name)
    found = {one.circuit: one for one in flush.flushed(job.case())}
    visits = {name: sum(name in {job.case().nipple(n).circuit for n in one.nipples} for one in job.case().plan)
              for name in found}  # fmt: skip
    for name, one in found.items():
        assert one.holds_ml == 20 * len(one.nipples)
        assert one.collected_ml == 50 * visits[name]
        assert one.times == pytest.approx(one.collected_ml / one.holds_ml)
        assert f"{one.times:.1f} times" in one.text


def one_bottle() -> Job:
    """Return the passes p2 and p3 of one circuit, which share a bottle, and p4 of another; nothing done yet."""
    shared = edit(('nipples = ["rl"]', 'nipples = ["rl"]\nbottle_with = "p3"'))
    return Job(shared, scope="nipples rl,fr,fl").open("rl", "p2", 100).close("rl", 110, "p2")


def front(job: Job) -> Job:
    return job.open("fr", "p3", 200).close("fr", 210, "p3").read("volume", "60 mL", 220, pass_id="p3")


def other_circuit(job: Job) -> Job:
    return job.open("fl", "p4", 300).close("fl", 310, "p4").read("volume", "90 mL", 320, pass_id="p4")


def test_a_bottle_that_took_in_another_circuit_is_no_proof_for_either() -> None:
    found = {one.circuit: one for one in flush.flushed(front(other_circuit(one_bottle())).case())}
    assert [one.collected_ml for one in found.values()] == [None, None]
    assert all(one.text.startswith("no proof") and "read at p4 holds what ran out at p2 too" in one.text
               for one in found.values())  # fmt: skip


def test_passes_that_share_a_bottle_and_follow_each_other_count_for_their_circuit() -> None:
    job = other_circuit(front(one_bottle()))
    assert {one.circuit: one.collected_ml for one in flush.flushed(job.case())} == {"two": 60, "one": 90}


def test_a_bottle_that_was_read_before_another_circuit_was_opened_counts_for_its_own() -> None:
    job = front(other_circuit(one_bottle().read("volume", "40 mL", 120, pass_id="p2")))
    assert {one.circuit: one.collected_ml for one in flush.flushed(job.case())} == {"two": 100, "one": 90}


def test_where_a_visit_has_no_volume_its_circuit_is_not_known() -> None:
    job = lines()
    first = job.case().plan[0]
    job.read("volume", "50 mL", 10, pass_id=first.id)
    found = flush.flushed(job.case())
    assert any(one.collected_ml is None and "not recorded" in one.text for one in found)
