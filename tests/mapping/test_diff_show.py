"""A map as people read it: tables, the HTML matrix, and what differs between two maps in words."""

from __future__ import annotations

import html
import re
from typing import Any

import msgspec
import pytest
from tests.mapping.maps import TEXT
from tests.mapping.test_listen_captures import vehicle

from witnessmark.mapping import words
from witnessmark.mapping.diff import differences, unit_differences
from witnessmark.mapping.diff_facts import Told
from witnessmark.mapping.facts import (
    CodeFormat,
    Evidence,
    Habits,
    IdentifierFact,
    Observed,
    ServiceFact,
    SessionFact,
    Spread,
)
from witnessmark.mapping.load import from_text, vehicle_from_text
from witnessmark.mapping.matrix import MOST_SERVICES, matrix
from witnessmark.mapping.model import AddressPair, Identification, ProtocolMap, Timing, VehicleMap
from witnessmark.mapping.show import evidence, overview, tables

SEEN = Evidence("probed", "practice")


def service(name: str, **facts: Any) -> ServiceFact:
    return ServiceFact(service=name, name="", evidence=SEEN, **facts)


def identifier(name: str, **facts: Any) -> IdentifierFact:
    return IdentifierFact(service="22", identifier=name, evidence=SEEN, **facts)


UNIT = msgspec.structs.replace(
    from_text(TEXT),
    sessions=(SessionFact(session=3, name="extended", answer="positive", evidence=SEEN),),
    services=(service("22", positive=3), service("19", codes={"11": 1})),
    identifiers=(identifier("F190", value="3041", length=2, values=1), identifier("0100", code="31")),
    codes=(CodeFormat(request="1902FF", bytes_per_code=3, codes=("C1B41-54 2F",), evidence=SEEN),),
)


def of(*units: ProtocolMap) -> VehicleMap:
    return VehicleMap(format="witnessmark-vehicle-map/1", id="v", title="truck", source="tests", units=units)


def changed(**values: Any) -> list[str]:
    found = differences(of(UNIT), of(msgspec.structs.replace(UNIT, **values)))
    return [one.text for one in found if one.kind == "differs"]


def test_a_map_does_not_differ_from_itself() -> None:
    assert changed() == []
    assert differences(vehicle("fault-scan.log"), vehicle("fault-scan.log")) == []


def test_another_functional_address_or_a_time_that_nobody_stated_is_no_other_address_or_time() -> None:
    told = msgspec.structs.replace(UNIT, evidence=Evidence("heard", "x"), timing=Timing(p2_ms=80))
    assert [one for one in unit_differences(UNIT, told) if one.kind == "differs"] == []
    only = Told("only the first map knows what it states of itself: P2 50 ms", "one knows")
    assert only in list(unit_differences(UNIT, told))
    with_all = [
        msgspec.structs.replace(UNIT, address=msgspec.structs.replace(UNIT.address, functional=functional))
        for functional in ("7DF", "6FF")
    ]
    assert list(unit_differences(*with_all)) == [Told("it is asked with all others on 6FF; that was 7DF")]
    titles = [dict(tables(one)[0].rows) for one in (UNIT, told)]
    assert "times it states" in titles[0] and "times of the standard" in titles[1]


def test_a_changed_identification_says_that_approvals_end() -> None:
    found = changed(identification=(Identification("F189", "0103"),))
    assert found[0] == "identification F189 is 0103; it was 0102"
    assert "not approved for the second" in found[1]


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"timing": Timing(p2_ms=80)}, "it states P2 80 ms; it was 50 ms"),
        ({"address": AddressPair("7A1", "7A8")}, "its address was 7A0 > 7A8 and is 7A1 > 7A8"),
        ({"services": (service("22", codes={"33": 2}),)}, "service 22 : refuses: 33; it was: answers"),
        ({"services": (service("19", positive=1),)}, "service 19 : answers; it was: does not have it"),
        (
            {"sessions": (SessionFact(session=3, name="extended", answer="refused", code="22", evidence=SEEN),)},
            "session 03 extended: refused; it was positive",
        ),
        ({"identifiers": (identifier("F190", value="3042", length=2, values=1),)}, "22 F190 is 3042; it was 3041"),
        ({"identifiers": (identifier("F190", value="3042AA", length=3, values=1),)}, "22 F190 has 3 bytes; it had 2"),
        ({"identifiers": (identifier("0100", value="01", length=1, values=1),)}, "22 0100 is read; it was refused"),
        (
            {"codes": (CodeFormat(request="1902FF", bytes_per_code=3, codes=("C1B52-16 2C",), evidence=SEEN),)},
            "new trouble codes by 1902FF: C1B52-16",
        ),
        ({"wire_commands": ()}, "wire command pump is not in the second map"),
    ],
)
def test_each_difference_is_one_sentence(values: dict[str, Any], says: str) -> None:
    assert says in changed(**values)


