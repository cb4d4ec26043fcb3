"""What every part of a running job uses: the conversation, the record, the clock, who the control unit is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from witnessmark.clock import Clock, Stamp
from witnessmark.job.allowed.rules import Request
from witnessmark.job.record import Record
from witnessmark.job.walk.state import JobState
from witnessmark.link.frame import Peer
from witnessmark.mapping.model import ProtocolMap, WireCommand
from witnessmark.procedure.model import Pass
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.keepalive import KWP_TESTER_PRESENT
from witnessmark.talk.timing import Timing
from witnessmark.wire.uds.requests import TESTER_PRESENT


class Tell(Protocol):
    """Says one thing to the face; never waits."""

    def __call__(self, message: dict[str, object]) -> None: ...


@dataclass(slots=True)
class Bay:
    """One link, one control unit, one record. `here_since_ns` is when this program came, on the monotonic clock."""

    talk: Conversation
    record: Record
    clock: Clock
    boot_id: str
    here_since_ns: int
    peer: Peer
    timing: Timing
    tell: Tell

    @property
    def shows_pending(self) -> bool:
        return self.talk.link.capabilities.shows_pending

    def request(self, state: JobState, one: Pass, command: WireCommand) -> Request:
        """Return what the rules need to know now."""
        now: Stamp = self.clock.stamp()
        other_ns, also_ns = self.talk.other_tester_ns, self.talk.also_answered_ns
        return Request(
            state, one, command, self.peer, now, self.boot_id, self.here_since_ns, other_ns, also_answered_ns=also_ns,
            practice=self.clock.practice,
        )  # fmt: skip


def peer_of(protocol_map: ProtocolMap) -> Peer:
    """Return the control unit that a map is for."""
    address = protocol_map.address
    return Peer(int(address.request, 16), int(address.answer, 16), extended=address.bits == 29)


def timing_of(protocol_map: ProtocolMap) -> Timing:
    """Return the times a map states, and the request by which it says that the session is kept."""
    timing = protocol_map.timing
    keep_alive = KWP_TESTER_PRESENT if protocol_map.address.transport == "iso14230" else TESTER_PRESENT
    if timing.keep_alive:
        keep_alive = bytes.fromhex(timing.keep_alive)
    return Timing(timing.p2_ms / 1000, timing.p2_star_ms / 1000, timing.s3_ms / 1000, keep_alive)
