"""Vehicle identification numbers: what may stand in one, and whether the check digit fits.

A number as typed, scanned or read flows in, a verdict flows out. A wrong length or a letter that no number holds is
refused; a check digit that does not fit is a warning and never a refusal, because outside North America nobody has to
keep to it. Source: 49 CFR 565.15; ISO 3779 for the letters left out (from memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from witnessmark.errors import InputError

LENGTH = 17
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_VALUES = dict(zip("0123456789", range(10), strict=True)) | dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", (*range(1, 9), *range(1, 6), 7, 9, *range(2, 10)), strict=True)
)
_NORTH_AMERICA = re.compile("[1-5]|7[^A-E]")
"""How numbers of the region begin that must carry the digit: ISO 3780, from memory; 7A to 7E are Oceania's."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """A number that can be one. `warning` is empty or one sentence for people; `digit_fits` is the plain fact."""

    vin: str
    expected_digit: str
    digit_fits: bool
    warning: str


def normalise(text: str) -> str:
    """Give the number in capitals without surrounding blanks; raise InputError where it cannot be one."""
    vin = text.strip().upper()
    if len(vin) != LENGTH:
        raise InputError(
            f"A vehicle identification number has {LENGTH} characters, this has {len(vin)}.",
            place="VIN",
            hint="read it again from the vehicle, character by character",
        )
    for place, letter in enumerate(vin, start=1):
        if letter not in _VALUES:
            raise InputError(
                f"Character {place} is {letter!r}, which no vehicle identification number holds.",
                place="VIN",
                hint="I, O and Q are never used: look for 1 and 0; no blanks or dashes inside",
            )
    return vin


def check_digit(vin: str) -> str:
    """Compute the ninth character from the other sixteen: a digit, or X for ten. Raises InputError as `normalise`."""
    total = sum(_VALUES[letter] * weight for letter, weight in zip(normalise(vin), _WEIGHTS, strict=True))
    return "0123456789X"[total % 11]


def check(text: str) -> Verdict:
    """Judge a number. Raises InputError where it cannot be one; a check digit that does not fit only warns."""
    vin = normalise(text)
    expected = check_digit(vin)
    fits = vin[8] == expected
    warning = ""
    if not fits:
        whose = (
            "North American numbers carry one: read it again"
            if _NORTH_AMERICA.match(vin)
            else "outside North America it need not fit"
        )
        warning = f"Check digit is {vin[8]}, computed {expected}; {whose}."
    return Verdict(vin, expected, fits, warning)