def test_a_wire_command_that_changed_is_told_part_by_part() -> None:
    command = msgspec.structs.replace(UNIT.wire_commands[0], longest_s=60, stop="31020302")
    assert changed(wire_commands=(command,)) == [
        "wire command pump: its stop is 31020302; it was 31020301",
        "wire command pump: its longest run in s is 60; it was 20",
    ]


def test_what_one_map_does_not_know_is_no_difference() -> None:
    nothing = msgspec.structs.replace(UNIT, services=(), identifiers=(), sessions=(), codes=())
    for which, maps in (("first", (UNIT, nothing)), ("second", (nothing, UNIT))):
        assert list(unit_differences(*maps)) == [
            Told(f"only the {which} map knows {what}", "one knows")
            for what in ("session 03", "services 22, 19", "identifiers 22 F190, 22 0100",
                         "how it reports codes by 1902FF")
        ]  # fmt: skip


def test_the_session_of_whoever_asked_is_no_difference_of_the_unit() -> None:
    for name, kind in (("F186", "beside"), ("F18C", "differs")):
        one, other = (identifier(name, value=value, length=1, values=1) for value in ("01", "03"))
        told = unit_differences(
            msgspec.structs.replace(UNIT, identifiers=(one,)), msgspec.structs.replace(UNIT, identifiers=(other,))
        )
        assert {each.kind for each in told if "it was" in each.text} == {kind}


@pytest.mark.parametrize(
    ("how", "silent", "says", "kind"),
    [
        ("probed", (), "was not asked for the {} map", "one knows"),
        ("probed", ("7B0-7BF", "18DA10F1"), "was not asked for the {} map", "one knows"),
        ("probed", ("700-7A0",), "was asked for the {} map, and did not answer", "differs"),
        ("heard", (), "was not heard for the {} map", "one knows"),
        ("", (), "is not in the {} map, which does not say whether it was asked", "one knows"),
    ],
)
def test_a_unit_that_is_only_in_one_map_is_named_and_differs_where_it_was_asked_for_the_other(
    how: str, silent: tuple[str, ...], says: str, kind: str
) -> None:
    other = msgspec.structs.replace(
        of(),
        silent=silent,
        evidence=Evidence(how) if how else None,  # type: ignore[arg-type]
    )
    both = {"second": differences(of(UNIT), other), "first": differences(other, of(UNIT))}
    for which, found in both.items():
        (gone,) = [one for one in found if one.unit == "7A8"]
        assert says.format(which) in gone.text and gone.kind == kind, found


def test_tables_show_what_is_known_and_nothing_else() -> None:
    found = {table.title: table for table in tables(UNIT)}
    assert ("19", "", "does not have it", "", "11 serviceNotSupported x1", "probed 1 time in practice") in found[
        "services; any other is not known"
    ].rows
    assert [row[0] for row in found["identifiers"].rows] == ["22 F190"]
    assert found["wire commands"].rows[0][-1] == "once a lead approves it"
    assert "heard from another tester, not named yet" not in found


def shown(**values: Any) -> dict[str, tuple[tuple[str, ...], ...]]:
    return {table.title: table.rows for table in tables(msgspec.structs.replace(UNIT, **values))}


