"""One control unit as it is learned: what was asked and answered is counted, facts are made of the counts.

`Seen` flows in, in order of time; facts flow out. Rules that hold here: an answer counts where its request does, one
without a request counts by itself; a record of several identifiers is not taken apart, its lengths are not known.
"""

from __future__ import annotations

from collections import Counter

from witnessmark.mapping.facts import Candidate, CodeFormat, Evidence, Habits, IdentifierFact, ServiceFact, SessionFact
from witnessmark.mapping.heard_runs import HeardRuns
from witnessmark.mapping.model import AddressPair, Identification, Timing
from witnessmark.mapping.naming import Namer, told
from witnessmark.mapping.seen import Answer, Seen
from witnessmark.mapping.tally import IdentifierTally, ServiceTally, SessionTally, Spans, Times, evidence
from witnessmark.recording.line import Line
from witnessmark.wire import dtc
from witnessmark.wire.kwp import services as kwp
from witnessmark.wire.obd import services as obd
from witnessmark.wire.obd.messages import CODE_MODES, split_codes
from witnessmark.wire.uds import services as uds
from witnessmark.wire.uds.codes import RESPONSE_PENDING
from witnessmark.wire.uds.decode import is_kwp_session
from witnessmark.wire.uds.names import sub_function_name

READS = {0x22: 3, 0x21: 2, 0x1A: 2, 0x01: 2, 0x02: 2, 0x09: 2}
"""Services that read something by an identifier, and how long such a request is with one identifier; 02 has a frame."""
BINDING = ("F187", "F188", "F189", "F191", "F192", "F193", "F194", "F195")
"""What binds a map to a kind of control unit: part, hardware and software numbers (ISO 14229-1, annex C.1)."""
S3_NS = 5_000_000_000


def name_of(service: int) -> str:
    """Name a service of any of the three standards."""
    if service < 0x10:
        return obd.service_name(service).partition("(")[2].rstrip(")") or obd.service_name(service)
    named = uds.service_name(service)
    return kwp.service_name(service) if named.startswith("service ") else named


