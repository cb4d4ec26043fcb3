"""An address prints back as it was read, and a wrong one says what was expected."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError
from witnessmark.link.address import Address, parse

EXAMPLES = [
    "practice:yard",
    "prompt:/dev/ttyUSB0?profile=bay2.toml",
    "kline:/dev/ttyUSB1?init=fast",
    "canbus:socketcan/can0",
    "passthru:/opt/vci/libvci.so",
    "doip:192.0.2.10",
    "replay:clean.log",
    "prompt:socket://127.0.0.1:4000?profile=bay2.toml&speed=2",
]


@pytest.mark.parametrize("text", EXAMPLES)
def test_an_address_prints_back_as_it_was_read(text: str) -> None:
    assert str(parse(text)) == text


PLACES = st.text(st.characters(exclude_characters="?", exclude_categories=("Cs",)), max_size=20)
OPTIONS = st.dictionaries(
    st.text(st.characters(exclude_categories=("Cs",)), min_size=1),
    st.text(st.characters(exclude_categories=("Cs",))),
    max_size=3,
)


@given(PLACES, OPTIONS)
def test_any_address_survives_the_round_trip(place: str, options: dict[str, str]) -> None:
    address = Address("prompt", place, options)
    assert parse(str(address)) == address


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "no scheme"),
        ("/dev/ttyUSB0", "no scheme"),
        ("Prompt:/dev/ttyUSB0", "no scheme"),
        ("prompt:/dev/ttyUSB0?profile", "not key=value"),
        ("prompt:/dev/ttyUSB0?=x", "not key=value"),
        ("prompt:x?a=1&a=2", "stands twice"),
    ],
)
def test_a_wrong_address_says_what_was_expected(text: str, what: str) -> None:
    with pytest.raises(InputError, match=what) as caught:
        parse(text)
    assert repr(text) in str(caught.value) and caught.value.hint


def test_an_option_that_is_missing_or_unknown_is_named() -> None:
    address = parse("prompt:x?profil=a")
    with pytest.raises(InputError, match="option 'profile' is missing"):
        address.option("profile")
    with pytest.raises(InputError, match="option 'profil' is not known") as caught:
        address.check_options("profile", "speed")
    assert "profile, speed" in caught.value.hint
    assert address.option("speed", "115200") == "115200"
