"""Canonical text against the rfc8785 library, over the domain of entries. Source: RFC 8785 (JSON Canonicalization)."""

from __future__ import annotations

import json
from typing import Any

import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.journal import canonical

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
KEYS = st.text(st.characters(max_codepoint=127), max_size=12)
NUMBERS = st.integers(min_value=1 - 2**53, max_value=2**53 - 1)
VALUES: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | NUMBERS | TEXT,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(KEYS, inner, max_size=5),
    max_leaves=20,
)


@given(VALUES)
def test_our_text_is_the_library_s_text_and_reads_back(value: Any) -> None:
    text = canonical.encode(value)
    assert text == rfc8785.dumps(value)
    assert canonical.parse(text, place="value") == value


@given(VALUES, st.sampled_from([{"indent": 1}, {"separators": (", ", ":")}, {"ensure_ascii": True}, {}]))
def test_another_spelling_is_taken_only_when_it_is_the_same_bytes(value: Any, style: dict[str, Any]) -> None:
    other = json.dumps(value, **style).encode()
    try:
        canonical.parse(other, place="value")
        taken = True
    except canonical.InputError:
        taken = False
    assert taken == (other == rfc8785.dumps(value))
