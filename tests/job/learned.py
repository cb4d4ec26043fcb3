"""A stand whose pump was learned by listening, and the lead who is there for its first use."""

from __future__ import annotations

import copy
from typing import Any

from tests.job.stand import LEAD, MAP, START, MemoryJournal, Stand

from witnessmark.journal.entry import Draft

TRIAL_START = bytes.fromhex("3101030104")
OBSERVED = {
    "runs": 3, "ended": 3, "shortest_ms": 4100, "longest_ms": 8200, "seconds": [4, 8], "rest_ms": 15_200, "session": 3,
}  # fmt: skip


def learned_map(observed: dict[str, Any] | None = None, **command: Any) -> dict[str, Any]:
    """Return the stand's map with a pump that was learned; `observed` is laid over what was seen of it."""
    document = copy.deepcopy(MAP)
    seen = {"origin": "learned", "longest_s": 8, "cool_down_s": 16, "observed": OBSERVED | (observed or {})}
    document["wire_commands"][0] |= seen | command
    return document


def lead_signs_on(journal: MemoryJournal, role: str = "lead", proven: str = "pin") -> None:
    journal.append(Draft("sign-on", None, LEAD.actor, body={"role": role, "proven": proven}))


def lead_signs_off(journal: MemoryJournal) -> None:
    journal.append(Draft("sign-off", None, LEAD.actor))


def learned_stand(observed: dict[str, Any] | None = None, *, lead: bool = True, **command: Any) -> Stand:
    """Return a stand with a learned pump, approved, the lead signed on."""
    before = lead_signs_on if lead else (lambda journal: None)
    stand = Stand(map_document=learned_map(observed, **command), before=before)
    stand.unit.table[TRIAL_START] = stand.unit.table[START]
    return stand


def try_it(stand: Stand, key: str = "1", said: str = "pump heard, pedal still") -> None:
    """Make the first use and enter its result."""
    stand.go_to("arm")
    stand.answer()
    stand.go_to("armed")
    stand.press("s")
    stand.until(lambda: stand.view["kind"] == "result")
    stand.press(key, said)


NEVER: dict[str, tuple[str, dict[str, Any]]] = {
    **{
        f"service {service} was used before it": ("needs", {"observed": {"needs": [service]}})
        for service in ("27", "29", "2E", "34", "35", "36", "37", "38", "11", "28", "85")
    },
    "it ran in a programming session": ("programming-session", {"observed": {"session": 2}}),
    "it needs a programming session": ("programming-session", {"session": 2}),
    "a counter varied": ("varied", {"observed": {"varied": ["byte 4 of the start counts up"]}}),
    "it was sent to all": ("functional", {"observed": {"functional": True}}),
    "the map allows more than was seen": ("beyond-observed", {"longest_s": 20}),
    "the map rests shorter than was seen": ("beyond-observed", {"cool_down_s": 15}),
    "its end was never seen": ("end-never-seen", {"observed": {"ended": 0}}),
    "it never ran": ("never-ran", {"observed": {"runs": 0, "ended": 0}}),
    "nothing says what was seen": ("no-evidence", {"origin": "learned", "observed": None}),
    "its start is another service": ("service", {"start": "3B0103{seconds}"}),
}
"""What keeps an approved learned wire command unsent: the rule, and what makes the first one of a map break it."""


def changed(document: dict[str, Any], changes: dict[str, Any], at: int = 0) -> dict[str, Any]:
    """Return the map with changes laid over its wire command `at`; None leaves a field out."""
    command = document["wire_commands"][at]
    for name, value in changes.items():
        if value is None:
            del command[name]
        elif name == "observed":
            command["observed"] = command["observed"] | value
        else:
            command[name] = value
    return document
