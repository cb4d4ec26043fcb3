"""Addresses that a probe asked and that stayed silent, as a map holds them: ranges in hex, `7E1-7E7`.

A log flows in, texts flow out; a text and an address flow in, whether it is in it flows out. Rule that holds here: only
who was asked alone is called silent; of who was not asked, nothing is known.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from witnessmark.mapping.peers import spell
from witnessmark.mapping.probe_log import Logged

FORM = re.compile(r"([0-9A-F]{2,8})(?:-([0-9A-F]{2,8}))?")
"""One address, or the first and the last of a range; as many digits as an address of that kind has."""
_PRESENT = "3E00"


def silent(lines: Iterable[Logged]) -> tuple[str, ...]:
    """Return the addresses that gave no answer to anything they were asked alone, in their order."""
    alone = [one for one in lines if not one.functional and not one.watch]
    answered = {(one.bits, one.target) for one in alone if one.answers}
    quiet = {(one.bits, int(one.target, 16)) for one in alone
             if one.request == _PRESENT and (one.bits, one.target) not in answered}  # fmt: skip
    return tuple(_ranges(sorted(quiet)))


def was_asked(ranges: Iterable[str], request: str) -> bool:
    """Whether an address is among them."""
    return any(_within(FORM.fullmatch(one), request) for one in ranges)


def _within(found: re.Match[str] | None, request: str) -> bool:
    if found is None or len(found[1]) != len(request):
        return False
    return int(found[1], 16) <= int(request, 16) <= int(found[2] or found[1], 16)


def _ranges(quiet: Iterable[tuple[int, int]]) -> Iterable[str]:
    run: list[tuple[int, int]] = []
    for one in quiet:
        if run and one != (run[-1][0], run[-1][1] + 1):
            yield _range(run)
            run = []
        run.append(one)
    if run:
        yield _range(run)


def _range(run: list[tuple[int, int]]) -> str:
    first, last = (spell(number, bits) for bits, number in (run[0], run[-1]))
    return first if first == last else f"{first}-{last}"
