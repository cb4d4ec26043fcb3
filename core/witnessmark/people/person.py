"""A person as entries name them: an id and a role. Names live elsewhere, so that they can be erased.

Rule that holds here: what only a lead may do is refused to everybody else, in one place.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from witnessmark.errors import InputError, LocalError

Role = Literal["technician", "lead"]
ROLES: tuple[Role, ...] = ("technician", "lead")

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")


@dataclass(frozen=True, slots=True)
class Person:
    """`id` is letters, digits, dot, dash and underscore. Raises InputError for anything else."""

    id: str
    role: Role = "technician"

    def __post_init__(self) -> None:
        if not _ID.fullmatch(self.id):
            raise InputError(
                f"{self.id!r} is no person's id", place="person", hint="use letters, digits, dot, dash, underscore"
            )
        if self.role not in ROLES:
            raise InputError(f"{self.role!r} is no role", place="person.role", hint=f"use one of: {', '.join(ROLES)}")

    @property
    def actor(self) -> str:
        """How an entry names this person."""
        return f"person:{self.id}"


def require_lead(person: Person, act: str) -> None:
    """Raise LocalError unless `person` is a lead; `act` is what they wanted to do."""
    if person.role != "lead":
        raise LocalError(f"only a shop lead may {act}", hint=f"{person.id} is a {person.role}: ask the lead")
