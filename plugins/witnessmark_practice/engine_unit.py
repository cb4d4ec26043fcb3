"""The engine control unit of the practice truck: OBD (ISO 15031-5) and nothing else, sans-IO.

Requests flow in with their clock seconds, answers flow out of `outgoing`. Rules that hold here: nothing is answered
while the network sleeps; what it does not have gets no answer where all were asked, else a refusal. It burns nothing:
the engine of a truck whose brakes are worked on is off. All values are invented.
"""

from __future__ import annotations

from witnessmark.wire.obd import messages as obd
from witnessmark.wire.obd.pids import mask_of
from witnessmark.wire.uds.codes import ResponseCode as Nrc
from witnessmark_practice.identity import VIN
from witnessmark_practice.surroundings import Surroundings

STORED, PENDING, PERMANENT = (bytes((0x01, 0x28)), bytes((0x21, 0x35))), (bytes((0x04, 0x02)),), ()
FROZEN = {0x02: STORED[0], 0x05: bytes((83 + 40,)), 0x0D: b"\x00"}
CODES = {0x03: STORED, 0x07: PENDING, 0x0A: PERMANENT}
NAME = b"ENGINE, PRACTICE".ljust(20, b"\0")


class EngineUnit:
    """The server. It answers at once."""

    def __init__(self, around: Surroundings) -> None:
        self._around = around
        self._out: list[bytes] = []

    def receive(self, payload: bytes, functional: bool, now_s: float) -> None:
        """Take one whole request."""
        if not payload or not self._around.network_awake(now_s):
            return
        answer = self._serve(payload, now_s)
        if answer is not None:
            self._out.append(answer)
        elif not functional:
            known = payload[0] in (0x01, 0x02, 0x09, 0x3E, *CODES)
            code = Nrc.SUB_FUNCTION_NOT_SUPPORTED if known else Nrc.SERVICE_NOT_SUPPORTED
            self._out.append(bytes((0x7F, payload[0], code)))

    def outgoing(self, now_s: float) -> list[bytes]:
        """Return the answers that leave now."""
        out, self._out = self._out, []
        return out

    def due_s(self) -> float | None:
        """Nothing ever happens by itself."""
        return None

    def _serve(self, payload: bytes, now_s: float) -> bytes | None:
        match payload[0]:
            case 0x3E if payload[1:] == b"\0":
                return b"\x7e\0"
            case 0x01 if len(payload) > 1:
                found = {pid: data for pid in payload[1:] if (data := _one_of(self._now(now_s), pid)) is not None}
                return obd.current_data_answer(found) if found else None
            case 0x02 if len(payload) == 3 and payload[2] == 0:
                data = _one_of(FROZEN, payload[1])
                return None if data is None else b"\x42" + payload[1:] + data
            case 0x09 if len(payload) == 2:
                return self._about(payload[1])
            case mode if mode in CODES and len(payload) == 1:
                return obd.codes_answer(CODES[mode], mode)
        return None

    def _now(self, now_s: float) -> dict[int, bytes]:
        return {
            0x01: bytes((0x80 | len(STORED), 0x07, 0x65, 0x00)),
            0x05: bytes((19 + 40,)),
            0x0C: b"\0\0",
            0x0D: bytes((self._around.speed_kmh,)),
            0x1C: b"\x06",
            0x42: round(self._around.voltage(now_s) * 1000).to_bytes(2, "big"),
        }

    def _about(self, kind: int) -> bytes | None:
        if kind == 0x00:
            return bytes((0x49, 0x00)) + mask_of(0x00, {0x02, 0x0A})
        if kind == 0x02:
            return obd.vin_answer(VIN)
        return bytes((0x49, 0x0A, 0x01)) + NAME if kind == 0x0A else None


def _one_of(values: dict[int, bytes], number: int) -> bytes | None:
    """Return a value, or the list at 00, 20, 40 of which there are, lists among them."""
    if number % 0x20:
        return values.get(number)
    lists = range(0x20, max(values) + 1, 0x20)
    return mask_of(number, {*values, *lists}) if number == 0 or number in lists else None
