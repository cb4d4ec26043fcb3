"""Characters become lines and prompts, however they were cut."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from witnessmark_prompt.lines import LineReader


def cut(characters: bytes, prompt: str = "next? ", longest: int = 40) -> list[bytes | None]:
    return LineReader(prompt, "\n", longest).feed(characters)


def test_lines_and_prompts_come_in_order() -> None:
    assert cut(b"teller one\nnext? got 1\r\nnext? ") == [b"teller one", None, b"got 1", None]


def test_empty_lines_are_nothing_and_a_prompt_after_them_counts() -> None:
    assert cut(b"\r\n\r\nnext? \n\nx\n") == [None, b"x"]


def test_half_a_line_waits() -> None:
    reader = LineReader("next? ", "\n", 40)
    assert reader.feed(b"got 6B") == []
    assert reader.rest == b"got 6B"
    assert reader.feed(b"B\nne") == [b"got 6BB"]
    assert reader.feed(b"xt? ") == [None]


def test_a_prompt_in_the_middle_of_a_line_parts_what_ran_together() -> None:
    assert cut(b"\xf8garbagenext? got 6BB\n") == [b"\xf8garbage", None, b"got 6BB"]


def test_endless_garbage_comes_out_in_pieces() -> None:
    assert cut(b"x" * 100) == [b"x" * 40, b"x" * 40]


@given(st.lists(st.sampled_from([b"next? ", b"\n", b"\r\n", b"got 6BB 1:00", b"x" * 45, b"\xff", b"nex"]), max_size=12))
def test_the_cuts_between_chunks_change_nothing(pieces: list[bytes]) -> None:
    whole = b"".join(pieces)
    reader = LineReader("next? ", "\n", 40)
    one_by_one = [item for at in range(len(whole)) for item in reader.feed(whole[at : at + 1])]
    assert one_by_one == cut(whole)
