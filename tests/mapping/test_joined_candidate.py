"""Two recordings of one wire command are one, and what either heard counts."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from witnessmark.mapping.facts import Candidate, Evidence, Observed, Run
from witnessmark.mapping.joined_candidate import joined
from witnessmark.mapping.model import AddressPair

ADDRESS = AddressPair("6B3", "6BB")
RAN = Candidate(
    id="31-7310",
    start="3101731008",
    stop="31027310",
    observed=Observed(runs=1, ended=1, shortest_ms=8100, longest_ms=8100, rest_ms=20_000, session=3),
    runs=(Run(start_ns="2000", request="3101731008", ms=8100),),
    evidence=Evidence(how="heard", source="one.log", digest="aa" * 32, first_ns="1000", last_ns="3000", count=1),
)
REFUSED = msgspec.structs.replace(
    RAN,
    stop="",
    observed=Observed(runs=1, ended=1, shortest_ms=4100, longest_ms=4100, refused_rest_ms=900, needs=("27",),
                      refusals={"86": 2}, session=3),
    runs=(Run(start_ns="9000", request="3101731008", ms=4100),),
    refused_ns=("9500", "9600"),
    evidence=Evidence(how="heard", source="two.log", digest="bb" * 32, first_ns="9000", last_ns="9900", count=3),
)  # fmt: skip


def test_runs_and_refusals_of_both_count_and_what_forbids_either_forbids_both() -> None:
    both = joined(RAN, REFUSED, ADDRESS)
    assert both is not None and both.stop == "31027310" and both.refused_ns == ("9500", "9600")
    assert [one.start_ns for one in both.runs] == ["2000", "9000"]
    seen = both.observed
    assert (seen.runs, seen.ended, seen.shortest_ms, seen.longest_ms) == (2, 2, 4100, 8100)
    assert (seen.rest_ms, seen.refused_rest_ms, seen.refusals, seen.needs) == (20_000, 900, {"86": 2}, ("27",))
    assert len(both.never) == 1 and "SecurityAccess" in both.never[0]
    told = both.evidence
    assert (told.source, told.digest, told.first_ns, told.last_ns, told.count) == (
        "one.log; two.log", "", "1000", "9900", 4,
    )  # fmt: skip
    other = joined(REFUSED, RAN, ADDRESS)
    assert other is not None and other.observed == both.observed and other.runs == both.runs


@pytest.mark.parametrize(
    "change", [{"start": "3101731009"}, {"stop": "3102731000"}, {"runs": RAN.runs}], ids=["start", "stop", "same run"]
)
def test_other_bytes_and_the_same_run_heard_twice_are_not_joined(change: dict[str, Any]) -> None:
    assert joined(RAN, msgspec.structs.replace(REFUSED, **change), ADDRESS) is None
