"""Which fields of an entry are personal data, and what stands in their place."""

from __future__ import annotations

from typing import Any

import pytest
from tests.journal.shop import Shop

from witnessmark.journal import amendment, commitment, personal
from witnessmark.journal.bodies import BODIES
from witnessmark.journal.entry import Draft
from witnessmark.journal.kinds import KINDS

WORDS = "Zoe Invented says so"
TOLD: list[tuple[str, dict[str, Any], set[str]]] = [
    ("job-opened", {"complaint": WORDS, "customer": WORDS, "title": "t", "vehicle": {"registration": WORDS, "id": "7"}},
     {"complaint", "customer", "registration"}),
    ("moved", {"customer": WORDS, "registration": WORDS, "vehicle": {"id": "7"}}, {"customer", "registration"}),
    ("step", {"step": "grade", "act": "done", "answer": "DOT 4", "said": WORDS}, {"said"}),
    ("inspection", {"actuation": 3, "pass_id": "p1", "said": WORDS, "safe": True}, {"said"}),
    ("first-use", {"actuation": 3, "result": "worked", "said": WORDS}, {"said"}),
    ("state", {"state": "paused", "why": WORDS}, {"why"}),
    ("attachment", {"name": WORDS, "sha256": "00", "shows": WORDS, "size": 1}, {"name", "shows"}),
    ("note", {"said": WORDS}, {"said"}),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "body", "fields"), TOLD, ids=[row[0] for row in TOLD])
def test_what_a_person_put_in_their_own_words_is_kept_beside_the_entry(
    shop: Shop, kind: str, body: dict[str, Any], fields: set[str]
) -> None:
    made = shop.journal.append(Draft(kind, "J-1", "person:p1", body=body))
    values = personal.values_of(shop.journal, "J-1")
    assert WORDS.encode() not in b"".join(text for _, text in shop.journal.texts())
    assert {one.field for one in values.values()} == fields and {one.value for one in values.values()} == {WORDS}
    assert personal.shown(made.body, values) == body


def test_an_amendment_keeps_its_reason_and_what_the_corrected_entry_kept(shop: Shop) -> None:
    shop.journal.append(Draft("step", "J-1", "person:p1", body={"act": "done", "said": "before"}))
    instead = {"said": WORDS, "act": "skipped"}
    made = amendment.amend(shop.journal, shop.journal.size - 1, "person:p1", reason=WORDS, instead=instead)
    assert WORDS.encode() not in b"".join(text for _, text in shop.journal.texts())
    assert made.body["instead"]["act"] == "skipped"
    shown = personal.shown(made.body, personal.values_of(shop.journal, "J-1"))
    assert (shown["reason"], shown["instead"]) == (WORDS, instead)


def test_nothing_is_kept_for_an_empty_field_an_entry_of_no_job_or_a_commitment() -> None:
    mark = commitment.commitment(b"\x00" * 32, WORDS)
    for body, job in (({"said": ""}, "J-1"), ({"said": WORDS}, None), ({"said": mark}, "J-1"), ({"act": "x"}, "J-1")):
        assert commitment.set_apart("step", body, job) == (body, [])


def test_the_same_words_twice_are_two_commitments() -> None:
    once, again = (commitment.set_apart("step", {"said": WORDS}, "J-1")[0] for _ in range(2))
    assert once != again


def test_every_field_named_is_one_that_its_kind_has() -> None:
    for kind, paths in commitment.PERSONAL.items():
        assert kind in KINDS
        if kind in BODIES:
            assert {path.partition(".")[0] for path in paths} <= set(BODIES[kind].__struct_fields__)
