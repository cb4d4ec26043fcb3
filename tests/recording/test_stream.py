"""TCP segments put in order (RFC 9293, 3.4 and 3.10.7.4)."""

from hypothesis import given
from hypothesis import strategies as st

from witnessmark.recording import stream
from witnessmark.recording.stream import Direction


def joined(runs):
    """The runs as byte strings, a new one at each fresh run."""
    found: list[bytes] = []
    for run in runs:
        if run.fresh:
            found.append(b"")
        found[-1] += run.data
    return found


def feed(segments, start=None):
    direction = Direction()
    runs = [] if start is None else direction.open(start)
    for at, (sequence, data) in enumerate(segments):
        runs += direction.feed(sequence & 0xFFFFFFFF, data, at, at)
    return runs + direction.finish()


def test_a_segment_that_comes_too_early_waits_for_the_gap_to_be_filled():
    assert joined(feed([(0, b"ab"), (4, b"ef"), (2, b"cd"), (6, b"gh")])) == [b"abcdefgh"]


def test_a_retransmission_is_dropped_and_an_overlap_read_once():
    assert joined(feed([(0, b"abcd"), (0, b"abcd"), (2, b"cdef"), (1, b"b")])) == [b"abcdef"]


def test_sequence_numbers_wrap():
    assert joined(feed([(0xFFFFFFFE, b"abcd"), (2, b"ef")])) == [b"abcdef"]


def test_a_gap_that_is_never_filled_is_told_and_not_spliced():
    runs = feed([(0, b"ab"), (12, b"cd"), (14, b"ef")])
    assert joined(runs) == [b"ab", b"cdef"]
    assert [run.missing for run in runs] == [0, 10, 0]


def test_other_bytes_under_the_same_numbers_are_a_connection_of_their_own():
    assert joined(feed([(0, b"abcd"), (0, b"wxyz!")])) == [b"abcd", b"wxyz!"]


def test_a_syn_begins_anew_and_gives_what_waited():
    direction = Direction()
    runs = direction.open(99) + direction.feed(100, b"ab", 1, 1) + direction.feed(110, b"late", 2, 2)
    runs += direction.open(4999) + direction.feed(5000, b"new", 3, 3)
    assert [(run.data, run.fresh, run.missing) for run in runs] == [
        (b"ab", True, 0),
        (b"late", True, 8),
        (b"new", True, 0),
    ]


def test_a_stream_without_its_syn_begins_with_the_lowest_of_its_first_segments():
    assert joined(feed([(4, b"ef"), (0, b"ab"), (2, b"cd"), (6, b"gh")])) == [b"abcdefgh"]
    many = [(at * 2, b"xy") for at in range(40)]
    assert joined(feed([*many[1:3], many[0], *many[3:]])) == [b"xy" * 40]


def test_a_segment_from_far_behind_is_not_taken_for_the_beginning():
    runs = feed([(10_000_000, b"ab"), (5, b"old"), (10_000_002, b"cd")])
    assert runs[0].data == b"ab"


def test_a_segment_from_before_a_new_beginning_is_a_connection_of_its_own():
    runs = feed([(100, b"ab"), (40, b"xy")], start=99)
    assert [(run.data, run.fresh) for run in runs] == [(b"ab", True), (b"xy", True)]


def test_what_has_been_given_no_longer_counts_as_waiting(monkeypatch):
    monkeypatch.setattr(stream, "HOLD", 4)
    direction = Direction()
    runs = direction.open(-1 & 0xFFFFFFFF)
    for at in range(0, 40, 4):  # each pair comes the wrong way round
        runs += direction.feed(at + 2, b"cd", at, at) + direction.feed(at, b"ab", at, at)
    assert joined(runs) == [b"abcd" * 10] and not any(run.missing for run in runs)


def test_a_retransmission_of_what_is_forgotten_by_now_is_believed():
    content = b"".join(at.to_bytes(4, "big") for at in range(25_000))
    parts = [(at, content[at : at + 1000]) for at in range(0, len(content), 1000)]
    assert joined(feed([*parts, parts[0], (len(content), b"more")], start=-1)) == [content + b"more"]


def test_a_keep_alive_probe_is_no_part_of_the_stream():
    assert joined(feed([(0, b"abcd"), (3, b"\0"), (4, b"ef")], start=-1)) == [b"abcdef"]


def test_a_gap_is_given_up_when_too_much_waits(monkeypatch):
    monkeypatch.setattr(stream, "HOLD", 10)
    direction = Direction()
    runs = (
        direction.open(-1 & 0xFFFFFFFF)
        + direction.feed(0, b"ab", 0, 0)
        + direction.feed(5, b"cdefgh", 1, 1)
        + direction.feed(11, b"ijklmn", 2, 2)
    )
    assert joined(runs) == [b"ab", b"cdefghijklmn"]


@given(st.binary(min_size=1, max_size=300), st.data())
def test_any_order_and_any_repetition_of_segments_gives_the_stream(content, data):
    cuts = sorted(data.draw(st.sets(st.integers(1, len(content)), max_size=12)) | {len(content)})
    segments = [(start, content[start:end]) for start, end in zip([0, *cuts], cuts, strict=False) if end > start]
    again = data.draw(st.lists(st.sampled_from(segments), max_size=6))
    order = data.draw(st.permutations(segments + again))
    start = data.draw(st.integers(0, 0xFFFFFFFF))
    runs = feed([(start + 1 + at, part) for at, part in order], start=start)
    assert b"".join(run.data for run in runs) == content
    assert [run.fresh for run in runs] == [True] + [False] * (len(runs) - 1)
    assert not any(run.missing for run in runs)
