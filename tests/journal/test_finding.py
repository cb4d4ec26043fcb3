"""A job is found by what a person knows of it, through an index."""

from __future__ import annotations

from tests.journal.shop import Shop

from witnessmark.clock import NS
from witnessmark.journal import finding
from witnessmark.journal.entry import Draft


def opened(shop: Shop, job: str, vin: str) -> None:
    body = {"vehicle": {"vin": vin, "registration": f"AB {job[2:]}"}}
    shop.journal.append(Draft("job-opened", job, "person:p1", body=body))


def test_a_job_is_found_by_plate_vin_and_time(shop: Shop) -> None:
    begin = shop.clock.now_ns
    for number, vin in enumerate(("1M8GDM9AXKP042788", "1J9RP1A36A1644345", "1M8GDM9AXKP042788")):
        shop.clock.advance(3600)
        opened(shop, f"J-10{number}", vin)
    assert finding.by_registration(shop.journal, "ab101") == ["J-101"]
    assert finding.by_vin(shop.journal, " 1m8gdm9axkp042788") == ["J-102", "J-100"]
    assert finding.by_vin(shop.journal, "none") == []
    assert finding.by_time(shop.journal, begin, begin + 2 * 3600 * NS + 1) == ["J-101", "J-100"]
    assert finding.by_time(shop.journal, begin, begin + 3600 * NS) == []


def test_each_answer_comes_from_an_index(shop: Shop) -> None:
    asked: list[str] = []
    shop.journal.connection.set_trace_callback(asked.append)
    finding.by_registration(shop.journal, "x")
    finding.by_vin(shop.journal, "x")
    finding.by_time(shop.journal, 1, 2)
    shop.journal.connection.set_trace_callback(None)
    plans = [shop.journal.connection.execute(f"EXPLAIN QUERY PLAN {query}").fetchall() for query in asked]
    details = [row[-1] for plan in plans for row in plan if "entries" in row[-1] or "personal" in row[-1]]
    used = [detail.split(" INDEX ")[1].split()[0] for detail in details]
    assert set(used) == {"personal_by_value", "jobs_by_vin", "jobs_by_time", "sought_by_kind"}