def test_asking_for_time_is_no_refusal_and_a_tester_present_without_answer_is_called_so_in_both_places() -> None:
    habits = Habits(kept_alive="3E80", kept_alive_ms=1909, pending=1, pending_most=3)
    busy = (service("31", positive=4, codes={"78": 10}), service("19", asked=1, codes={"78": 2}))
    found = shown(services=(*busy, service("3E", asked=45)), habits=habits)
    rows = {row[0]: row for row in found["services; any other is not known"]}
    assert rows["31"][2:5] == ("answers", "", "") and rows["19"][2] == "asked for time, then no answer was seen"
    assert rows["3E"][2] == "no answer was wanted"
    facts = dict(found[UNIT.title])
    assert facts["the other tester keeps alive"] == "with 3E80 every 1909 ms, no answer was wanted"
    assert facts["asks for time (0x78)"].startswith("in 1 exchange, at most 3 times in one")
    assert changed(services=(service("22"),)) == [], "what nobody wanted an answer to is not known"


@pytest.mark.parametrize(
    ("us", "says"),
    [
        ((0, 0, 0, 0), "below 0.1 ms, each of 9 times"),
        ((0, 30, 99, 1040), "median below 0.1 ms, 95 % below 0.1 ms, longest 1.0 ms (of 9)"),
        ((100, 300, 900, 1040), "median 0.3 ms, 95 % within 0.9 ms, longest 1.0 ms (of 9)"),
    ],
)
def test_a_time_too_short_to_tell_is_not_called_no_time(us: tuple[int, int, int, int], says: str) -> None:
    least, median, p95, most = us
    answer = Spread(count=9, least_us=least, median_us=median, p95_us=p95, most_us=most)
    assert dict(shown(habits=Habits(answer=answer))[UNIT.title])["answers after"] == says


@pytest.mark.parametrize(
    ("seen", "says"),
    [
        (Observed(runs=1, ended=1, shortest_ms=10_010, longest_ms=10_030), "1 run, seen to its end; 10.0 s long"),
        (Observed(runs=1, ended=1, shortest_ms=3_960, longest_ms=3_960), "1 run, seen to its end; 3.9 s long"),
        (
            Observed(runs=2, ended=2, rest_ms=16_000, refused_rest_ms=500),
            "2 runs, all seen to their end; started again after 16.0 s of rest; "
            "refused as too soon after 0.5 s of rest",
        ),
        (Observed(runs=1, ended=0), "1 run, its end was not seen"),
        (Observed(runs=3, ended=2), "3 runs, 2 seen to their end"),
        (Observed(runs=2, ended=2), "2 runs, all seen to their end"),
        (Observed(runs=2, ended=0), "2 runs, none seen to their end"),
        (Observed(runs=0, ended=0, refusals={"22": 1}), "it never ran; 1 time 22 conditionsNotCorrect"),
    ],
)
def test_what_was_seen_of_a_wire_command_reads_as_a_sentence(seen: Observed, says: str) -> None:
    assert words.observed(seen) == says


def test_a_session_of_iso_14230_is_called_so() -> None:
    rows = dict(shown(sessions=(SessionFact(session=0x90, name="0x90", answer="positive", evidence=SEEN),
                                SessionFact(session=3, name="extended", answer="refused", code="12", evidence=SEEN)))
                [UNIT.title])  # fmt: skip
    assert rows["session 90 (ISO 14230-3)"] == "positive (probed 1 time in practice)"
    assert rows["session 03"] == "extended: refused 12 subFunctionNotSupported (probed 1 time in practice)"
    assert rows["trouble codes by 1902FF"] == "C1B41-54 2F (probed 1 time in practice)"


@pytest.mark.parametrize(
    ("of", "says"),
    [
        (Evidence("heard", "bay.log", "", "1750000000000000000", "1750000001000000000", 3),
         "heard 3 times, 2025-06-15"),
        (Evidence("heard", "bay.log", "", "1749942000000000000", "1750000000000000000"),
         "heard 1 time, 2025-06-14 to 2025-06-15"),
        (Evidence("heard", "bay.log", "", "1000", "2000"), "heard 1 time"),
        (Evidence("probed", "canbus"), "probed 1 time in canbus"),
    ],
)  # fmt: skip
def test_evidence_says_how_often_on_which_day_and_where_that_is_not_the_maps_own(of: Evidence, says: str) -> None:
    assert evidence(of, "bay.log") == says


