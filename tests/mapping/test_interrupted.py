"""A probe that is asked to stop does so at whatever moment, and the same probe then goes on to the same map."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.talk.ends import UNIT, MemoryMessageLink, Unit

from witnessmark.clock import NS, ManualClock
from witnessmark.link.frame import Peer
from witnessmark.mapping.peers import everybody
from witnessmark.mapping.probe import Probe, ProbePlan, learn
from witnessmark.mapping.probe_log import ProbeLog
from witnessmark.mapping.reader import ProbeStopped, Reader
from witnessmark.mapping.standstill import Standstill
from witnessmark.talk.conversation import Conversation

PLAN = ProbePlan((Peer(0x7A1, 0x7A9), UNIT), identifiers=((0x0100, 0x0104),))
PENDING = bytes.fromhex("7F2278")
VIN = b"\x62\xf1\x90" + b"0DU14LT2XN0000014"
Table = dict[str, list[tuple[float, bytes]]]
ANSWERS: Table = {
    "3E00": [(0.01, b"\x7e\x00")],
    "1001": [(0.01, bytes.fromhex("5001003201F4"))],
    "22F190": [(0.01, PENDING), (1.0, VIN)],
    "220101": [(0.01, bytes.fromhex("7F2221"))],
    "220102": [(0.02, bytes.fromhex("62010211"))],
}
TABLES = {"it answers": ANSWERS, "silent": {}, "only present": {"3E00": ANSWERS["3E00"]}}
AT_ONCE_S = 0.02
MOMENTS = 13


class Bay(Unit):
    """One unit that answers from its own address, whomever a request was for: the other address is silent."""

    def take(self, peer: Peer, payload: bytes) -> None:
        if peer.functional or peer == UNIT:
            super().take(UNIT, payload)


def go(path: Path, table: Table, stop_after_s: float = float("inf")) -> tuple[str, float, bool]:
    """Probe until `stop_after_s`; return why it ended, how many seconds it went on, and whether its log is empty."""
    clock = ManualClock()
    unit = Bay(clock, {bytes.fromhex(request): answers for request, answers in table.items()})
    begun_ns = clock.mono_ns()

    def spent_s() -> float:
        return (clock.mono_ns() - begun_ns) / NS

    log = ProbeLog.open(path, str(PLAN), "canbus:a")
    reader = Reader(Conversation(MemoryMessageLink(unit), clock), log, stop=lambda: spent_s() >= stop_after_s)
    why = ""
    try:
        Probe(PLAN, reader, Standstill(None, lambda question: True, everybody(PLAN.peers))).run()
    except ProbeStopped as end:
        why = end.why
    finally:
        log.close()
    return why, spent_s(), log.empty


def learned(path: Path) -> list[tuple[str, str, str]]:
    """Return what was learned from the log at `path`, without its moments: identifiers, their values and refusals."""
    log = ProbeLog.open(path, str(PLAN), "canbus:a")
    log.close()
    units = learn(log).vehicle("v", "v").units
    return [(one.identifier, one.value, one.code) for unit in units for one in unit.identifiers]


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_a_wish_to_stop_ends_a_probe_at_once_at_every_moment_and_the_same_one_goes_on(
    tmp_path: Path, table: Table
) -> None:
    path = tmp_path / "log"
    whole, took_s, empty = go(path, table)
    facts = [] if empty else learned(path)
    for share in range(1, MOMENTS):
        path.unlink()
        stop_s = took_s * share / MOMENTS
        why, ended_s, nothing = go(path, table, stop_s)
        assert why == "stopped as asked" and ended_s - stop_s < AT_ONCE_S, (stop_s, why, ended_s)
        assert all(fact in facts for fact in ([] if nothing else learned(path)))
        again, _, _ = go(path, table)
        assert again == whole and (empty or learned(path) == facts), (stop_s, again)
