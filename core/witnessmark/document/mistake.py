"""One mistake in a document, and the error that lists all of them."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from witnessmark.errors import InputError

Path = tuple[str | int, ...]
"""Where in the document: keys and indices from 0, like `("passes", 1, "seconds")`."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """What is wrong at `path`, and in `hint` what was expected. `meant` is the place that a misspelt key was for."""

    path: Path
    what: str
    hint: str
    meant: Path = ()


def spell(path: Path) -> str:
    """Return a path as a user reads it: `passes[1].seconds`; names that a bare key cannot spell are quoted."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            text += ("." if text else "") + (part if re.fullmatch(r"[A-Za-z0-9_-]+", part) else f'"{part}"')
    return text


def path_of(spelt: str) -> Path:
    """Return the path that `spell` writes so, for bare keys."""
    parts = re.findall(r"\[(\d+)\]|([^.\[\]]+)", spelt)
    return tuple(int(index) if index else name for index, name in parts)


class Mistakes(InputError):
    """A document has one mistake or more; `mistakes` holds them all with the line of each (0 where there is none)."""

    def __init__(self, file: str, mistakes: Sequence[tuple[int, Mistake]]) -> None:
        self.mistakes = tuple(mistakes)
        line, first = self.mistakes[0]
        if len(self.mistakes) == 1:
            super().__init__(first.what, place=_place(file, line, first), hint=first.hint)
            return
        listed = "\n".join(f"  {_place('', line, one)}: {one.what} ({one.hint})" for line, one in self.mistakes)
        super().__init__(f"{len(self.mistakes)} mistakes:\n{listed}", place=file, hint="correct each and check again")


def refuse(file: str, mistakes: Sequence[Mistake], line_of: Callable[[Path], int]) -> None:
    """Raise Mistakes, in the order of the file, unless `mistakes` is empty."""
    if mistakes:
        placed = [(line_of(one.path), one) for one in mistakes]
        raise Mistakes(file, sorted(placed, key=lambda pair: pair[0]))


def _place(file: str, line: int, mistake: Mistake) -> str:
    where = [part for part in (file, f"line {line}" if line else "") if part]
    at = spell(mistake.path)
    return ", ".join(part for part in (" ".join(where), at) if part) or "document"
