"""Two texts that say nearly the same are told by what differs, and by all of it."""

from __future__ import annotations

import pytest

from witnessmark.audit.differing import MOST, differing


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        (
            "at rest 87.7 s after its start",
            "at rest 4 min 02.0 s after its start",
            '"4 min 02.0 s" in place of "87.7 s"',
        ),
        ("at rear right; then yes", "at front left, outer; then yes", '"front left, outer" in place of "rear right"'),
        ("until entry 7, when told", "until entry 9, when told", '"entry 9" in place of "entry 7"'),
        ("p1 and p2: no entry", "p2: no entry", 'without "p1 and"'),
        ("p2: no entry", "p1 and p2: no entry", '"p1 and" besides'),
        (
            "1 mL ran, and then far later 2 mL ran too",
            "3 mL ran, and then far later 4 mL ran too",
            '"3 mL" in place of "1 mL" and "4 mL" in place of "2 mL"',
        ),
        ("closed at entry 9; it ran", "closed at entry 9, it ran", ""),
        ("closed at entry 9; it ran 2 s", "closed at entry 9, it ran 3 s", '"3 s" in place of "2 s"'),
        ("it ran for 20 s", "it ran for 20 s; p3 not bled", '"p3 not bled" besides'),
        ("it ran for 20 s; p3 not bled.", "it ran for 20 s", 'without "p3 not bled"'),
        ("read at entry 3, then closed", "read at entry 3 and 4, then closed", '"and 4" besides'),
        ("it held", "nothing of this is the same", ""),
    ],
)
def test_what_differs_is_named(first: str, second: str, said: str) -> None:
    assert differing(first, second) == said


def test_where_too_much_differs_nothing_is_named() -> None:
    def at_each(word: str, count: int) -> str:
        return " and then it was so that ".join(f"{word}{place}" for place in range(count))

    assert differing(at_each("a", MOST), at_each("b", MOST)).count("in place of") == MOST
    assert differing(at_each("a", MOST + 1), at_each("b", MOST + 1)) == ""
