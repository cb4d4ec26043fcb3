"""A correction stands beside the entry, never in its place."""

from __future__ import annotations

import pytest
from tests.journal.shop import Shop

from witnessmark.errors import InputError
from witnessmark.journal import amendment, personal
from witnessmark.journal.entry import amendments


def test_the_original_stays_and_the_amended_reading_is_another(shop: Shop) -> None:
    before = list(shop.journal.entries("J-1"))
    target = before[2]
    amendment.amend(shop.journal, target.seq, "person:lead", reason="read off wrongly", instead={"n": 20})
    amendment.amend(shop.journal, target.seq, "person:lead", reason="again", instead={"unit": "bar"})
    after = list(shop.journal.entries("J-1"))
    assert after[:5] == before
    found = amendments(after)
    values = personal.values_of(shop.journal, "J-1")
    said = [personal.shown(one.body["reason"], values) for one in found[target.seq]]
    assert said == ["read off wrongly", "again"]
    assert amendment.as_amended(target, found[target.seq]) == {"n": 20, "unit": "bar"}
    assert target.body == {"n": 2}


def test_an_amendment_may_be_amended(shop: Shop) -> None:
    first = amendment.amend(shop.journal, 4, "person:lead", reason="a", instead={})
    second = amendment.amend(shop.journal, first.seq, "person:lead", reason="b", instead={})
    assert amendments(shop.journal.entries())[first.seq] == [second]


def test_what_cannot_be_amended_is_refused(shop: Shop) -> None:
    with pytest.raises(InputError, match="belongs to no job"):
        amendment.amend(shop.journal, 0, "person:lead", reason="x", instead={})
    with pytest.raises(InputError, match="no entry 99"):
        amendment.amend(shop.journal, 99, "person:lead", reason="x", instead={})
    with pytest.raises(InputError, match="no reason"):
        amendment.amend(shop.journal, 4, "person:lead", reason=" ", instead={})
