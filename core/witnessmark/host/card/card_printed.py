"""A line of a card as it is printed there: with the words that the card has before its times.

A job's state and a line flow in, the line as `entering` takes it flows out: `from 10:42:05 to 10:42:15` is
`10:42:05 10:42:15`, `pressure off at 10:40` is `off 10:40`, `filled at 10:42 with 200 mL` is `filled 10:42 200 mL`, and
`on again at 10:43` the time of the step that puts the feed on. Rule that holds here: only what is printed before a time
is taken away, and only where a time or `?` stands behind it; all else stays as it was typed, and is judged so.
"""

from __future__ import annotations

import re

from witnessmark.host.card.card_beside import DRAWN_WORD, FILLED_WORD, LEVEL_WORD, OFF_WORD, RIGHT_WORD
from witnessmark.host.card.card_line import EMPTY, first_word
from witnessmark.host.card.card_mend import MENDED_WORD
from witnessmark.job.fluid.feed import puts_on
from witnessmark.job.walk.places import places
from witnessmark.job.walk.state import JobState

_WORDS = "|".join((LEVEL_WORD, OFF_WORD, FILLED_WORD, DRAWN_WORD, RIGHT_WORD, MENDED_WORD))
_TIMED = r"(?=[\d?])"
_BESIDE = re.compile(rf"(?:pressure\s+(?=off))?({_WORDS})(?:(?<=drawn)\s+off)?(?:\s+at)?\s+{_TIMED}", re.IGNORECASE)
_WITH = re.compile(rf"({FILLED_WORD} \S+)\s+with\s+{_TIMED}")
_AGAIN = re.compile(rf"on\s+again\s+(?:at\s+)?{_TIMED}", re.IGNORECASE)


def bare(state: JobState, text: str) -> str:
    """Return a line without the words that the card prints before its times."""
    text = text.strip()
    beside = _BESIDE.match(text)
    if beside is not None:
        return _WITH.sub(r"\1 ", f"{beside[1].lower()} {text[beside.end() :]}")
    point = state.point
    if point is None:
        return text
    words: list[str] = []
    for label in places(point, state.pass_of(point.pass_id)).times:
        printed = re.match(rf"(?:{re.escape(label)}|at)\s+{_TIMED}", text, re.IGNORECASE)
        printed = printed or (_AGAIN.match(text) if puts_on(point) else None)
        word, text = first_word(text[printed.end() :] if printed else text)
        words.append(word)
        if not word[:1].isdigit() and word != EMPTY:
            break
    return " ".join((*words, text)).strip()
