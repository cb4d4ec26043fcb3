"""The canonical text: one spelling, and a reader that takes no other."""

from __future__ import annotations

import pytest

from witnessmark.errors import InputError
from witnessmark.journal import canonical


def test_keys_are_sorted_and_nothing_is_padded() -> None:
    assert canonical.encode({"b": 1, "a": [True, None, "x"]}) == b'{"a":[true,null,"x"],"b":1}'


def test_bytes_become_lower_case_hex_and_tuples_lists() -> None:
    assert canonical.encode({"raw": b"\x00\xab", "pair": (1, 2)}) == b'{"pair":[1,2],"raw":"00ab"}'


@pytest.mark.parametrize(
    ("value", "place"),
    [
        (1.0, "value"),
        ({"a": [0, 2.5]}, "value.a[1]"),
        ({"a": 2**53}, "value.a"),
        ({"a": -(2**53)}, "value.a"),
        ({"\u00e9": 1}, "value"),
        ({1: 1}, "value"),
        ({"a": "\ud800"}, "value.a"),
        ({"a": {1, 2}}, "value.a"),
    ],
)
def test_a_value_outside_the_domain_is_refused_with_its_place(value: object, place: str) -> None:
    with pytest.raises(InputError) as caught:
        canonical.encode(value)
    assert caught.value.place == place


def test_the_widest_integers_pass() -> None:
    assert canonical.parse(canonical.encode([2**53 - 1, 1 - 2**53]), place="x") == [2**53 - 1, 1 - 2**53]


def test_nesting_ends_at_the_stated_depth() -> None:
    deep: list[object] = []
    for _ in range(canonical.MAX_DEPTH - 1):
        deep = [deep]
    assert canonical.parse(canonical.encode(deep), place="x") == deep
    with pytest.raises(InputError, match="nested"):
        canonical.encode([deep])
    with pytest.raises(InputError, match="nested"):
        canonical.parse(b"[" * 65 + b"]" * 65, place="x")


@pytest.mark.parametrize(
    "text",
    [
        b'{"a":1,"a":2}',
        b'{"a":1,"a":1}',
        b'{"b":1,"a":2}',
        b'{"a": 1}',
        b' {"a":1}',
        b'{"a":1}\n',
        b'{"a":"\\u0041"}',
        b'{"a":"\\/"}',
        b'{"a":"\\u000A"}',
        b'{"a":"\\u001F"}',
        b'{"a":-0}',
        b'{"a":01}',
        b'{"a":1.0}',
        b'{"a":1e3}',
        b'{"a":NaN}',
        b'{"a":9007199254740992}',
        b'{"a":-9007199254740992}',
        b'{"a":123456789012345678901234567890}',
        b'{"\xc3\xa9":1}',
        b'{"a":"\\ud800"}',
        b'{"a":"\xed\xa0\x80"}',
        b'{"a":"\xff"}',
        b'{"a":"\x01"}',
        b'{"a":1',
        b'{"a":1}x',
        b'\xef\xbb\xbf{"a":1}',
        b"",
        b"[" * 100_000,
    ],
)
def test_any_other_spelling_is_refused(text: bytes) -> None:
    with pytest.raises(InputError) as caught:
        canonical.parse(text, place="here")
    assert caught.value.place.startswith("here")


def test_a_key_that_is_there_twice_is_named() -> None:
    with pytest.raises(InputError, match="'seq' is there twice"):
        canonical.parse(b'{"seq":1,"seq":2}', place="here")


def test_long_digits_inside_a_text_are_only_text() -> None:
    text = b'{"a":":12345678901234567890"}'
    assert canonical.parse(text, place="x") == {"a": ":12345678901234567890"}


@pytest.mark.parametrize(
    "bad", ['{"a": 1}', '{"a":1}\n', '\n{"a":1}', '{"a":1}\n{"a":1}', "", "\n", '{"a":1,"a":1}', "1.5"]
)
def test_many_read_at_once_are_refused_when_one_is_spelled_otherwise(bad: str) -> None:
    read, good = canonical.reader_of_many(object), b'{"a":"x\\ny"}'
    assert read([good, good]) == [{"a": "x\ny"}] * 2
    assert read([]) == []
    for texts in ([bad.encode(), good], [good, bad.encode()], [bad.encode()]):
        assert read(texts) is None
