"""Asking an interface something and checking its answer: at the start, and when an address is set.

Rules that hold here: a command is done when its answer and its prompt are there; what is received meanwhile is kept;
no answer and a wrong answer are different errors.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.errors import LinkError
from witnessmark_prompt.conversation import REAL, Conversation, Line
from witnessmark_prompt.pattern import Pattern, parse_pattern
from witnessmark_prompt.profile import Command
from witnessmark_prompt.reading import Reading, Word

MOST_NOISE = 80
"""Characters of a wrong answer that are told: enough to see what it is."""


class Ask:
    """A command made ready. Raises InputError naming `place` when its patterns are wrong."""

    def __init__(self, command: Command, place: str, fields: tuple[str, ...] = ()) -> None:
        self.within_s = command.within_ms / 1000
        self.attempts = command.attempts
        self.expected = command.answer
        self.send = parse_pattern(command.send, use="write", place=f"{place}.send", allowed=fields)
        self.answer: Pattern | None = None
        if command.answer:
            self.answer = parse_pattern(command.answer, use="read", place=f"{place}.answer", allowed=("any",))


def make_asks(commands: Sequence[Command], place: str, fields: tuple[str, ...] = ()) -> list[Ask]:
    """Make a list of commands ready. Raises InputError naming the command."""
    return [Ask(command, f"{place}[{number}]", fields) for number, command in enumerate(commands)]


def ask(talk: Conversation, reading: Reading, one: Ask, values: dict[str, int | bytes] | None = None) -> list[Line]:
    """Send a command and wait for its answer and prompt; return other lines that came meanwhile.

    Raises LinkError after the last attempt: `no_answer`, `garbled` for another answer than the one expected; `gone`.
    """
    others: list[Line] = []
    for attempt in range(1, one.attempts + 1):
        try:
            _try(talk, reading, one, one.send.write(values or {}), others)
            break
        except LinkError as error:
            if attempt == one.attempts or error.kind == "gone":
                raise
            talk.forget_prompts()
    return others


def _try(talk: Conversation, reading: Reading, one: Ask, text: str, others: list[Line]) -> None:
    talk.command(text)
    deadline_ns = REAL.mono_ns() + round(one.within_s * 1e9)
    answered, noise = False, ""
    while not (answered and not talk.awaits_prompt):
        left_s = (deadline_ns - REAL.mono_ns()) / 1e9
        if left_s <= 0 or (noise and not answered and not talk.awaits_prompt):
            raise _no_answer(text, one, answered, noise)
        for line in talk.hear(left_s):
            if line.prompt or line.missing:
                continue
            if not answered and _answers(one, reading, line):
                answered = True
            elif isinstance(seen := reading.read(line.raw), Word) and seen.means != "ignore":
                noise = (noise + " " + line.raw.decode("ascii", "replace"))[-MOST_NOISE:]
            else:
                others.append(line)
        if talk.lost is not None:
            raise talk.lost


def _answers(one: Ask, reading: Reading, line: Line) -> bool:
    try:
        text = line.raw.decode("ascii").strip(" ")
    except UnicodeDecodeError:
        return False
    if one.answer is not None:
        return one.answer.read(text) is not None
    seen = reading.read(line.raw)
    return isinstance(seen, Word) and seen.means in ("unknown", "accepted", "ignore")


def _no_answer(text: str, one: Ask, answered: bool, noise: str) -> LinkError:
    expected = f", expected {one.expected!r}" if one.expected else ""
    if noise.strip() and not answered:
        return LinkError(
            f"the interface answered {text!r} with {noise.strip()!r}{expected}",
            kind="garbled",
            hint="is it the interface of this profile, and is the speed in the profile right?",
            reached="nothing",
        )
    what = "gave no prompt after" if answered else "did not answer"
    return LinkError(
        f"the interface {what} {text!r} within {one.within_s:g} s",
        kind="no_answer",
        hint="check its supply, and speed and prompt in the profile",
        reached="nothing",
    )