class Unit:
    """`functional` are the lines on which requests to many came that it answered."""

    def __init__(self) -> None:
        self.functional: set[Line] = set()
        self._asked_on: Counter[Line] = Counter()
        self._services: dict[int, ServiceTally] = {}
        self._identifiers: dict[tuple[int, int], IdentifierTally] = {}
        self._sessions: dict[int, SessionTally] = {}
        self._codes: dict[bytes, tuple[bytes, Times]] = {}
        self._runs = HeardRuns()
        self._answer, self._gaps, self._kept = Spans(), Spans(), Spans()
        self._pending = self._pending_most = 0
        self._session: int | None = None
        self._last_asked_ns = self._last_kept_ns = 0
        self._kept_alive = b""
        self._keeping: tuple[int, bytes] | None = None
        self._longest_pause_ns: int | None = None

    def feed(self, one: Seen) -> None:
        """Take in one request to this unit, or one answer of it."""
        payload, answers = one.payload, one.answers
        if payload is None:
            self._only_answered(answers[0])
            return
        service = payload[0]
        tally = self._services.get(service)
        if tally is None:
            tally = self._services[service] = ServiceTally(Times(one.asked_ns, one.asked_ns, 0))
        tally.times.again(one.asked_ns)
        if one.functional:
            if one.asked_on is not None:
                self.functional.add(one.asked_on)
        else:
            tally.asked += 1
            if one.asked_on is not None:
                self._asked_on[one.asked_on] += 1
        final = self._answers(tally, one.asked_ns, answers)
        self._session_over(one.asked_ns)
        if service in READS:
            self._read(payload, final, one.asked_ns)
        elif service == 0x10:
            self._change_session(payload, final, one.asked_ns)
        elif service in (0x31, 0x2F):
            self._runs.feed(one, self._session)
            self._pause(one.asked_ns, final)
        elif service == 0x3E:
            self._keep_alive(payload, one.asked_ns, refused=final is not None and final[0] == 0x7F)
        elif service in (0x19, 0x18, 0x03, 0x07, 0x0A) and final is not None and final[0] != 0x7F:
            times = self._codes[payload][1] if payload in self._codes else Times(one.asked_ns, one.asked_ns, 0)
            times.again(one.asked_ns)
            self._codes[payload] = (final, times)
        if final is None or final[0] != 0x7F:
            self._runs.use(service)
        if not answers and not one.functional and not _suppressed(payload):
            tally.silent += 1
        elif final is not None and final[0] != 0x7F and service in uds.WITH_SUB_FUNCTION and len(payload) > 1:
            tally.sub_functions.add(payload[1] & 0x7F)
        self._last_asked_ns = one.asked_ns

    def asked_of_all(self, payload: bytes, asked_ns: int) -> None:
        """Something was asked of all units, and this one may have listened without a word."""
        self._session_over(asked_ns)
        if payload[0] == 0x3E:
            self._keep_alive(payload, asked_ns)
            self._last_asked_ns = asked_ns
        elif payload[0] == 0x10 and _suppressed(payload):
            self._session = payload[1] & 0x7F
            if self._session == 1:
                self._runs.default_session()
        elif payload[0] in (0x31, 0x2F):
            self._runs.asked_of_all(payload)
        elif payload[0] != 0x10:
            self._runs.use(payload[0])

    def asked_on(self) -> Line | None:
        """Return the line on which this unit was asked, most often; None where nobody asked it alone."""
        return max(self._asked_on, key=lambda line: self._asked_on[line], default=None)

    def timing(self) -> Timing:
        """Return the times its latest session answer states, else the standard's."""
        for session in sorted(self._sessions, reverse=True):
            p2_ms, p2_star_ms = _stated(self._sessions[session].answer)
            if p2_ms:
                return Timing(p2_ms=p2_ms, p2_star_ms=p2_star_ms or 5000)
        return Timing()

    def identification(self) -> tuple[Identification, ...]:
        """Return the values that bind a map to this kind of unit: those that were read and never differed."""
        found = []
        for text in BINDING:
            tally = self._identifiers.get((0x22, int(text, 16)))
            if tally is not None and len(tally.values) == 1 and tally.value:
                found.append(Identification(text, tally.value.hex().upper()))
        return tuple(found)

    def sessions(self, of: Evidence) -> tuple[SessionFact, ...]:
        """Return the sessions that were asked for."""
        found = []
        for session, tally in sorted(self._sessions.items()):
            p2_ms, p2_star_ms = _stated(tally.answer)
            refused = tally.answer[:1] == b"\x7f"
            found.append(
                SessionFact(
                    session=session,
                    name=sub_function_name(0x10, session) if session < 0x80 else kwp.session_name(session),
                    answer="silent" if not tally.answer else "refused" if refused else "positive",
                    code=f"{tally.answer[2]:02X}" if refused else "",
                    p2_ms=p2_ms,
                    p2_star_ms=p2_star_ms,
                    evidence=tally.times.evidence(of),
                )
            )
        return tuple(found)

    def services(self, of: Evidence) -> tuple[ServiceFact, ...]:
        """Return the services that were asked for."""
        return tuple(
            ServiceFact(
                service=f"{service:02X}",
                name=name_of(service),
                asked=tally.asked,
                positive=tally.positive,
                codes={f"{code:02X}": count for code, count in sorted(tally.codes.items())},
                silent=tally.silent,
                sub_functions=tuple(f"{sub:02X}" for sub in sorted(tally.sub_functions)),
                evidence=tally.times.evidence(of),
            )
            for service, tally in sorted(self._services.items())
        )

    def identifiers(self, of: Evidence, namer: Namer) -> tuple[IdentifierFact, ...]:
        """Return the identifiers that were read or refused, with what `namer` and the standards say of them."""
        found = []
        unit = {one.identifier: one.value for one in self.identification()}
        for (service, identifier), tally in sorted(self._identifiers.items()):
            said = told(namer, unit, service, identifier, tally.value)
            found.append(
                IdentifierFact(
                    service=f"{service:02X}",
                    identifier=f"{identifier:04X}" if service == 0x22 else f"{identifier:02X}",
                    name=said.name,
                    value=tally.value.hex().upper(),
                    length=len(tally.value),
                    values=len(tally.values),
                    text=said.text,
                    unit=said.unit,
                    code="" if tally.code < 0 or tally.values else f"{tally.code:02X}",
                    evidence=tally.times.evidence(of),
                )
            )
        return tuple(found)

    def codes(self, of: Evidence) -> tuple[CodeFormat, ...]:
        """Return how it reports trouble codes."""
        found = (code_format(request, answer, times.evidence(of)) for request, (answer, times) in self._codes.items())
        return tuple(one for one in found if one is not None)

    def habits(self) -> Habits:
        """Return what was measured of its timing."""
        self._kept_it()
        kept = self._kept.spread()
        pause_ns = self._longest_pause_ns
        return Habits(
            answer=self._answer.spread(),
            pending=self._pending,
            pending_most=self._pending_most,
            pending_gap=self._gaps.spread(),
            kept_alive=self._kept_alive.hex().upper(),
            kept_alive_ms=None if kept is None else kept.median_us // 1000,
            longest_pause_ms=None if pause_ns is None else pause_ns // 1_000_000,
        )

    def candidates(self, address: AddressPair, of: Evidence) -> tuple[Candidate, ...]:
        """Return the wire commands that another tester used."""
        return tuple(self._runs.candidates(address, lambda count, first, last: evidence(of, count, first, last)))

    def _answers(self, tally: ServiceTally, asked_ns: int, answers: tuple[Answer, ...]) -> bytes | None:
        """Count the answers to one request; return the final one."""
        if not answers:
            return None
        self._answer.add(asked_ns, answers[0].first_ns)
        final: bytes | None = None
        pending = before_ns = 0
        for payload, first_ns, last_ns in answers:
            if pending:
                self._gaps.add(before_ns, first_ns)
            before_ns = last_ns
            if payload[0] != 0x7F:
                final = payload
                tally.positive += 1
                continue
            code = payload[2] if len(payload) > 2 else 0
            tally.codes[code] += 1
            if code == RESPONSE_PENDING:
                pending += 1
            else:
                final = payload
        if pending:
            self._pending += 1
            self._pending_most = max(self._pending_most, pending)
        return final

    def _read(self, payload: bytes, final: bytes | None, asked_ns: int) -> None:
        size = READS[payload[0]]
        if len(payload) != size and not (payload[0] == 0x02 and len(payload) == 3):
            return
        identifier = payload[1] << 8 | payload[2] if size == 3 else payload[1]
        self._identify(payload[0], identifier, final, size, asked_ns)

    def _identify(self, service: int, identifier: int, final: bytes | None, size: int, at_ns: int) -> None:
        if final is None:
            return
        tally = self._identifiers.get((service, identifier))
        if tally is None:
            tally = self._identifiers[service, identifier] = IdentifierTally(Times(at_ns, at_ns, 0))
        tally.times.again(at_ns)
        if final[0] == 0x7F:
            tally.code = final[2] if len(final) > 2 else 0
        else:
            tally.take(final[size:])

    def _only_answered(self, answer: Answer) -> None:
        payload = answer.payload
        if not payload or payload[0] == 0x7F:
            return
        service = payload[0] & 0xBF
        tally = self._services.get(service)
        if tally is None:
            tally = self._services[service] = ServiceTally(Times(answer.last_ns, answer.last_ns, 0))
        tally.times.again(answer.last_ns)
        tally.positive += 1
        if service in (0x31, 0x2F):
            self._runs.only_answered(payload)
        size = READS.get(service, 0)
        if size and len(payload) >= size:
            identifier = payload[1] << 8 | payload[2] if size == 3 else payload[1]
            self._identify(service, identifier, payload, size, answer.last_ns)

    def _change_session(self, payload: bytes, final: bytes | None, asked_ns: int) -> None:
        if len(payload) < 2:
            return
        kwp_session = final is not None and is_kwp_session(final)
        session = payload[1] if kwp_session else payload[1] & 0x7F
        tally = self._sessions.get(session)
        if tally is None:
            tally = self._sessions[session] = SessionTally(Times(asked_ns, asked_ns, 0))
        tally.times.again(asked_ns)
        if final is not None and (final[0] != 0x7F or tally.answer[:1] != b"\x50"):
            tally.answer = final
        if (final is not None and final[0] == 0x50) or (final is None and _suppressed(payload)):
            self._session = session
            if session in (0x01, 0x81):
                self._runs.default_session()

    def _session_over(self, asked_ns: int) -> None:
        """After S3 without a request the session is not known any more; what it needed is still held against it."""
        if self._session not in (None, 0x01, 0x81) and asked_ns - self._last_asked_ns > 2 * S3_NS:
            self._session = None
            self._runs.lost_sight()  # what keeps a session was not heard, so more was not

    def _pause(self, asked_ns: int, final: bytes | None) -> None:
        served = final is not None and final[0] != 0x7F
        if self._session not in (None, 0x01, 0x81) and served and min(asked_ns, self._last_asked_ns) > 0:
            self._longest_pause_ns = max(self._longest_pause_ns or 0, asked_ns - self._last_asked_ns)

    def _keep_alive(self, payload: bytes, asked_ns: int, *, refused: bool = False) -> None:
        """One tester present; asked of all it is told twice, and only then whether this unit refused it."""
        if self._keeping is None or self._keeping[0] != asked_ns:
            self._kept_it()
        self._keeping = None if refused else (asked_ns, payload)

    def _kept_it(self) -> None:
        """Count the tester present that was asked last."""
        if self._keeping is None:
            return
        (asked_ns, self._kept_alive), self._keeping = self._keeping, None
        if self._last_kept_ns and asked_ns - self._last_kept_ns < 2 * S3_NS:
            self._kept.add(self._last_kept_ns, asked_ns)
        self._last_kept_ns = asked_ns


