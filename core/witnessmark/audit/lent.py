"""The case as another distribution's question gets it: a copy, so that nothing it does changes what others read.

A case flows in, a copy flows out, and whether it is still what it was. Rules that hold here: each question gets a copy
of its own; of how the record was checked it gets the answer alone; the questions shipped here read the case itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from msgspec import structs

from witnessmark.audit.case import Case, open_case

COMPARED = ("entries", "read", "opened", "procedure", "plan", "timeline", "policy")


@dataclass(frozen=True, slots=True)
class Checked:
    """How the check of the evidence came out."""

    verdict: str
    text: str


def lend(case: Case) -> Case:
    """Return a copy of the case that shares nothing with it that can be changed."""
    entries = [structs.replace(one, body=_copied(one.body)) for one in case.entries]
    found = case.integrity
    return open_case(entries, found and Checked(found.verdict, found.text), case.policy)


def is_changed(given: Case, case: Case) -> bool:
    """Say whether what was lent is not as it was."""
    return any(getattr(given, name) != getattr(case, name) for name in COMPARED)


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _copied(one) for name, one in value.items()}
    return [_copied(one) for one in value] if isinstance(value, list) else value
