"""One ISO 15031-5 / SAE J1979 message in, its meaning out.

Answers on CAN carry counts that answers on ISO 9141 and ISO 14230 do not (ISO 15765-4); the length shows which it is.
A parameter whose length is not known ends the walk: what follows it stays raw with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from witnessmark.wire import dtc
from witnessmark.wire.meaning import Decoded, Direction, Field, Problem, hex_text, list_text, problem_text, refusal
from witnessmark.wire.obd.messages import split_codes
from witnessmark.wire.obd.pids import PIDS, pid_name, pid_text, scale, supported
from witnessmark.wire.obd.services import INFORMATION_TYPES, service_name
from witnessmark.wire.uds.codes import nrc_name
from witnessmark.wire.uds.head import head

_Read = tuple[list[Field], bytes, Problem]


def decode(payload: bytes) -> Decoded:
    """Read one message of services 01 to 0A; any other service keeps its body raw.

    Raises PeerError with reason `empty` or `short_negative`, and for nothing else.
    """
    facts = head(payload)
    name = service_name(facts.service)
    if facts.negative:
        return refusal(payload, name, nrc_name(payload[2]))
    direction: Direction = "positive" if facts.is_response else "request"
    readers = _ANSWERS if facts.is_response else _REQUESTS
    fields, rest, problem = readers.get(facts.service, _raw)(bytes(payload[1:]))
    said = list_text([field.text for field in fields])
    parts = [name + (": positive" if facts.is_response else ""), *([said] if said else [])]
    text = (", " if facts.is_response else ": ").join(parts)
    text += problem_text(problem, rest)
    return Decoded(facts.service, name, direction, tuple(fields), rest, text, problem)


def describe(payload: bytes) -> str:
    """Say in one line what a message means; raises as `decode`."""
    return decode(payload).text


def _raw(body: bytes) -> _Read:
    return [], body, ""


def _nothing(body: bytes) -> _Read:
    return [], body, "long" if body else ""


def _numbers(field: str, name: Callable[[int], str]) -> Callable[[bytes], _Read]:
    """Read a request that lists numbers of one byte."""

    def read(body: bytes) -> _Read:
        fields = [Field(field, body[at : at + 1], byte, name(byte)) for at, byte in enumerate(body)]
        return fields, b"", "" if fields else "short"

    return read


def _frame_request(body: bytes) -> _Read:
    """Pairs of parameter and freeze frame number."""
    fields = []
    for at in range(0, len(body) - 1, 2):
        fields.append(Field("PID", body[at : at + 1], body[at], pid_name(body[at])))
        fields.append(Field("frame", body[at + 1 : at + 2], body[at + 1], f"frame {body[at + 1]}"))
    rest = body[len(fields) :]
    return fields, rest, "short" if rest or not fields else ""


def _current_data(body: bytes) -> _Read:
    return _walk(body, frame=False)


def _freeze_frame(body: bytes) -> _Read:
    return _walk(body, frame=True)


def _walk(body: bytes, *, frame: bool) -> _Read:
    """Parameter, perhaps its frame, and as many bytes as that parameter has; again and again."""
    fields: list[Field] = []
    at = 0
    width = 2 if frame else 1
    while at < len(body):
        number = body[at]
        data_at = at + width
        known = PIDS.get(number)
        end = data_at + known.size if known else len(body)
        if end > len(body) or data_at > len(body) or (known is None and end == data_at):
            return fields, body[at:], "short"
        fields.append(Field("PID", body[at : at + 1], number, pid_name(number)))
        if frame:
            fields.append(Field("frame", body[at + 1 : data_at], body[at + 1], f"frame {body[at + 1]}"))
        fields.append(_value(number, body[data_at:end], frame))
        at = end
    return fields, b"", "" if fields else "short"


def _value(number: int, data: bytes, frame: bool) -> Field:
    if number % 0x20 == 0 and len(data) == 4:
        return _mask(number, data)
    if frame and number == 0x02 and len(data) == 2:
        return Field("DTC", data, int.from_bytes(data, "big"), dtc.format_code(data))
    value = scale(number, data)
    return Field("data", data, data if value is None else value, pid_text(number, data))


def _codes(body: bytes) -> _Read:
    count, codes, rest = split_codes(body)
    fields = []
    if count is not None:
        fields.append(Field("numberOfDTC", body[:1], count, f"{count} trouble code{'' if count == 1 else 's'}"))
    fields += [_code(code, filled=count is None) for code in codes]
    if not body or (count is not None and len(codes) < count):
        return fields, rest, "short"
    return fields, rest, "long" if rest else ""


def _code(code: bytes, *, filled: bool = False) -> Field:
    if filled and code == b"\0\0":
        return Field("filler", code, 0, "no code")
    return Field("DTC", code, int.from_bytes(code, "big"), dtc.format_code(code))


def _monitor_tests(body: bytes) -> _Read:
    """A mask of supported monitors, or results: monitor, test, unit and scaling, value, minimum, maximum."""
    fields: list[Field] = []
    at = 0
    while at < len(body):
        monitor = body[at]
        number = Field("OBDMID", body[at : at + 1], monitor, f"monitor 0x{monitor:02X}")
        end = at + (5 if monitor % 0x20 == 0 else 9)
        if end > len(body):
            return fields, body[at:], "short"
        fields.append(number)
        if monitor % 0x20 == 0:
            fields.append(_mask(monitor, body[at + 1 : end]))
        else:
            fields += _test_result(body[at + 1 : end])
        at = end
    return fields, b"", "" if fields else "short"


def _test_result(data: bytes) -> Iterator[Field]:
    yield Field("testID", data[:1], data[0], f"test 0x{data[0]:02X}")
    yield Field("unitAndScalingID", data[1:2], data[1], f"scaling 0x{data[1]:02X}")
    for at, name in ((2, "testValue"), (4, "minimumTestLimit"), (6, "maximumTestLimit")):
        value = int.from_bytes(data[at : at + 2], "big")
        yield Field(name, data[at : at + 2], value, f"{name} {value}")


def _information_name(number: int) -> str:
    name = INFORMATION_TYPES.get(number)
    return f"0x{number:02X} {name}" if name else f"0x{number:02X}"


def _information(body: bytes) -> _Read:
    """Information type, on CAN the number of items (elsewhere the message's number), and the data."""
    if len(body) < 2:
        return [], body, "short"
    number = body[0]
    fields = [Field("infoType", body[:1], number, _information_name(number))]
    if number % 0x20 == 0 and len(body) == 5:
        return [*fields, _mask(number, body[1:])], b"", ""
    fields.append(Field("numberOfDataItems", body[1:2], body[1], _count_text(number, body)))
    data = body[2:]
    if number % 0x20 == 0 and len(data) == 4:
        fields.append(_mask(number, data))
    elif data:
        plain = data.strip(b"\0")
        readable = number in (0x02, 0x04, 0x0A) and all(0x20 <= byte <= 0x7E or byte == 0 for byte in plain)
        text = plain.replace(b"\0", b" ").decode("ascii") if readable else hex_text(data)
        shown = f"{text} ({hex_text(data)})" if readable and number == 0x02 and b"\0" in data else text
        fields.append(Field("data", data, text if readable else data, shown))
    return fields, b"", ""


def _count_text(number: int, body: bytes) -> str:
    """Four bytes of a VIN are one message of several on a K-line; else the second byte counts what follows."""
    if number == 0x02 and len(body) == 6:
        return f"message {body[1]}"
    return f"{body[1]} data item{'' if body[1] == 1 else 's'}"


def _test(body: bytes) -> _Read:
    """One test, then whatever belongs to it."""
    if not body:
        return [], b"", "short"
    fields = [Field("testID", body[:1], body[0], f"testID 0x{body[0]:02X}")]
    if len(body) > 1:
        fields.append(Field("data", body[1:], body[1:], hex_text(body[1:])))
    return fields, b"", ""


def _control(body: bytes) -> _Read:
    """The answer of service 08: a mask of supported tests, or one test and its data."""
    fields, rest, problem = _test(body)
    if len(body) == 5 and body[0] % 0x20 == 0:
        fields[1] = _mask(body[0], body[1:])
    return fields, rest, problem


def _mask(number: int, data: bytes) -> Field:
    return Field("supported", data, supported(number, data), pid_text(number, data))


_REQUESTS: dict[int, Callable[[bytes], _Read]] = {
    0x01: _numbers("PID", pid_name),
    0x02: _frame_request,
    0x03: _nothing,
    0x04: _nothing,
    0x05: _test,
    0x06: _numbers("OBDMID", lambda number: f"monitor 0x{number:02X}"),
    0x07: _nothing,
    0x08: _test,
    0x09: _numbers("infoType", _information_name),
    0x0A: _nothing,
}
_ANSWERS: dict[int, Callable[[bytes], _Read]] = {
    0x01: _current_data,
    0x02: _freeze_frame,
    0x03: _codes,
    0x04: _nothing,
    0x05: _test,
    0x06: _monitor_tests,
    0x07: _codes,
    0x08: _control,
    0x09: _information,
    0x0A: _codes,
}