def _suppressed(payload: bytes) -> bool:
    return payload[0] in uds.WITH_SUB_FUNCTION and len(payload) > 1 and bool(payload[1] & 0x80)


def _stated(answer: bytes) -> tuple[int | None, int | None]:
    """P2 and P2* in ms as a session answer states them (ISO 14229-1, 10.2)."""
    if answer[:1] != b"\x50" or len(answer) < 6 or is_kwp_session(answer):
        return None, None
    return int.from_bytes(answer[2:4], "big"), int.from_bytes(answer[4:6], "big") * 10


def code_format(request: bytes, answer: bytes, of: Evidence) -> CodeFormat | None:
    """Read how trouble codes are reported from one answer; None where its form is not known.

    19 02 and 19 0A: three bytes and a status behind the availability mask (ISO 14229-1, 12.3). 18: count, then two
    bytes and a status (ISO 14230-3). 03, 07, 0A: on CAN a count, then two bytes each (ISO 15031-5).
    """
    name = request.hex().upper()
    if request[0] == 0x19 and len(request) > 1 and request[1] in (0x02, 0x0A) and len(answer) >= 3:
        rest, size, step, availability = answer[3:], 3, 4, f"{answer[2]:02X}"
    elif request[0] == 0x18 and len(answer) >= 2:
        rest, size, step, availability = answer[2:], 2, 3, ""
    elif request[0] in CODE_MODES and len(answer) >= 2:
        codes_heard = (code for code in split_codes(answer[1:])[1] if code != b"\0\0")
        rest, size, step, availability = b"".join(codes_heard), 2, 2, ""
    else:
        return None
    codes = [
        dtc.format_code(rest[at : at + size]) + (f" {rest[at + size]:02X}" if step > size else "")
        for at in range(0, len(rest) - step + 1, step)
    ]
    return CodeFormat(request=name, bytes_per_code=size, availability=availability, codes=tuple(codes), evidence=of)
