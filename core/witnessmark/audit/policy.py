"""Tolerances of the shop, where a procedure gives none.

A policy sets tolerances and never switches a question off, nor stretches one until nothing can fail it. The values here
hold where nothing is set: they are this project's choice, no source, and a finding that rests on one says so. Whatever
prints findings says by whose policy they are (`said`): the same evidence is answered otherwise by another's.
"""

from __future__ import annotations

import re
from hashlib import sha256

import msgspec

from witnessmark.document import lines
from witnessmark.document.mistake import Mistake, refuse
from witnessmark.document.shape import fit
from witnessmark.document.toml import read_toml


class Tolerances(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a policy may set: each in whole seconds but `burst`, a number of entries (see `MEANS`)."""

    lag_s: int = 60
    burst: int = 4
    burst_s: int = 3
    move_s: int = 3


class Policy(Tolerances, frozen=True):
    """Tolerances, and the SHA-256 of the file that sets them, in hex; empty where there is none."""

    digest: str = ""

    @property
    def set_to(self) -> dict[str, tuple[int, int]]:
        """Each tolerance that is not the standing one, and that one."""
        both = {name: (getattr(self, name), getattr(DEFAULT, name)) for name in BOUNDS}
        return {name: pair for name, pair in both.items() if pair[0] != pair[1]}

    @property
    def said(self) -> str:
        """Return in one line by whose policy it is, and which values differ from the standing ones."""
        if not self.digest:
            return NO_POLICY
        return f"{OF_A_SHOP}{self.digest[:SHOWN]}: {self.changes or NO_CHANGE}"

    @property
    def changes(self) -> str:
        """Say which values differ from the standing ones, empty where none does."""
        return ", ".join(f"{name} {value} instead of {standing}" for name, (value, standing) in self.set_to.items())


NO_POLICY, NO_CHANGE = "those of the questions, no policy of a shop", "every tolerance as without one"
OF_A_SHOP = "policy of the shop that made this, SHA-256 "
SHOWN = 16
"""So many digits of its digest a line has."""
DEFAULT = Policy()
BOUNDS = {"lag_s": (1, 3600), "burst": (2, 20), "burst_s": (1, 60), "move_s": (1, 120)}
"""Between what a tolerance may lie, so that its question can still give each answer: this project's choice."""


BY_POLICY = (28, 31)
"""The questions that rest on a tolerance of a shop's policy."""


def policy_said(said: str) -> Policy | None:
    """Return the tolerances, without a digest, out of what a policy `said`, None where that does not say them."""
    whose, _, changes = said.partition(": ")
    if said == NO_POLICY or (whose.startswith(OF_A_SHOP) and changes == NO_CHANGE):
        return DEFAULT
    found = [_CHANGE.fullmatch(one) for one in changes.split(", ")] if whose.startswith(OF_A_SHOP) else [None]
    values = {str(one["name"]): int(one["value"]) for one in found if one is not None}
    within = (low <= values[name] <= high for name, (low, high) in BOUNDS.items() if name in values)
    known = len(values) == len(found) and values.keys() <= BOUNDS.keys() and all(within)
    return msgspec.convert(values, Policy) if known else None


_CHANGE = re.compile(r"(?P<name>[a-z_]+) (?P<value>[0-9]{1,4}) instead of [0-9]{1,4}")
"""One of the `changes` of a policy."""


MEANS = {
    "lag_s": "how long after it happened an entry may be made and still count as live",
    "burst": "how many entries by hand within `burst_s` were not made as the work was done",
    "burst_s": "within what time so many entries are a burst",
    "move_s": "how long it takes at least from one nipple to the next",
}
"""What each tolerance sets."""


def read(text: str, *, file: str = "policy") -> Policy:
    """Read a policy from TOML text. Raises InputError (Mistakes) naming file, line and key of everything wrong."""
    document = read_toml(text, file)
    fitted, mistakes = fit(document, Tolerances)
    policy = msgspec.convert({**fitted, "digest": sha256(text.encode()).hexdigest()}, Policy)
    for name, (least, most) in BOUNDS.items():
        if not least <= getattr(policy, name) <= most and (name,) not in [one.path for one in mistakes]:
            what = f"this is not from {least} to {most}"
            mistakes.append(Mistake((name,), what, "a tolerance is set, never switched off"))
    found = lines.lines(text)
    refuse(file, mistakes, lambda path: lines.line_of(path, found))
    return policy
