"""Vehicle identification numbers judged."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError
from witnessmark.wire import vin

GOOD = "1M8GDM9AXKP042788"  # 49 CFR 565.15, as secondary pages quote it: sum 351, digit X


def test_blanks_and_small_letters_are_put_right():
    assert vin.check(f" {GOOD.lower()}\n").vin == GOOD


@pytest.mark.parametrize("length", [0, 1, 16, 18])
def test_a_wrong_length_is_refused_with_the_length(length):
    with pytest.raises(InputError) as caught:
        vin.check(("1" * 20)[:length])
    assert str(length) in caught.value.what
    assert caught.value.place == "VIN"


@pytest.mark.parametrize("letter", ["I", "O", "Q", "-", " ", "É"])
def test_a_letter_that_no_number_holds_is_refused_with_its_place(letter):
    with pytest.raises(InputError) as caught:
        vin.check(GOOD[:4] + letter + GOOD[5:])
    assert "Character 5" in caught.value.what


@pytest.mark.parametrize(
    ("first", "words"),
    [
        ("1", "read it again"),
        ("5", "read it again"),
        ("7F", "read it again"),
        ("7A", "need not"),
        ("W", "need not fit"),
    ],
)
def test_a_digit_that_does_not_fit_warns_and_never_refuses(first, words):
    # From memory: outside North America the digit is not mandatory; ISO 3780 gives 1 to 5 and part of 7 to it.
    number = first + GOOD[len(first) :]
    wrong = number[:8] + ("0" if vin.check_digit(number) != "0" else "1") + number[9:]
    verdict = vin.check(wrong)
    assert not verdict.digit_fits
    assert words in verdict.warning


@given(st.integers(0, 16), st.sampled_from("0123456789ABCDEFGHJKLMNPRSTUVWXYZ"))
def test_one_wrong_character_is_noticed_unless_it_has_the_same_value(place, letter):
    values = {GOOD[place], letter}
    changed = GOOD[:place] + letter + GOOD[place + 1 :]
    digits = {vin.check_digit(GOOD), vin.check_digit(changed)}
    if place != 8 and len(values) == 2:
        # 49 CFR 565.15: weights 1 to 10 have inverses modulo 11, so a changed value always changes the remainder.
        same_value = vin._VALUES[GOOD[place]] % 11 == vin._VALUES[letter] % 11
        assert (len(digits) == 1) == same_value


@given(st.text(max_size=24))
def test_any_text_gives_a_verdict_or_an_input_error(text):
    try:
        verdict = vin.check(text)
    except InputError as error:
        assert error.hint
        return
    assert len(verdict.vin) == vin.LENGTH
