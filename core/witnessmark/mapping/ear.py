"""Another tester at work, heard as it happens: the wire commands of a map, recognised frame by frame.

Frames of a bus flow in, `Heard` flows out: a wire command asked for, with all that answered it. Rules that hold here:
only the map's own requests are recognised, its hole may hold any byte, those that clear trouble codes, and those that
read them or what the unit is known by; a request is told when its final answer has come, or when none came for so long
that none will; one whose answer is suppressed is told at once, as unanswered. Whatever is asked of the unit, and tester
present of all, keeps its session (ISO 14229-2, S3): each such moment is kept for who wants it. Nothing is sent.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from witnessmark.link.frame import Frame
from witnessmark.mapping.load import HOLE
from witnessmark.mapping.model import ProtocolMap, WireCommand
from witnessmark.wire.isotp.passive import Lost, Message, PassiveReassembler
from witnessmark.wire.uds.codes import RESPONSE_PENDING

NS = 1_000_000_000
MARGIN_NS = NS
"""Added to P2* before an answer counts as not coming: the other tester waits no longer either."""
SUPPRESSED = 0x80
TESTER_PRESENT = 0x3E
Act = Literal["start", "stop", "clear", "identification", "scan"]
CLEARS = WireCommand(id="clear-codes", words="clears the trouble codes", start="", stop="", longest_s=0, cool_down_s=0)
"""What stands for a request that clears trouble codes: service 14 of ISO 14229-1 and 14230-3, mode 04 of ISO 15031-5.
It is only ever heard; no map has it, and nothing sends it."""
READS = WireCommand(id="reads", words="only reads", start="", stop="", longest_s=0, cool_down_s=0)
"""What stands for a request that only reads: one identifier (22), or trouble codes by a mask (19 02); ISO 14229-1."""
VEHICLE_NUMBER = "F190"
"""The identifier of the vehicle's number (ISO 14229-1, annex C)."""


