"""How long a run may be is told before anything is opened for it: at the documents, and on the screen."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from msgspec import structs
from tests.job.learned import learned_map
from tests.job.stand import MAP, PROCEDURE, Stand
from tests.procedure.kept import kept

from witnessmark.errors import InputError
from witnessmark.job.allowed.length import longest_elsewhere_s, require_fit, unfit_passes
from witnessmark.mapping.load import from_document


def shorter(longest_s: int = 6, at: int = 0) -> dict[str, Any]:
    document = copy.deepcopy(MAP)
    document["wire_commands"][at]["longest_s"] = longest_s
    return document


@pytest.mark.parametrize(
    ("document", "old", "new", "says"),
    [
        (MAP, "", "", {}),
        (shorter(6), "", "", {"p1": "8 s are asked for, at most 6 s are allowed"}),
        (shorter(8), "", "", {}),
        (MAP, 'longest_run = "20 s"', 'longest_run = "7 s"', {"p1": "8 s are asked for, at most 7 s are allowed"}),
        (MAP, 'seconds = "8 s"', 'seconds = "8.5 s"', {"p1": "wire command pump: 8.5 s do not fit into one byte"}),
        (MAP, 'longest_run = "20 s"', 'longest_run = "4 s"\nwire_commands = ["pump"]',
         {"p1": "8 s are asked for, at most 4 s are allowed"}),
        (learned_map(), "", "", {}),
        (learned_map({"longest_ms": 7900}), "", "", {"p1": "8 s are asked for, at most 7 s are allowed"}),
        (learned_map({"seconds": [4, 6]}), "", "", {"p1": "8 s are asked for, at most 6 s are allowed"}),
        (learned_map({"seconds": [9, 12]}, longest_s=12), "", "",
         {"p1": "8 s are asked for, at least 9 s were ever seen"}),
    ],
)  # fmt: skip
def test_the_least_that_anything_allows_counts(
    document: dict[str, Any], old: str, new: str, says: dict[str, str]
) -> None:
    seen = document["wire_commands"][0].get("observed")
    if seen is not None and seen["seconds"] == [9, 12]:
        seen["longest_ms"] = 12_000
    procedure = kept(PROCEDURE.replace(old, new) if old else PROCEDURE)
    assert unfit_passes(procedure, procedure.passes, from_document(document)) == says


def test_each_pass_is_named_with_what_it_asks_what_is_allowed_and_the_way_on() -> None:
    procedure = kept(PROCEDURE)
    document = shorter(6)
    document["wire_commands"][1]["longest_s"] = 4
    with pytest.raises(InputError) as refused:
        require_fit(procedure, procedure.passes, from_document(document), besides="; or walk")
    assert "pass p1 (pump): 8 s are asked for, at most 6 s are allowed" in refused.value.what
    assert "pass p2 (valve): 5 s are asked for, at most 4 s are allowed" in refused.value.what
    assert "write other seconds into the procedure" in refused.value.hint and refused.value.hint.endswith("; or walk")
    require_fit(procedure, procedure.passes, None)
    require_fit(procedure, (), from_document(document))


@pytest.mark.parametrize("at_arming", [False, True])
def test_the_screen_says_it_from_the_first_step_on_and_opens_nothing_for_it(at_arming: bool) -> None:
    asked = (
        PROCEDURE.replace("invented = true\n", "invented = true\nopened_at_arming = true\n") if at_arming else PROCEDURE
    )
    stand = Stand(procedure=asked, map_document=shorter(6))
    try:
        assert stand.view["kind"] == "step" and "rear right: its run is never sent: 8 s" in stand.view["caution"]
        stand.go_to("busy", "p1")
        assert "8 s are asked for, at most 6 s are allowed. Leave every nipple shut" in stand.view["text"]
        assert "`witnessmark job run J1 --grade told`" in stand.view["text"]
        assert stand.state.open_nipples == () and not stand.view.get("buttons")
        stand.grade = "told"
        stand.crash()
        stand.go_to("open", "p1")
    finally:
        stand.close()


def test_a_run_that_another_tester_makes_is_no_matter_of_ours() -> None:
    stand = Stand(map_document=shorter(6), grade="told")
    try:
        assert "never sent" not in stand.view.get("caution", "")
        stand.go_to("open", "p1")
    finally:
        stand.close()


def test_a_later_pass_is_named_before_and_those_that_fit_go_on() -> None:
    stand = Stand(map_document=shorter(4, at=1))
    try:
        assert "rear left: its run is never sent: 5 s are asked for, at most 4 s" in stand.view["caution"]
        stand.go_to("open", "p1")
        stand.go_to("busy", "p2")
        while "never sent" not in stand.view.get("text", ""):
            stand.follow()
        assert stand.view["pass_id"] == "p2" and stand.state.open_nipples == () and len(stand.acts) == 2
    finally:
        stand.close()


@pytest.mark.parametrize(
    ("document", "pump", "longest"),
    [
        (None, True, 20),
        (None, False, None),
        (shorter(6), True, 6),
        (shorter(6), False, 6),
        (learned_map(longest_s=6), False, None),  # only seen: nobody's limit
    ],
)
def test_a_run_of_another_tester_may_last_as_long_as_map_and_procedure_say(
    document: dict[str, Any] | None, pump: bool, longest: int | None
) -> None:
    procedure = kept(PROCEDURE)
    procedure = procedure if pump else structs.replace(procedure, pump=None)
    known = from_document(document).wire_commands[0] if document is not None else None
    assert longest_elsewhere_s(procedure, "pump", known) == longest
