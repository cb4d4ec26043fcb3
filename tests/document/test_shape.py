"""What fits a struct and what does not: limits, numbers to choose from, and lists that may not be empty."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
import pytest

from witnessmark.document.mistake import path_of, spell
from witnessmark.document.shape import fit


class Port(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    baud: Annotated[int, msgspec.Meta(ge=50, le=100)] = 60
    bits: Literal[5, 6] = 6
    gap: Annotated[int, msgspec.Meta(ge=1)] | None = None
    mark: Annotated[str, msgspec.Meta(min_length=1, max_length=3)] = ">"
    lines: Annotated[tuple[str, ...], msgspec.Meta(min_length=1)] = ("x",)


class Needs(msgspec.Struct, frozen=True):
    mark: Annotated[str, msgspec.Meta(min_length=2)]
    baud: Annotated[int, msgspec.Meta(ge=50)]
    lines: Annotated[tuple[str, ...], msgspec.Meta(min_length=1)]


@pytest.mark.parametrize(
    ("key", "value", "what", "hint"),
    [
        ("baud", 49, "49 does not fit here", "expected a whole number from 50 to 100"),
        ("baud", 101, "101 does not fit here", "expected a whole number from 50 to 100"),
        ("baud", True, "true does not fit here", "expected a whole number from 50 to 100"),
        ("bits", 7, "7 does not fit here", "use one of: 5, 6"),
        ("bits", "5", "'5' does not fit here", "use one of: 5, 6"),
        ("gap", 0, "0 does not fit here", "expected a whole number of at least 1"),
        ("mark", "", "'' does not fit here", "expected text in quotes, its length from 1 to 3"),
        ("mark", "long", "'long' does not fit here", "expected text in quotes, its length from 1 to 3"),
        ("lines", [], "an empty list does not fit here", "expected a list of 1 or more"),
    ],
)
def test_what_is_out_of_its_limits_is_told_with_them(key: str, value: object, what: str, hint: str) -> None:
    fitted, (mistake,) = fit({key: value}, Port)
    assert (mistake.path, mistake.what, mistake.hint) == ((key,), what, hint)
    assert msgspec.convert(fitted, Port) == Port()


def test_what_is_within_its_limits_is_taken() -> None:
    document = {"baud": 100, "bits": 5, "gap": 1, "mark": "abc", "lines": ["a"]}
    fitted, mistakes = fit(document, Port)
    assert mistakes == [] and msgspec.convert(fitted, Port) == Port(100, 5, 1, "abc", ("a",))


def test_what_stands_in_for_what_is_missing_keeps_the_limits_so_that_no_mistake_hides_another() -> None:
    fitted, mistakes = fit({}, Needs)
    assert [one.path for one in mistakes] == [("mark",), ("baud",), ("lines",)]
    msgspec.convert(fitted, Needs)


@pytest.mark.parametrize("path", [("a",), ("a", "b-c"), ("a", 0), ("a", 12, "b", 3)])
def test_a_path_is_read_back_as_it_is_spelt(path: tuple[str | int, ...]) -> None:
    assert path_of(spell(path)) == path
