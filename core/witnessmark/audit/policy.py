"""Tolerances of the shop, where a procedure gives none.

A policy sets tolerances and never switches a question off, nor stretches one until nothing can fail it. The values here
hold where nothing is set: they are this project's choice, no source, and a finding that rests on one says so.
"""

from __future__ import annotations

import msgspec

from witnessmark.document import lines
from witnessmark.document.mistake import Mistake, refuse
from witnessmark.document.shape import fit
from witnessmark.document.toml import read_toml


class Policy(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Each in whole seconds but `burst`, a number of entries.

    `lag_s`: how long after it happened an entry may be made and still count as live. `burst` entries by hand within
    `burst_s` were not made as the work was done. `move_s`: no one gets from one nipple to the next faster.
    """

    lag_s: int = 60
    burst: int = 4
    burst_s: int = 3
    move_s: int = 3


DEFAULT = Policy()
BOUNDS = {"lag_s": (1, 3600), "burst": (2, 20), "burst_s": (1, 60), "move_s": (1, 120)}
"""Between what a tolerance may lie, so that its question can still give each answer: this project's choice."""


def read(text: str, *, file: str = "policy") -> Policy:
    """Read a policy from TOML text. Raises InputError (Mistakes) naming file, line and key of everything wrong."""
    document = read_toml(text, file)
    fitted, mistakes = fit(document, Policy)
    policy = msgspec.convert(fitted, Policy)
    for name, (least, most) in BOUNDS.items():
        if not least <= getattr(policy, name) <= most and (name,) not in [one.path for one in mistakes]:
            what = f"this is not from {least} to {most}"
            mistakes.append(Mistake((name,), what, "a tolerance is set, never switched off"))
    found = lines.lines(text)
    refuse(file, mistakes, lambda path: lines.line_of(path, found))
    return policy
