"""An entry and its exact text stand for each other."""

from __future__ import annotations

import hashlib
from typing import Any

import msgspec
import pytest

from witnessmark.errors import InputError
from witnessmark.journal import canonical, entry
from witnessmark.journal.entry import Draft, Entry, Occurred, Recorded
from witnessmark.journal.kinds import KINDS

PLAIN = Entry(
    body={"step": "open", "nipple": "rear-left"},
    done_by="person:p1",
    entered_by="machine:runner",
    format=1,
    job="J-1",
    job_prev="ab" * 32,
    job_seq=3,
    kind="step",
    occurred=entry.occurred(1_700_000_000_000_000_001, 1_700_000_002_000_000_001, basis="touch"),
    recorded=Recorded("5", "boot", "6", "71.x", 1, "1700000002000000002"),
    salt="0f" * 16,
    seq=9,
)
TEXT = (
    b'{"body":{"nipple":"rear-left","step":"open"},"done_by":"person:p1","entered_by":"machine:runner","format":1,'
    b'"job":"J-1","job_prev":"' + b"ab" * 32 + b'","job_seq":3,"kind":"step","occurred":{"basis":"touch",'
    b'"from":"1700000000000000001","to":"1700000002000000001"},"recorded":{"boot":"5","boot_id":"boot","mono":"6",'
    b'"process":"71.x","rate":1,"wall":"1700000002000000002"},"salt":"' + b"0f" * 16 + b'","seq":9}'
)


def changed(**fields: Any) -> bytes:
    """Return the canonical text of PLAIN with fields replaced, or left out where the value is ``...``."""
    value = msgspec.to_builtins(PLAIN) | fields
    return canonical.encode({key: item for key, item in value.items() if item is not ...})


def test_the_text_of_an_entry_is_fixed_to_the_byte() -> None:
    assert entry.text(PLAIN) == TEXT


def test_reading_the_text_gives_the_entry_back() -> None:
    assert entry.parse(TEXT) == PLAIN


def test_the_leaf_hash_is_a_zero_byte_and_the_text() -> None:
    assert entry.leaf(PLAIN) == hashlib.sha256(b"\x00" + TEXT).digest()


def test_an_unknown_kind_is_readable_and_cannot_be_written() -> None:
    assert entry.parse(changed(kind="from-the-future")).kind == "from-the-future"
    with pytest.raises(InputError, match="from-the-future"):
        entry.check(Draft("from-the-future", None, "machine:x"))


def test_every_kind_can_be_written() -> None:
    for kind in KINDS:
        entry.check(Draft(kind, "J-1", "person:p1"))


def test_an_entry_of_no_job_has_no_place_in_one() -> None:
    read = entry.parse(changed(job=None, job_seq=None, job_prev=None))
    assert (read.job, read.job_seq, read.job_prev) == (None, None, None)


@pytest.mark.parametrize(
    "fields",
    [
        {"done_by": "p1"},
        {"done_by": "person:"},
        {"entered_by": "robot:x"},
        {"format": "1"},
        {"job": "a b"},
        {"job": None},
        {"job_seq": 0},
        {"job_prev": None},
        {"job_prev": "AB" * 32},
        {"job_prev": "ab" * 31},
        {"job_seq": -1},
        {"job_seq": 10**15},
        {"kind": "Step"},
        {"occurred": {"basis": "touch", "from": "2", "to": "1"}},
        {"occurred": {"basis": "touch", "from": "01", "to": "2"}},
        {"occurred": {"basis": "touch", "from": "1"}},
        {"recorded": {"boot": None, "boot_id": "b", "mono": "1", "process": "p", "rate": 9, "wall": "1"}},
        {"recorded": {"boot": None, "boot_id": "", "mono": "1", "process": "p", "rate": 1, "wall": "1"}},
        {"recorded": {"boot": 1, "boot_id": "b", "mono": "1", "process": "p", "rate": 1, "wall": "1"}},
        {"salt": "0f" * 15},
        {"seq": -1},
        {"seq": None},
        {"salt": ...},
        {"extra": 1},
        {"body": []},
        {"body": {"wide": "x", "deep": [[{"n": 1}]], "done_by": 2**40}, "seq": -3},
    ],
)
def test_a_field_of_the_wrong_form_is_refused(fields: dict[str, Any]) -> None:
    with pytest.raises(InputError) as caught:
        entry.parse(changed(**fields), place="file entries[2]")
    assert caught.value.place.startswith("file entries[2]")


def test_a_body_may_hold_the_names_of_the_outer_fields() -> None:
    body = {"x": {"a": 1, "done_by": "nobody"}, "z": [{"b": 0, "done_by": ',"done_by":"'}]}
    assert entry.parse(changed(body=body)).body == body


def test_a_body_outside_the_domain_is_refused() -> None:
    with pytest.raises(InputError, match="2\\*\\*53"):
        entry.parse(TEXT.replace(b'"step":"open"', b'"step":9007199254740992'))


def test_a_later_format_says_what_to_do() -> None:
    with pytest.raises(InputError, match="format 2") as caught:
        entry.parse(changed(format=2))
    assert "newer version" in caught.value.hint


def test_no_boot_clock_is_null() -> None:
    recorded = {"boot": None, "boot_id": "b", "mono": "1", "process": "p", "rate": 4, "wall": "1"}
    read = entry.parse(changed(recorded=recorded)).recorded
    assert (read.boot_ns, read.mono_ns, read.wall_ns, read.rate) == (None, 1, 1, 4)


@pytest.mark.parametrize(
    ("draft", "place"),
    [
        (Draft("step", "J-1", "anna"), "done_by"),
        (Draft("step", "J-1", "person:a", "person:b c"), "entered_by"),
        (Draft("step", "../x", "person:a"), "job"),
        (Draft("step", "J-1", "person:a", occurred=Occurred("touch", "9", "8")), "occurred"),
        (Draft("step", "J-1", "person:a", occurred=Occurred("touch", "soon", "9")), "occurred"),
        (Draft("step", "J-1", "person:a", occurred=Occurred("By Touch", "8", "9")), "occurred.basis"),
        (Draft("step", "J-1", "person:a\n"), "done_by"),
    ],
)
def test_a_draft_that_says_it_wrongly_is_refused_by_field(draft: Draft, place: str) -> None:
    with pytest.raises(InputError) as caught:
        entry.check(draft)
    assert caught.value.place == place


def test_an_interval_runs_forward() -> None:
    assert entry.occurred(5).to_ns == 5
    with pytest.raises(InputError, match="before it begins"):
        entry.occurred(5, 4)
