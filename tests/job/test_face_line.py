from __future__ import annotations

import itertools
import json
import socket

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.job.face_line import LONGEST_LINE, MOST_WAITING, STOP, FaceLine, Lines

COMMANDS = [{"do": "key", "view": "1-1", "key": "y"}, {"do": "say", "what": "note", "said": "häkt\x18 ok"}]
TEXT = b"".join(json.dumps(one).encode() + b"\n" for one in COMMANDS)


def test_json_text_never_holds_the_stop_byte() -> None:
    assert STOP not in TEXT and "\\u0018" in TEXT.decode()


@given(cuts=st.lists(st.integers(0, len(TEXT)), max_size=5), stop_at=st.integers(0, len(TEXT)))
def test_commands_and_stop_come_out_however_the_bytes_are_cut(cuts: list[int], stop_at: int) -> None:
    data = TEXT[:stop_at] + STOP + TEXT[stop_at:]
    edges = [0, *sorted(cuts), len(data)]
    lines = Lines()
    heard = [lines.take(data[a:b]) for a, b in itertools.pairwise(edges)]
    assert [one for part in heard for one in part.commands] == COMMANDS
    assert sum(part.stop for part in heard) == 1 and not any(part.garbled for part in heard)


@pytest.mark.parametrize("line", [b"[]", b"1", b"nul", b"{", b"\xff", b'{"a":1}{}'])
def test_a_line_that_is_no_object_is_counted_and_the_next_is_read(line: bytes) -> None:
    heard = Lines().take(line + b"\n" + TEXT)
    assert (heard.garbled, list(heard.commands)) == (1, COMMANDS)


def test_a_line_without_an_end_does_not_grow_for_ever() -> None:
    lines = Lines()
    assert lines.take(b"x" * (LONGEST_LINE + 1)).garbled == 1
    assert len(lines.partial) == LONGEST_LINE


def test_a_face_that_reads_nothing_delays_nobody_and_a_gone_one_is_seen() -> None:
    ours, theirs = socket.socketpair()
    line = FaceLine(ours)
    for _ in range(MOST_WAITING // 50):
        line.tell({"said": "x" * 100})
    assert line.wants_to_write
    theirs.close()
    assert line.read().gone and line.gone
    line.flush()
    assert not line.wants_to_write
    line.tell({"said": "nobody hears this"})
    line.close()
