"""The bodies that say who may do what: which wire commands the lead allows, and who works in the shop.

The rules of `bodies` hold here too.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from witnessmark.journal.body import Body


class Limits(Body, frozen=True, kw_only=True):
    """How long a wire command may run, and how long it rests then, in seconds."""

    longest_s: int
    cool_down_s: int


class Approval(Body, frozen=True, kw_only=True):
    """kind `approval`. The lead allows these wire commands for control units with this identification.

    `withdrawn` ends it. It binds to the map's digest: a map that changes needs a new approval; with a
    procedure's digest it holds for that procedure alone. `proven` says how the lead proved to be one (`pin`,
    `name only`), `unit` on which address (hex) the control unit answers, `limits` what the map has of each by the
    request that starts it; entries of before have none.
    """

    map_digest: str
    identification: dict[str, str]
    wire_commands: tuple[str, ...]
    procedure_digest: str = ""
    withdrawn: bool = False
    why: str = ""
    proven: str = ""
    unit: str = ""
    limits: dict[str, Limits] = msgspec.field(default_factory=dict)


class KnownPerson(Body, frozen=True):
    """A person of the shop: the role, and a digest (hex) of what is kept of the PIN, salt included."""

    role: str
    pin: str


class People(Body, frozen=True, kw_only=True):
    """kind `people`. Who works here from now on, as the people file beside the journal says it; of no job.

    `act` is what was done, `person` to whom: `added`, `removed`, a new `role` or `pin`; the file was made `anew` after
    it was lost, `noted` as it was found, or `accepted` though it was not as the entry before says, with the
    `differences`. `proven` says how whoever did it proved to be that person (`pin`, `name only`).
    """

    act: Literal["added", "removed", "role", "pin", "anew", "noted", "accepted"]
    person: str = ""
    people: dict[str, KnownPerson]
    proven: str = ""
    why: str = ""
    differences: tuple[str, ...] = ()