@dataclass(slots=True)
class Heard:
    """One start or stop of `command`, or one request that clears trouble codes (`CLEARS`) or only reads (`READS`).

    `result` is None while it is not answered; moments are monotonic ns.
    """

    command: WireCommand
    act: Act
    request: Message
    answers: list[Message] = field(default_factory=list)
    result: Literal["positive", "negative", "silence"] | None = None

    @property
    def at_ns(self) -> int:
        """When it was answered, or asked where it was not."""
        return self.answers[-1].last_ns if self.answers else self.request.last_ns

    @property
    def code(self) -> int | None:
        """The response code of a refusal."""
        return self.answers[-1].payload[2] if self.result == "negative" else None

    @property
    def seconds(self) -> int | None:
        """What the hole of seconds held, None for a request that has none."""
        at = self.command.start.find(HOLE)
        return self.request.payload[at // 2] if self.act == "start" and at >= 0 else None


class Ear:
    """Listens to one control unit. `lost` counts messages of which a frame was missing.

    `signs` are requests that keep its session, since they were cleared last: monotonic ns and bytes.
    """

    def __init__(self, known: ProtocolMap) -> None:
        address = known.address
        self._extended = address.bits == 29
        self._asks = {int(text, 16) for text in (address.request, address.functional) if text}
        self._answers = int(address.answer, 16)
        self._extension = int(address.extension, 16) if address.extension else None
        self._asked_extension = int(address.request_extension, 16) if address.request_extension else self._extension
        self._commands = known.wire_commands
        self._identifiers = {VEHICLE_NUMBER, *(one.identifier.upper() for one in known.identification)}
        self._wait_ns = known.timing.p2_star_ms * 1_000_000 + MARGIN_NS
        self._messages = PassiveReassembler(ext=self._extension is not None)
        self._open: list[Heard] = []
        self._physical = int(address.request, 16) if address.request else None
        self.lost = 0
        self.signs: list[tuple[int, bytes]] = []

    def feed(self, frame: Frame) -> list[Heard]:
        """Let one frame in; return what it completes."""
        if frame.kind != "data" or frame.extended != self._extended or frame.can_id not in (self._answers, *self._asks):
            return []
        found: list[Heard] = []
        for one in self._messages.feed(frame.can_id, frame.data, frame.stamp.mono_ns):
            if isinstance(one, Lost):
                self.lost += 1
            elif one.payload and one.ext == (self._extension if one.key == self._answers else self._asked_extension):
                found += self._answered(one) if one.key == self._answers else self._asked(one)
        return found

    def tick(self, now_ns: int) -> list[Heard]:
        """Let time pass; return what will not be answered any more."""
        late = [one for one in self._open if now_ns - one.at_ns >= self._wait_ns]
        return [self._end(one, "silence") for one in late]

    def deadline_ns(self) -> int | None:
        """When `tick` next has something to do."""
        return min((one.at_ns + self._wait_ns for one in self._open), default=None)

    def _asked(self, message: Message) -> list[Heard]:
        if message.key == self._physical or message.payload[0] == TESTER_PRESENT:
            self.signs.append((message.last_ns, message.payload))
        if _clears(message.payload):
            self._open.append(Heard(CLEARS, "clear", message))
            return []
        if act := self._reads(message.payload):
            self._open = [one for one in self._open if one.act != act or one.request.payload != message.payload]
            self._open.append(Heard(READS, act, message))
            return []
        for command in self._commands:
            for act, wanted in (("start", command.start), ("stop", command.stop)):
                if _fits(wanted, message.payload):
                    again = [one for one in self._open if one.command is command and one.act == act]
                    told = [self._end(one, "silence") for one in again]
                    one = Heard(command, act, message)  # type: ignore[arg-type]
                    self._open.append(one)
                    suppressed = message.payload[0] == 0x31 and bool(message.payload[1] & SUPPRESSED)
                    return [*told, self._end(one, "silence")] if suppressed else told
        return []

    def _reads(self, payload: bytes) -> Act | None:
        """Return what a request reads that is worth telling, None for any other."""
        if len(payload) == 3 and payload[0] == 0x22 and payload[1:].hex().upper() in self._identifiers:
            return "identification"
        return "scan" if len(payload) == 3 and payload[:2] == b"\x19\x02" else None

    def _answered(self, message: Message) -> list[Heard]:
        payload = message.payload
        for one in reversed(self._open):
            if payload[0] == 0x7F and len(payload) >= 3 and payload[1] == one.request.payload[0]:
                one.answers.append(message)
                return [] if payload[2] == RESPONSE_PENDING else [self._end(one, "negative")]
            if _echoes(one.request.payload, payload):
                one.answers.append(message)
                return [self._end(one, "positive")]
        return []

    def _end(self, one: Heard, result: Literal["positive", "negative", "silence"]) -> Heard:
        self._open.remove(one)
        one.result = result
        return one


def _clears(payload: bytes) -> bool:
    """Whether a request clears trouble codes: a group of two or three bytes follows 14, nothing follows 04."""
    return payload == b"\x04" or (payload[0] == 0x14 and len(payload) in (3, 4, 5))


def _fits(wanted: str, payload: bytes) -> bool:
    """Whether a request is the wanted one: any byte in its hole, its answer suppressed or not."""
    template = wanted.replace(HOLE, "..")
    if len(payload) * 2 != len(template):
        return False
    plain = bytes((payload[0], payload[1] & 0x7F, *payload[2:])) if payload[0] == 0x31 else payload
    shown = plain.hex().upper()
    return all(template[at : at + 2] in ("..", shown[at : at + 2]) for at in range(0, len(template), 2))


def _echoes(request: bytes, answer: bytes) -> bool:
    """Whether a positive answer is to this request: it repeats the routine and what was asked of it, or the output."""
    if _clears(request):
        return answer[0] == request[0] | 0x40
    if request[0] in (0x22, 0x19):
        same = request[1:3] if request[0] == 0x22 else request[1:2]
        return answer[0] == request[0] | 0x40 and len(answer) >= 3 and answer[1 : 1 + len(same)] == same
    if answer[0] != request[0] | 0x40 or len(answer) < 4:
        return False
    if request[0] == 0x31:
        return answer[1] == request[1] & 0x7F and answer[2:4] == request[2:4]
    return answer[1:4] == request[1:4]
