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
    seen = {"origin": "learned", "longest_s": 8, "observed": OBSERVED | (observed or {})}
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
