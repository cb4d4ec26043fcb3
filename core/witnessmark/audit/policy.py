"""Tolerances of the shop, where a procedure gives none.

A policy sets tolerances and never switches a question off. The values here hold where nothing is set: they are this
project's choice, no source, and a finding that rests on one says so.
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


def read(text: str, *, file: str = "policy") -> Policy:
    """Read a policy from TOML text. Raises InputError (Mistakes) naming file, line and key of everything wrong."""
    document = read_toml(text, file)
    fitted, mistakes = fit(document, Policy)
    policy = msgspec.convert(fitted, Policy)
    for name in policy.__struct_fields__:
        if getattr(policy, name) < 1 and (name,) not in [one.path for one in mistakes]:
            mistakes.append(Mistake((name,), "this is not above 0", "a tolerance is set, never switched off"))
    found = lines.lines(text)
    refuse(file, mistakes, lambda path: lines.line_of(path, found))
    return policy
