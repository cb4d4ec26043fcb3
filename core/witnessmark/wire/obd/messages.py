"""Requests and answers of ISO 15031-5 / SAE J1979, built; answers as on CAN, with their counts. Building sends nothing.

A value out of range raises InputError that names the parameter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from witnessmark.errors import InputError, PeerError
from witnessmark.wire.obd.services import Mode
from witnessmark.wire.vin import normalise

CODE_MODES = (Mode.STORED_CODES, Mode.PENDING_CODES, Mode.PERMANENT_CODES)
MOST_PIDS = 6
"""As many parameters as one request on CAN may ask for."""


def _byte(name: str, value: int) -> int:
    if not 0 <= value <= 0xFF:
        raise InputError(f"{value} is out of range.", place=name, hint="give a number from 0 to 255")
    return value


def current_data(*pids: int) -> bytes:
    """Ask for one to six parameters of now."""
    if not 1 <= len(pids) <= MOST_PIDS:
        raise InputError(f"{len(pids)} parameters in one request.", place="PID", hint="ask for one to six at a time")
    return bytes((Mode.CURRENT_DATA, *(_byte("PID", pid) for pid in pids)))


def freeze_frame(pid: int, frame: int = 0) -> bytes:
    """Ask for a parameter of a freeze frame."""
    return bytes((Mode.FREEZE_FRAME, _byte("PID", pid), _byte("frame", frame)))


def codes(mode: int = Mode.STORED_CODES) -> bytes:
    """Ask for stored (03), pending (07) or permanent (0A) trouble codes."""
    return bytes((_code_mode(mode),))


def clear() -> bytes:
    """Ask to clear codes and with them freeze frames, test results and the readiness of all monitors."""
    return bytes((Mode.CLEAR,))


def monitor_tests(monitor: int) -> bytes:
    """Ask for the results of a monitor's tests."""
    return bytes((Mode.MONITOR_TESTS, _byte("OBDMID", monitor)))


def vehicle_information(kind: int) -> bytes:
    """Ask for vehicle information of one type."""
    return bytes((Mode.VEHICLE_INFORMATION, _byte("infoType", kind)))


def vin() -> bytes:
    """Ask for the VIN."""
    return vehicle_information(0x02)


def current_data_answer(values: Mapping[int, bytes]) -> bytes:
    """Answer with parameters and their bytes."""
    return bytes((Mode.CURRENT_DATA + 0x40,)) + b"".join(bytes((_byte("PID", n),)) + data for n, data in values.items())


def codes_answer(trouble_codes: Sequence[bytes], mode: int = Mode.STORED_CODES) -> bytes:
    """Answer with trouble codes of two bytes each."""
    if any(len(code) != 2 for code in trouble_codes):
        raise InputError("A trouble code here has two bytes.", place="trouble code", hint="leave the failure type out")
    return bytes((_code_mode(mode) + 0x40, _byte("numberOfDTC", len(trouble_codes)))) + b"".join(trouble_codes)


def read_codes(answer: bytes) -> tuple[bytes, ...]:
    """Return the codes of an answer on CAN: its mode, how many, two bytes each.

    Raises PeerError with reason `not_whole` where count and codes disagree.
    """
    pairs = tuple(answer[at : at + 2] for at in range(2, len(answer), 2))
    modes = [mode + 0x40 for mode in CODE_MODES]
    if len(answer) < 2 or answer[0] not in modes or len(answer) % 2 or len(pairs) != answer[1]:
        raise PeerError("Not an answer with all its trouble codes.", reason="not_whole", raw=answer)
    return pairs


def split_codes(body: bytes) -> tuple[int | None, tuple[bytes, ...], bytes]:
    """Take what follows the service number of a 43, 47 or 4A apart: the count, the codes, and what is left over.

    On CAN a count stands first. Elsewhere there is none (None), and three codes fill six bytes, with zeros where there
    are fewer (ISO 15031-5, ISO 15765-4, from memory); a whole answer on CAN never has six. Fewer codes than counted
    say that it was cut off.
    """
    if not body:
        return None, (), b""
    if len(body) == 6:
        return None, tuple(body[at : at + 2] for at in range(0, 6, 2)), b""
    end = min(1 + 2 * body[0], len(body) - (len(body) + 1) % 2)
    return body[0], tuple(body[at : at + 2] for at in range(1, end, 2)), body[end:]


def vin_answer(number: str) -> bytes:
    """Answer with the VIN as one item."""
    return bytes((Mode.VEHICLE_INFORMATION + 0x40, 0x02, 0x01)) + normalise(number).encode("ascii")


def read_vin(answers: Iterable[bytes]) -> str:
    """Read the VIN out of the answers to 09 02: one message on CAN, five of four bytes each on a K-line.

    The five may come in any order. Raises PeerError with reason `not_a_vin` where they do not make one.
    """
    messages = [bytes(answer) for answer in answers]
    raw = b"".join(messages)
    if not messages or any(message[:2] != b"\x49\x02" or len(message) < 3 for message in messages):
        raise PeerError("Not an answer with the VIN.", reason="not_a_vin", raw=raw)
    number = b"".join(message[3:] for message in sorted(messages, key=lambda message: message[2])).strip(b"\0")
    try:
        return normalise(number.decode("ascii"))
    except (UnicodeDecodeError, InputError) as error:
        raise PeerError(f"The VIN is unreadable: {error}", reason="not_a_vin", raw=raw) from error


def as_on_can(answers: Sequence[bytes]) -> bytes:
    """Put the messages with which a K-line answers one request of ISO 15031-5 together as CAN would answer it.

    Codes come three a message, filled with zeros and without a count; vehicle information four bytes a message, each
    with its number from 1. One message of another mode, and several that do not belong together, come back as the last.
    """
    first, last = answers[0], answers[-1]
    mode = first[0] - 0x40
    if any(one[0] != first[0] for one in answers):
        return last
    if mode in CODE_MODES and all(len(one) % 2 == 1 for one in answers):
        pairs = [one[at : at + 2] for one in answers for at in range(1, len(one), 2)]
        return codes_answer([pair for pair in pairs if pair != b"\0\0"], mode)
    if mode != Mode.VEHICLE_INFORMATION or any(len(one) != 7 or one[1] != first[1] for one in answers):
        return last
    data = b"".join(one[3:] for one in sorted(answers, key=lambda one: one[2]))
    if first[1] % 0x20 == 0:
        return first[:2] + data  # a list has no count on CAN
    return first[:2] + b"\1" + data.lstrip(b"\0")


def _code_mode(mode: int) -> int:
    if mode not in CODE_MODES:
        raise InputError(f"Service 0x{mode:02X} gives no codes.", place="mode", hint="give 03, 07 or 0A")
    return mode
