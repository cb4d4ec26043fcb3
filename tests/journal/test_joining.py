"""The parts of a job that moved become one row in which no two entries have one number."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.journal.shop import Shop

from witnessmark.errors import InputError
from witnessmark.journal import joining, moving, sealing
from witnessmark.journal.entry import Draft, Entry


@pytest.fixture
def parts(shop: Shop) -> list[tuple[Entry, ...]]:
    shop.journal.append(Draft("outcome", "J-1", "machine:runner", body={"actuation": 4}))
    shop.journal.append(Draft("outcome", "J-2", "machine:runner", body={"actuation": 5, "n": 5}))
    return [tuple(shop.journal.entries(job)) for job in ("J-1", "J-2")]


def test_the_first_part_keeps_its_numbers_where_people_read_them(parts: list[tuple[Entry, ...]]) -> None:
    row = joining.after_first(parts)
    assert [one.seq for one in row] == [2, 4, 6, 8, 10, 12, 1003, 1005, 1007, 1009, 1011, 1013]
    assert {one.job for one in row} == {"J-2"}
    assert (row[5].body, row[-1].body) == ({"actuation": 4}, {"actuation": 1005, "n": 5})
    assert joining.after_first(parts[:1]) == parts[0]


def test_the_last_part_keeps_its_numbers_where_it_goes_on(parts: list[tuple[Entry, ...]]) -> None:
    row = joining.before_last(parts)
    assert row[6:] == parts[1]
    assert all(one.seq < 0 for one in row[:6]) and [one.seq for one in row] == sorted(one.seq for one in row)
    assert row[5].body["actuation"] == row[1].seq


def test_what_names_the_entry_a_job_came_by_names_the_run_that_it_stands_for(shop: Shop) -> None:
    def begun(job: str, owed: int | None) -> int:
        body = {"count": 1} if owed is None else {"count": 1, "owed": owed}
        first = shop.journal.append(Draft("moved", job, "person:p1", body=body)).seq
        shop.journal.append(Draft("inspection", job, "person:p1", body={"actuation": first, "safe": False}))
        return first

    begun("J-4", begun("J-3", 4))
    row = joining.after_first([tuple(shop.journal.entries(job)) for job in ("J-1", "J-3", "J-4")])
    assert [one.body["actuation"] for one in row if one.kind == "inspection"] == [4, 4]


def test_a_job_that_moved_twice_needs_the_files_of_both_bays_in_order(shop: Shop, tmp_path: Path) -> None:
    first, second, other = tmp_path / "1.json", tmp_path / "2.json", tmp_path / "3.json"
    first.write_bytes(sealing.unsealed_evidence(shop.journal, "J-1"))
    other.write_bytes(sealing.unsealed_evidence(shop.journal, "J-2"))
    moving.take_over(shop.journal, first, "person:p2", job="J-7")
    second.write_bytes(sealing.unsealed_evidence(shop.journal, "J-7"))
    with pytest.raises(InputError, match="moved here from another bay"):
        moving.take_over(shop.journal, second, "person:p2", job="J-8")
    with pytest.raises(InputError, match="goes on from another file"):
        moving.take_over(shop.journal, second, "person:p2", job="J-8", earlier=[other])
    with pytest.raises(InputError, match="not in one before"):
        moving.take_over(shop.journal, other, "person:p2", job="J-8", earlier=[first])
    moving.take_over(shop.journal, second, "person:p2", job="J-8", earlier=[first])
    assert moving.earlier_evidence(shop.journal, "J-8") == [first.read_bytes(), second.read_bytes()]
