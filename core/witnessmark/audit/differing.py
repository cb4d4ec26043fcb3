"""What differs between two texts that say nearly the same, in words.

Two texts flow in, what stands in the second in place of what in the first flows out. Rule that holds here: what is
named is all that differs, word by word, whatever mark ends a word; what was added or left out is named as such; where
that is too much to be told apart, or is marks alone, nothing is named and both are to be told.
"""

from __future__ import annotations

from collections.abc import Sequence
from difflib import SequenceMatcher

from witnessmark.audit.say import listing

MOST = 4
"""At so many places two texts may differ and still be told by what differs."""
APART = 2
"""So many words between two differences stand for a text of their own: with fewer both are one."""
MARKS = ".,;:"
"""What may end a word and is none of it."""
SHARE = 0.5
"""Two texts of which less is the same are told each by itself."""

Place = tuple[int, int, int, int]
"""From and to which word something differs, in the first text and in the second."""


def differing(first: str, second: str) -> str:
    """Return `"4.0 s" in place of "3.0 s"` for each place at which two texts differ; empty where that is too much."""
    old, new = first.split(" "), second.split(" ")
    was, now = ([one.rstrip(MARKS) for one in words] for words in (old, new))
    matcher = SequenceMatcher(None, was, now, autojunk=False)
    places: list[Place] = []
    for how, a, b, c, d in matcher.get_opcodes():
        if how == "equal":
            continue
        if places and a - places[-1][1] < APART:
            places[-1] = (places[-1][0], b, places[-1][2], d)
        else:
            places.append((a, b, c, d))
    if len(places) > MOST or matcher.ratio() < SHARE:
        return ""
    return listing(_place(old, new, _whole(old, new, place)) for place in places)


def _whole(old: Sequence[str], new: Sequence[str], place: Place) -> Place:
    """Return a place with the word after it, where a number stands last in it: its unit; and with `entry` before it.

    What was only added or left out stays as it is.
    """
    a, b, c, d = place
    if a == b or c == d:
        return place
    ends = [words[end - 1][-1:] for words, start, end in ((old, a, b), (new, c, d)) if end > start]
    unit = b < len(old) and d < len(new) and any(one.isdigit() for one in ends)
    of_entry = a > 0 and old[a - 1] in ("entry", "entries")
    return a - of_entry, b + unit, c - of_entry, d + unit


def _place(old: Sequence[str], new: Sequence[str], place: Place) -> str:
    a, b, c, d = place
    was, now = (" ".join(words).rstrip(MARKS) for words in (old[a:b], new[c:d]))
    if not was or not now:
        return f'"{now}" besides' if now else f'without "{was}"'
    return f'"{now}" in place of "{was}"'
