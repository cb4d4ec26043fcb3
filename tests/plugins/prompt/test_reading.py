"""What lines mean by a profile, and what is never repaired."""

from __future__ import annotations

import pytest
from tests.plugins.prompt.teller import PROFILE

from witnessmark_prompt.loading import parse_profile
from witnessmark_prompt.reading import Data, Reading, Word


@pytest.fixture(scope="module")
def reading() -> Reading:
    return Reading(parse_profile(PROFILE, "bay2.toml"), "bay2.toml")


def test_a_line_of_data_is_read(reading: Reading) -> None:
    assert reading.read(b"got 6BB 3:017E00 *7F") == Data(0x6BB, False, b"\x01\x7e\x00", None)
    assert reading.read(b"got 18DAF110 1:55 *55") == Data(0x18DAF110, True, b"\x55", None)
    assert reading.read(b"got 6BB 0: *00") == Data(0x6BB, False, b"", None)


@pytest.mark.parametrize(
    "line",
    [b"got 6BB 2:017E00 *7F", b"got 6BB 3:017E00 *7E", b"got 6BB 1:017 *7F", b"got 6B\xff 1:55 *55"],
)
def test_a_line_that_does_not_fit_itself_is_garbled_and_never_data(reading: Reading, line: bytes) -> None:
    seen = reading.read(line)
    assert isinstance(seen, Word)
    assert seen.means == "garbled"


@pytest.mark.parametrize(
    ("line", "means"),
    [
        (b"not now", "busy"),
        (b"nobody there", "no_answer"),
        (b"line dead", "bus_off"),
        (b"good morning", "ignore"),
        (b"said", "accepted"),
        (b"what is that", "unknown"),
    ],
)
def test_words_have_their_meaning(reading: Reading, line: bytes, means: str) -> None:
    seen = reading.read(line)
    assert isinstance(seen, Word)
    assert seen.means == means


def test_a_command_is_written_with_length_and_sum(reading: Reading) -> None:
    assert reading.write(0x6B3, False, b"\x02\x3e\x00") == "say 6B3 3:023E00 *3C"
    assert reading.write(0x18DA10F1, True, b"") == "say 18DA10F1 0: *00"
