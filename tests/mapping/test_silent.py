"""Which addresses a probe asked alone and found silent, and whether one of them is among these."""

from __future__ import annotations

import pytest

from witnessmark.mapping.probe_log import Logged, LoggedAnswer
from witnessmark.mapping.silent import silent, was_asked
from witnessmark.recording.line import Width

SAID = (LoggedAnswer(source="6BB", payload="7E00", first_ns="2", last_ns="3"),)


def asked(target: str, bits: Width = 11, *, answers: bool = False, request: str = "3E00", **more: bool) -> Logged:
    said = SAID if answers else ()
    return Logged(target=target, bits=bits, request=request, asked_ns="1", answers=said, **more)  # type: ignore[arg-type]


def test_they_are_told_in_ranges_and_only_where_they_were_asked_alone() -> None:
    lines = [
        asked("7DF", functional=True),
        asked("7E2"),
        asked("7E0"),
        asked("7E1"),
        asked("6B3", answers=True),
        asked("7E5"),
        asked("7E9", watch=True),
        asked("18DA10F1", 29),
        asked("10", 8),
        asked("11", 8),
    ]
    assert silent(lines) == ("10-11", "7E0-7E2", "7E5", "18DA10F1")


def test_who_answered_anything_is_not_silent() -> None:
    lines = [asked("7E0"), asked("7E0", request="22F190", answers=True), asked("7E1"), asked("7E1", request="22F190")]
    assert silent(lines) == ("7E1",)


@pytest.mark.parametrize(
    ("request_", "within"),
    [("7E1", True), ("7E3", True), ("7E4", False), ("7E9", True), ("000007E1", False), ("12", True), ("", False)],
)
def test_an_address_is_among_them_where_it_has_as_many_digits(request_: str, within: bool) -> None:
    assert was_asked(("7E0-7E3", "7E9", "10-1F"), request_) is within
