"""The brake control unit of the practice truck: an ISO 14229-1 server, sans-IO.

Requests flow in with their clock seconds, answers flow out of `outgoing`; the caller comes back at `due_s`. Rules that
hold here: nothing is answered while the network sleeps; a functional request never gets 11, 12, 31, 7E or 7F
(ISO 14229-1:2020, 8.7) and never starts anything; without a request for S3 a non-default session ends; while it works
it says 0x78 and refuses others but tester present with 21.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from witnessmark.wire.uds.codes import ResponseCode as Nrc
from witnessmark_practice import trouble_codes as codes
from witnessmark_practice.actuator import Actuator
from witnessmark_practice.hydraulics import Hydraulics
from witnessmark_practice.identity import IDENTIFICATION
from witnessmark_practice.live_data import live_data
from witnessmark_practice.refusal import LOWEST_V, Refusal, check_conditions
from witnessmark_practice.surroundings import Surroundings
from witnessmark_practice.wire_commands import BY_IDENTIFIER, WireCommand

P2_S = 0.2
P2_STAR_S = 5.0
S3_S = 5.0
PENDING_EVERY_S = 1.0
LATE_S = 1.5
PURGED_S = 5.0
DEFAULT, EXTENDED = 1, 3
SUPPRESSED_WHEN_FUNCTIONAL = {0x11, 0x12, 0x31, 0x7E, 0x7F}
MOST_IDENTIFIERS = 4


class Mood(Enum):
    """A fault of the control unit. It refuses or answers late once; silent or deaf to a stop it stays."""

    WELL = "well"
    REFUSES = "refusal"
    LATE = "late-answer"
    SILENT = "silent"
    IGNORES_STOP = "stop-ignored"


@dataclass
class Work:
    """A request still being worked on: done at `done_s`, says 0x78 next at `pending_s`."""

    service: int
    done_s: float
    pending_s: float
    finish: Callable[[float], bytes]


class ControlUnit:
    """The server. `mood` and `identification` may be changed at any time; `dead` says that it has no supply."""

    def __init__(self, around: Surroundings, fluid: Hydraulics) -> None:
        self.around, self.fluid = around, fluid
        self.actuator = Actuator(fluid)
        self.codes = codes.TroubleCodes()
        self.session = DEFAULT
        self.mood = Mood.WELL
        self.dead = False
        self.identification = dict(IDENTIFICATION)
        self._heard_s = 0.0
        self._work: Work | None = None
        self._late: list[tuple[float, bytes]] = []
        self._out: list[bytes] = []

    def receive(self, payload: bytes, functional: bool, now_s: float) -> None:
        """Take one whole request."""
        self.advance(now_s)
        if self.dead or not payload or not self.around.network_awake(now_s) or self.mood is Mood.SILENT:
            return
        self._heard_s = now_s
        service = payload[0]
        try:
            if self._work is not None and service != 0x3E:
                raise Refusal(Nrc.BUSY_REPEAT_REQUEST)
            answer = self._serve(service, payload, functional, now_s)
        except Refusal as refusal:
            if not (functional and refusal.code in SUPPRESSED_WHEN_FUNCTIONAL):
                self._out.append(bytes((0x7F, service, refusal.code)))
            return
        if answer is not None:
            self._out.append(answer)

    def outgoing(self, now_s: float) -> list[bytes]:
        """Return the answers that leave now."""
        self.advance(now_s)
        out, self._out = self._out, []
        return out

    def due_s(self) -> float | None:
        """Return when something happens by itself, None while nothing will."""
        moments = [at_s for at_s, _ in self._events()]
        return min(moments, default=None)

    def advance(self, now_s: float) -> None:
        """Let what falls due until `now_s` happen, in order, each at its own time."""
        while events := [event for event in self._events() if event[0] <= now_s]:
            at_s, happen = min(events, key=lambda event: event[0])
            self.fluid.advance(at_s)
            happen(at_s)
        self.fluid.advance(now_s)
        run = self.actuator.active
        self.around.pump_runs = run is not None and run.command.motor == "pump"

    def lose_supply(self, now_s: float) -> None:
        """Go dark at once: what runs ends, what is being worked on is forgotten."""
        self.advance(now_s)
        self.actuator.end(now_s, "died")
        self._work, self._late, self._out, self.session, self.dead = None, [], [], DEFAULT, True
        self.around.pump_runs = False

    def boot(self) -> None:
        """Get supply again; a run that was cut off left its code."""
        if self.dead:
            self.dead = False
            self.codes.fail(codes.RUN_ABORTED)
            self.codes.heal(codes.RUN_ABORTED)

    def _events(self) -> list[tuple[float, Callable[[float], None]]]:
        events: list[tuple[float, Callable[[float], None]]] = []
        if self._work is not None:
            if self._work.pending_s < self._work.done_s:
                events.append((self._work.pending_s, self._say_pending))
            else:
                events.append((self._work.done_s, self._finish_work))
        elif self.session != DEFAULT:  # S3 stands still while a request is worked on (ISO 14229-2, 8.4)
            events.append((self._heard_s + S3_S, self._lose_session))
        if self._late:
            events.append((self._late[0][0], lambda _: self._out.append(self._late.pop(0)[1])))
        if self.actuator.active:
            events.append((self.actuator.active.limit_s, lambda at_s: self.actuator.end(at_s, "time")))
        if not self.around.ignition and (self.actuator.active or self.session != DEFAULT):
            events.append((self.around.asleep_from_s, self._fall_asleep))
        return events

    def _say_pending(self, at_s: float) -> None:
        assert self._work is not None
        self._out.append(bytes((0x7F, self._work.service, Nrc.RESPONSE_PENDING)))
        self._work.pending_s = at_s + PENDING_EVERY_S

    def _finish_work(self, at_s: float) -> None:
        assert self._work is not None
        work, self._work = self._work, None
        self._heard_s = at_s
        self._out.append(work.finish(at_s))

    def _lose_session(self, at_s: float) -> None:
        self.session = DEFAULT
        run = self.actuator.active
        if run is not None and not run.command.outlives_session:
            self.actuator.end(at_s, "session")

    def _fall_asleep(self, at_s: float) -> None:
        self.actuator.end(at_s, "supply")
        self.session = DEFAULT

    def _serve(self, service: int, payload: bytes, functional: bool, now_s: float) -> bytes | None:
        match service:
            case 0x10:
                return self._change_session(payload, now_s)
            case 0x3E:
                return _quietly(payload, bytes((0x7E, _sub(payload, 2) & _known(payload, {0}))))
            case 0x22:
                return self._read_data(payload, now_s)
            case 0x19:
                return self._read_codes(payload, now_s)
            case 0x14:
                return self._clear_codes(payload, now_s)
            case 0x31 | 0x2F:
                if self.session == DEFAULT:
                    raise Refusal(Nrc.SERVICE_NOT_SUPPORTED_IN_ACTIVE_SESSION)
                if functional:
                    raise Refusal(Nrc.REQUEST_OUT_OF_RANGE)
                return self._routine(payload, now_s) if service == 0x31 else self._control(payload, now_s)
        raise Refusal(Nrc.SERVICE_NOT_SUPPORTED)

    def _change_session(self, payload: bytes, now_s: float) -> bytes | None:
        session = _sub(payload, 2)
        _known(payload, {DEFAULT, EXTENDED})
        if session == EXTENDED and not self.around.ignition:
            raise Refusal(Nrc.CONDITIONS_NOT_CORRECT)
        if session == DEFAULT and self.session != DEFAULT:
            self._lose_session(now_s)
        self.session = session
        timing = round(P2_S * 1000).to_bytes(2, "big") + round(P2_STAR_S * 100).to_bytes(2, "big")
        return _quietly(payload, bytes((0x50, session)) + timing)

    def _read_data(self, payload: bytes, now_s: float) -> bytes:
        if len(payload) < 3 or len(payload) % 2 == 0 or len(payload) > 1 + 2 * MOST_IDENTIFIERS:
            raise Refusal(Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT)
        live = live_data(now_s, self.around, self.fluid, self.actuator)
        answer = b""
        for at in range(1, len(payload), 2):
            identifier = payload[at] << 8 | payload[at + 1]
            if identifier == 0xF186:
                value = bytes((self.session,))
            elif identifier in self.identification:
                value = self.identification[identifier]
            elif identifier in live:
                value = live[identifier]()
            else:
                continue  # those that are known are answered (ISO 14229-1:2020, 11.2)
            answer += payload[at : at + 2] + value
        if not answer:
            raise Refusal(Nrc.REQUEST_OUT_OF_RANGE)
        return b"\x62" + answer

    def _test_codes(self, now_s: float) -> None:
        """Test what the codes stand for. A new unit counts as bled once its purge has run for PURGED_S."""
        self._test(codes.FEED_LINE_AIR, self.fluid.level_ml > 0)
        self._test(codes.SUPPLY_LOW, self.around.voltage(now_s) >= LOWEST_V)
        purged = (run for run in self.actuator.runs if run.command.id == "purge-unit")
        if any((now_s if run.end_s is None else run.end_s) - run.start_s >= PURGED_S for run in purged):
            self.codes.heal(codes.UNIT_NEW)

    def _test(self, code: int, passed: bool) -> None:
        if passed:
            self.codes.heal(code)
        else:
            self.codes.fail(code)

    def _read_codes(self, payload: bytes, now_s: float) -> bytes | None:
        self._test_codes(now_s)
        report = _sub(payload, 2, more=True)
        _known(payload, {0x01, 0x02, 0x0A})
        if len(payload) != (2 if report == 0x0A else 3):
            raise Refusal(Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT)
        head = bytes((0x59, report, codes.AVAILABLE))
        if report == 0x01:
            count = len(self.codes.matching(payload[2]))
            return _quietly(payload, head + b"\x01" + count.to_bytes(2, "big"))  # format 01: ISO 14229-1
        stored = list(self.codes.status.items()) if report == 0x0A else self.codes.matching(payload[2])
        return _quietly(payload, head + b"".join(code.to_bytes(3, "big") + bytes((status,)) for code, status in stored))

    def _clear_codes(self, payload: bytes, now_s: float) -> bytes:
        self._test_codes(now_s)
        if len(payload) != 4:
            raise Refusal(Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT)
        if self.actuator.active:
            raise Refusal(Nrc.CONDITIONS_NOT_CORRECT)
        if not self.codes.clear(int.from_bytes(payload[1:4], "big")):
            raise Refusal(Nrc.REQUEST_OUT_OF_RANGE)
        return b"\x54"

    def _routine(self, payload: bytes, now_s: float) -> bytes | None:
        act = _sub(payload, 4, more=True)
        _known(payload, {1, 2, 3})
        command = BY_IDENTIFIER.get((0x31, payload[2] << 8 | payload[3]))
        if command is None:
            raise Refusal(Nrc.REQUEST_OUT_OF_RANGE)
        option = payload[4:]
        if len(option) != (1 if act == 1 and command.takes_seconds else 0):
            raise Refusal(Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT)
        head = bytes((0x71, act)) + payload[2:4]
        if act == 1:
            return _quietly(payload, self._start(command, option[0] if option else None, head, now_s))
        run = self.actuator.last(command)
        if run is None:
            raise Refusal(Nrc.REQUEST_SEQUENCE_ERROR)
        if act == 2:
            return _quietly(payload, self._stop(command, head, now_s))
        status = {"": 1, "time": 2, "stop": 3, "session": 4, "supply": 5, "died": 5}[run.ended_by]
        lasted_s = (now_s if run.end_s is None else run.end_s) - run.start_s
        return _quietly(payload, head + bytes((status, min(255, round(lasted_s)))))

    def _control(self, payload: bytes, now_s: float) -> bytes | None:
        if len(payload) < 4:
            raise Refusal(Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT)
        command = BY_IDENTIFIER.get((0x2F, payload[1] << 8 | payload[2]))
        if command is None or payload[3] not in (0, 3):
            raise Refusal(Nrc.REQUEST_OUT_OF_RANGE)
        if len(payload) != (5 if payload[3] == 3 else 4):
            raise Refusal(Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT)
        head = b"\x6f" + payload[1:4]
        if payload[3] == 3:
            return self._start(command, payload[4], head, now_s)
        return self._stop(command, head, now_s)

    def _start(self, command: WireCommand, seconds: int | None, head: bytes, now_s: float) -> bytes | None:
        if seconds is not None and not 1 <= seconds <= command.longest_s:
            raise Refusal(Nrc.REQUEST_OUT_OF_RANGE)
        if self.mood is Mood.REFUSES:
            self.mood = Mood.WELL
            raise Refusal(Nrc.FAILURE_PREVENTS_EXECUTION_OF_REQUESTED_ACTION)
        check_conditions(command, self.around, self.fluid, self.actuator, now_s)

        def begin(at_s: float) -> bytes:
            self.actuator.begin(command, seconds, at_s)
            return head + b"\x01"

        if self.mood is Mood.LATE:
            self.mood = Mood.WELL
            self._late.append((now_s + LATE_S, begin(now_s)))
            return None
        return self._after(command.service, command.start_work_s, begin, now_s)

    def _stop(self, command: WireCommand, head: bytes, now_s: float) -> bytes | None:
        def end(at_s: float) -> bytes:
            self.actuator.end(at_s, "stop")
            return head + b"\x00"

        if self.mood is Mood.IGNORES_STOP:
            return None
        if self.actuator.active is None or self.actuator.active.command is not command:
            return head + b"\x00"  # it has ended already: it is confirmed at rest
        return self._after(command.service, command.stop_work_s, end, now_s)

    def _after(self, service: int, work_s: float, finish: Callable[[float], bytes], now_s: float) -> bytes | None:
        if work_s <= 0:
            return finish(now_s)
        self._work = Work(service, now_s + work_s, now_s, finish)
        return None


def _sub(payload: bytes, size: int, *, more: bool = False) -> int:
    """Return the sub-function without its suppress bit; refuse a wrong length."""
    if len(payload) < size or (len(payload) != size and not more):
        raise Refusal(Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT)
    return payload[1] & 0x7F


def _known(payload: bytes, known: set[int]) -> int:
    sub = payload[1] & 0x7F
    if sub not in known:
        raise Refusal(Nrc.SUB_FUNCTION_NOT_SUPPORTED)
    return sub


def _quietly(payload: bytes, answer: bytes | None) -> bytes | None:
    """Return the positive answer unless its request suppresses it (ISO 14229-1:2020, 8.2.2)."""
    return None if payload[1] & 0x80 else answer