def test_a_wire_command_that_is_never_sent_says_why_where_it_is_shown() -> None:
    command = msgspec.structs.replace(UNIT.wire_commands[0], session=2)
    (table,) = [one for one in tables(msgspec.structs.replace(UNIT, wire_commands=(command,)))
                if one.title == "wire commands"]  # fmt: skip
    assert table.rows[0][-1] == "it needs a programming session"


def test_the_overview_has_a_line_for_each_unit() -> None:
    found = vehicle("fault-scan.log")
    assert len(overview(found).rows) == len(found.units) == 15


def test_the_matrix_has_every_unit_and_service_and_leaves_the_unasked_unknown() -> None:
    found = vehicle("fault-scan.log")
    page = matrix(found)
    rows = dict(re.findall(r"<tr><th>([^<]+)</th>(.*)</tr>", page.partition("<dl>")[0]))
    units = [html.unescape(unit) for unit in rows if unit != "unit"]
    assert units == [words.address(one.address) for one in found.units]
    services = sorted({one.service for unit in found.units for one in unit.services})
    assert re.findall(r"<th>(..)</th>", rows["unit"]) == services == re.findall(r"<dt>(..)</dt>", page)
    marks = {unit: re.findall(r'<td class="(\w+)">([^<]*)</td>', cells) for unit, cells in rows.items()}
    by_service = dict(zip(services, marks["7E4 &gt; 7EC"], strict=True))
    assert (by_service["01"], by_service["18"]) == (("yes", "yes"), ("no", "no"))
    assert dict(zip(services, marks["? &gt; 78B"], strict=True)) == {
        service: ("no", "22") if service == "19" else ("unknown", "?") for service in services
    }
    assert "<script" not in page and "http" not in page


def test_more_services_than_stand_side_by_side_on_paper_go_into_a_further_table() -> None:
    many = tuple(service(f"{number:02X}", positive=1) for number in range(0x10, 0x10 + 2 * MOST_SERVICES + 1))
    page = matrix(of(msgspec.structs.replace(UNIT, services=many)))
    heads = re.findall(r"<tr><th>unit</th>(.*)</tr>", page)
    assert [len(re.findall("<th>", head)) for head in heads] == [MOST_SERVICES, MOST_SERVICES, 1]


def test_a_long_record_may_be_broken_anywhere_and_stays_what_it_is() -> None:
    value = "3C26" * 50
    long = (
        identifier("F190", text="<&" * 50, length=100, values=1),
        identifier("F191", value=value, length=100, values=1),
    )
    page = matrix(of(msgspec.structs.replace(UNIT, identifiers=long)))
    cells = re.findall(r'<td data-head="value">(.*?)</td>', page)
    assert [max(map(len, html.unescape(cell).split("<wbr>"))) for cell in cells] == [16, 16]
    assert [html.unescape(cell.replace("<wbr>", "")) for cell in cells] == ["<&" * 50, value]


def test_every_cell_carries_its_column_so_that_a_narrow_screen_can_stack_them() -> None:
    page = matrix(of(UNIT))
    for table in tables(UNIT):
        for row in table.rows:
            for head, cell in zip(table.head, row, strict=True):
                named = f' data-head="{head}"' if head else ""
                assert f"<td{named}>{html.escape(cell)}</td>" in page


def test_what_a_map_says_cannot_become_markup() -> None:
    title = "<script>alert(1)</script>"
    page = matrix(of(msgspec.structs.replace(UNIT, title=title)))
    assert title not in page and "&lt;script&gt;" in page


def test_an_empty_map_says_that_nobody_was_found() -> None:
    assert "No control unit was found." in matrix(of())


def test_the_map_of_one_unit_is_read_as_a_vehicle_of_one() -> None:
    assert vehicle_from_text(TEXT).units == (from_text(TEXT),)


def test_a_unit_whose_services_nobody_asked_is_shown_all_the_same() -> None:
    written = from_text(TEXT)
    page = matrix(of(msgspec.structs.replace(written, services=())))
    assert "No control unit was found." not in page
    assert "was not asked: not known" in page
    assert all(one.id in page for one in written.wire_commands)
