"""What another tester read of the control unit while we listened: its identification, and its trouble codes.

`Heard` readings flow in, exchanges and what they say flow out through a record. Rules that hold here: only what the
named control unit itself answered counts; the same answer to the same request is written once, so that a tester that
asks all the time fills no journal; a scan counts as one only where its mask asks for all the codes that ours would.
"""

from __future__ import annotations

from collections.abc import Callable

from witnessmark.errors import InputError
from witnessmark.job.bay import Tell
from witnessmark.job.heard.heard_run import HeardWriter
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.numbers import spelled
from witnessmark.job.unit.code_scan import CODES, codes_in
from witnessmark.job.walk.state import VEHICLE, JobState
from witnessmark.journal.bodies import CodeScan, Condition
from witnessmark.mapping.ear import VEHICLE_NUMBER, Heard
from witnessmark.mapping.model import ProtocolMap

OTHER_VEHICLE = "check which vehicle the other tester is plugged into, and what was typed"
OTHER_UNIT = "its wire commands may be other ones: check which control unit the map is of"


class HeardReadings:
    """Writes the readings of one job."""

    def __init__(self, writer: HeardWriter, known: ProtocolMap, tell: Tell) -> None:
        self._writer = writer
        self._wanted = {one.identifier.upper(): one.value.upper() for one in known.identification}
        self._tell = tell
        self._written: dict[str, str] = {}

    def take(self, heard: Heard, state: JobState) -> None:
        """Write a reading that was answered, if it says anything new where the job stands."""
        if heard.result != "positive":
            return  # nobody here asked for it, and it says nothing of the vehicle
        asked, answer = heard.request.payload.hex().upper(), heard.answers[-1].payload
        says = answer.hex().upper() + (f"@{_when(state)}" if heard.act == "scan" else "")
        if self._written.get(asked) == says:
            return
        self._written[asked] = says
        ticket = self._writer.record.seen(self._writer.body(heard), self._writer.when(heard.at_ns))
        ticket.then = self._scanned(heard, answer, state) if heard.act == "scan" else self._identified(answer, state)

    def _identified(self, answer: bytes, state: JobState) -> Callable[[Ticket], None]:
        identifier, value = answer[1:3].hex().upper(), answer[3:].hex().upper()

        def then(written: Ticket) -> None:
            wanted = self._wanted.get(identifier, value)
            if wanted != value:
                what = f"the control unit's {identifier} was heard to be {value}, and the map is of one with {wanted}"
                self._tell({"error": {"what": what, "hint": OTHER_UNIT, "reached": "nothing"}})
            if identifier == VEHICLE_NUMBER:
                self._number(answer[3:], state, written)

        return then

    def _number(self, data: bytes, state: JobState, written: Ticket) -> None:
        found, wanted = spelled(data), state.vehicle.strip().upper()
        if not wanted or written.entry is None:
            return
        holds = found == wanted
        self._writer.record.seen(
            Condition(name=VEHICLE, found=found, wanted=wanted, holds=holds, source="read", exchange=written.entry.seq)
        )
        if holds:
            self._tell({"said": f"the control unit's number was heard: {found}, as typed"})
        else:
            what = f"the control unit says {found} to the other tester, the order says {wanted}"
            self._tell({"error": {"what": what, "hint": OTHER_VEHICLE, "reached": "nothing"}})

    def _scanned(self, heard: Heard, answer: bytes, state: JobState) -> Callable[[Ticket], None]:
        def then(written: Ticket) -> None:
            if heard.request.payload[2] & CODES[2] != CODES[2] or written.entry is None:
                return  # it left out codes that a scan has to show
            try:
                codes = codes_in(answer)
            except InputError:
                return  # not whole: it stands in the exchange
            when = _when(state)
            self._writer.record.seen(
                CodeScan(
                    when=when,  # type: ignore[arg-type]
                    codes=codes,
                    control_unit=state.procedure.control_unit,
                    exchange=written.entry.seq,
                    step=_step(state),
                )
            )
            self._tell({"said": f"heard: trouble codes {when} the work: {', '.join(codes) or 'none'}"})

        return then


def _when(state: JobState) -> str:
    """Return whether the work on the passes has begun."""
    worked = bool(state.was_open or state.runs) or any(one.pass_id for one in state.points[: state.cursor])
    return "after" if worked else "before"


def _step(state: JobState) -> str:
    """Return the step that asks for a scan now, empty where none does."""
    step = state.point.step if state.point is not None else None
    return step.id if step is not None and step.act == "scan" and state.status == "open" else ""
