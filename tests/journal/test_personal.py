"""Personal data lies beside the entries and can be erased while everything else holds."""

from __future__ import annotations

import hashlib
import sqlite3

import pytest
from tests.journal.shop import Shop

from witnessmark.audit.verify import verify
from witnessmark.errors import InputError, JournalError
from witnessmark.journal import check, commitment, head, personal, sealing
from witnessmark.journal.checkpoint import Anchor
from witnessmark.journal.entry import Draft


def intake(shop: Shop, job: str = "J-1") -> dict[str, str]:
    told = {"registration": "AB-12 \u00e4x", "customer": {"name": "Zoe Invented"}}
    return shop.journal.append(Draft("moved", job, "person:p1", body=told)).body


def everything_on_disk(shop: Shop) -> bytes:
    return b"".join(file.read_bytes() for file in shop.journal.path.parent.iterdir() if file.is_file())


def test_an_entry_holds_a_commitment_and_no_value(shop: Shop) -> None:
    body = intake(shop)
    value = personal.values_of(shop.journal, "J-1")[body["customer"]]
    digest = hashlib.sha256(commitment.DOMAIN + bytes.fromhex(value.salt) + b'{"name":"Zoe Invented"}').hexdigest()
    assert body["customer"] == f"personal:{digest}"
    assert b"Zoe" not in b"".join(text for _, text in shop.journal.texts())


def test_a_job_is_found_by_its_plate_however_it_is_spaced(shop: Shop) -> None:
    intake(shop)
    intake(shop, "J-2")
    assert personal.jobs_with(shop.journal, "registration", "ab12ax") == ["J-1", "J-2"]
    assert personal.jobs_with(shop.journal, "registration", "AB 13") == []


def test_what_is_shown_names_the_value_or_that_it_is_erased(shop: Shop) -> None:
    body = {"who": [intake(shop)["customer"]], "n": 1}
    values = personal.values_of(shop.journal, "J-1")
    assert personal.shown(body, values) == {"who": [{"name": "Zoe Invented"}], "n": 1}
    assert personal.shown(body, {}) == {"who": ["erased"], "n": 1}
    assert personal.shown(body, {}, frozenset()) == {"who": ["not kept here"], "n": 1}


def test_what_was_erased_is_told_from_what_was_never_kept_here(shop: Shop) -> None:
    body = intake(shop)
    assert personal.erased_in(shop.journal.entries("J-1")) == frozenset()
    personal.erase(shop.journal, "J-1", "person:lead", "asked for", [])
    erased = personal.erased_in(shop.journal.entries("J-1"))
    assert personal.shown(body, {}, erased) == {"registration": "erased", "customer": "erased"}


def test_erasing_leaves_no_byte_and_every_proof_holds(shop: Shop) -> None:
    intake(shop)
    intake(shop, "J-2")
    held = sealing.seal_job(shop.journal, shop.key, "J-1", "person:lead", sheet=True, why="printed").note
    assert b"Zoe Invented" in everything_on_disk(shop)
    shop.journal.append(Draft("note", "J-2", "person:p1"))
    copies = personal.known_copies(shop.journal, "J-1")
    assert copies == [
        f"sheet of entry {shop.journal.size - 2}",
        "each sheet printed without a seal",
        "each second copy made before this entry",
    ]
    entry = personal.erase(shop.journal, "J-2", "person:lead", "asked for", ["the printed sheet"])
    assert (entry.body["fields"], entry.body["copies"]) == (["customer", "registration"], ["the printed sheet"])
    assert b"Zoe Invented" in everything_on_disk(shop)
    personal.erase(shop.journal, "J-1", "person:lead", "asked for", [])
    assert b"Zoe Invented" not in everything_on_disk(shop)
    assert b"AB-12" not in everything_on_disk(shop)
    assert personal.values_of(shop.journal, "J-1") == {}
    now = sealing.seal(shop.journal, shop.key, "machine:shop", "on demand").note
    assert verify(sealing.evidence_of(shop.journal, "J-1", now), Anchor(note=held)).verdict == "intact"
    assert check.check(shop.journal.path, shop.clock).verdict == "consistent, unanchored"
    with pytest.raises(InputError, match="no personal data"):
        personal.erase(shop.journal, "J-1", "person:lead", "again", [])


def test_erasing_while_another_one_reads_says_so_and_can_be_done_again(shop: Shop) -> None:
    intake(shop)
    reader = sqlite3.connect(shop.journal.path, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM entries").fetchone()
    shop.journal.connection.execute("PRAGMA busy_timeout=0")
    with pytest.raises(JournalError, match="cannot be overwritten"):
        personal.erase(shop.journal, "J-1", "person:lead", "asked for", [])
    reader.close()
    personal.scrub(shop.journal)
    assert b"Zoe Invented" not in everything_on_disk(shop)


def test_an_erasure_cut_off_after_its_entry_is_finished_later(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    intake(shop)

    def power_cut(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(personal, "_changing", power_cut)
        with pytest.raises(KeyboardInterrupt):
            personal.erase(shop.journal, "J-1", "person:lead", "asked for", [])
    assert personal.finish_erasures(shop.journal) == 2
    assert b"Zoe Invented" not in everything_on_disk(shop)
    assert personal.finish_erasures(shop.journal) == 0


def test_an_entry_that_is_not_recorded_leaves_no_value_either(shop: Shop) -> None:
    drafts = [Draft("moved", "J-1", "person:p1", body={"customer": "Zoe Invented"})]
    drafts.append(Draft("note", "J-1", "person:p1", body={"age": 4.5}))
    with pytest.raises(InputError):
        shop.journal.append_many(drafts)
    assert personal.values_of(shop.journal, "J-1") == {}


def test_a_commitment_inside_a_text_is_shown_too(shop: Shop) -> None:
    mark = intake(shop)["registration"]
    text = f"left out: {mark}; {mark}!"
    assert personal.shown(text, personal.values_of(shop.journal, "J-1")) == "left out: AB-12 \u00e4x; AB-12 \u00e4x!"
    assert personal.shown(text, {}) == "left out: erased; erased!"


def test_erasing_leaves_what_came_after_its_entry_and_can_be_done_again(shop: Shop) -> None:
    intake(shop)
    personal.erase(shop.journal, "J-1", "person:lead", "asked for", [])
    later = shop.journal.append(Draft("step", "J-1", "person:p1", body={"said": "Mr Invented held the lamp"})).body
    assert personal.shown(later, personal.values_of(shop.journal, "J-1"))["said"] == "Mr Invented held the lamp"
    assert personal.erase(shop.journal, "J-1", "person:lead", "asked for", []).body["fields"] == ["said"]
    assert b"Mr Invented" not in everything_on_disk(shop)


def test_the_head_file_still_fits_after_an_erasure(shop: Shop) -> None:
    intake(shop)
    personal.erase(shop.journal, "J-1", "person:lead", "asked for", [])
    assert head.read(head.path_of(shop.journal.path)) == shop.journal.head()


def test_a_value_changed_beside_its_entry_is_said_to_be_so(shop: Shop) -> None:
    body = intake(shop)
    shop.journal.connection.execute("UPDATE personal SET value = '\"CD-34\"' WHERE field = 'registration'")
    shown = personal.shown(body, personal.values_of(shop.journal, "J-1"))
    assert shown == {"registration": personal.CHANGED, "customer": {"name": "Zoe Invented"}}
    assert [one.field for one in personal.changed(shop.journal)] == ["registration"]
    shop.journal.connection.execute("UPDATE personal SET value = 'no json' WHERE field = 'customer'")
    assert len(personal.changed(shop.journal)) == 2
