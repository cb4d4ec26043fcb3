"""The one spelling of a JSON value (RFC 8785), and the reader that takes no other.

Values flow in, bytes flow out, and back. Rules that hold here:

- object keys are ASCII, so sorting by byte is RFC 8785's sorting by UTF-16 code unit (3.2.3);
- there are no floats, and integers lie strictly between -2**53 and 2**53: anything else is a decimal string;
- bytes (hashes, salts) are lower-case hex; bytes of the wire come in as upper-case text already (`bodies`);
- nesting ends at `MAX_DEPTH`;
- the reader accepts a text only if writing what it read gives the same bytes. That one comparison refuses duplicate
  keys, other orders, white space, other escapes and `-0`.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, NoReturn, TypeVar

import msgspec

from witnessmark.errors import InputError

T = TypeVar("T")

MAX_DEPTH = 64
INTEGER_BOUND = 2**53
"""RFC 8785, 3.2.2.3 and appendix D: beyond it, readers that hold numbers as doubles change them."""

_ENCODER = msgspec.json.Encoder(order="deterministic")


def encode(value: Any, *, place: str = "value") -> bytes:
    """Return the canonical text of dicts, lists, tuples, strings, bytes, integers, booleans and None.

    Raises InputError naming the place inside the value when it lies outside the domain.
    """
    return encode_plain(plain(value, place))


def encode_plain(value: Any) -> bytes:
    """Return the canonical text of what `plain` made, or of a Struct of such whose fields stand in sorted order."""
    return _ENCODER.encode(value)


def plain(value: Any, place: str, depth: int = 0) -> Any:
    """Return `value` with bytes as hex and tuples as lists. Raises InputError where it lies outside the domain."""
    if depth == 0 and type(value) is dict and _is_plain(value, MAX_DEPTH):
        return value
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return _plain_text(value, place)
    if isinstance(value, int):
        if not -INTEGER_BOUND < value < INTEGER_BOUND:
            raise InputError("integer of 2**53 or more", place=place, hint="write it as a decimal string")
        return int(value)
    if isinstance(value, bytes | bytearray):
        return value.hex()
    if depth >= MAX_DEPTH:
        raise InputError(f"nested more than {MAX_DEPTH} deep", place=place, hint="flatten it")
    if isinstance(value, dict):
        return {_key(key, place): plain(item, f"{place}.{key}", depth + 1) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item, f"{place}[{index}]", depth + 1) for index, item in enumerate(value)]
    raise InputError(
        f"{type(value).__name__} has no canonical text",
        place=place,
        hint="use text, whole numbers, true, false, null, lists and objects; a decimal is a string",
    )


def _refuse_float(number: str) -> NoReturn:
    raise ValueError(f"{number} is not a whole number")


def reader(kind: type[T]) -> Callable[[bytes, str], T]:
    """Return a strict reader of `kind`. It takes bytes and their place, and raises InputError unless canonical.

    It leaves integers and depth of untyped parts to `within`, which whoever defines `kind` calls on those parts.
    """
    decoder = msgspec.json.Decoder(kind, float_hook=_refuse_float)
    decode, write = decoder.decode, _ENCODER.encode

    def read(data: bytes, place: str) -> T:
        try:
            value = decode(data)
            same = write(value) == data
        except (msgspec.MsgspecError, UnicodeError, RecursionError) as error:
            _refuse(data, place, error)
        if not same:
            _refuse(data, place, None)
        return value

    return read


def reader_of_many(kind: type[T]) -> Callable[[list[bytes]], list[T] | None]:
    """Return what reads many texts as `reader` does, at less cost: it gives None when any of them is refused.

    They are compared with what is written of them all at once, a line each. As the writer never writes a line end
    inside one, and there are as many as were read, all are the same only if each is.
    """
    decode, write = msgspec.json.Decoder(kind, float_hook=_refuse_float).decode, _ENCODER.encode_lines

    def read(texts: list[bytes]) -> list[T] | None:
        try:
            values = [decode(text) for text in texts]
            same = write(values) == b"\n".join([*texts, b""])
        except (msgspec.MsgspecError, UnicodeError, RecursionError):
            return None
        return values if same else None

    return read


def within(value: Any, place: str) -> None:
    """Raise InputError naming the place unless the decoded `value` keeps to the domain's integers, keys and depth."""
    if not _is_within(value, MAX_DEPTH):
        plain(value, place)


def parse(data: bytes, *, place: str) -> Any:
    """Return the value of a canonical text. Raises InputError naming `place` for any other spelling."""
    value = _read_any(data, place)
    plain(value, place)
    return value


def _is_within(value: Any, depth: int) -> bool:
    if type(value) is dict:
        if not "".join(value).isascii():
            return False
        items: Any = value.values()
    else:
        items = value
    for item in items:
        kind = type(item)
        if kind is str:
            continue
        if kind is int:
            if not -INTEGER_BOUND < item < INTEGER_BOUND:
                return False
        elif (kind is dict or kind is list) and (depth == 1 or not _is_within(item, depth - 1)):
            return False
    return True


def _is_plain(value: dict[str, Any] | list[Any], depth: int) -> bool:
    """Tell whether `value` has a canonical text as it is. What is rarer (other letters than ASCII) is not told here."""
    items: Any = value
    if type(value) is dict:
        for key in value:
            if type(key) is not str or not key.isascii():
                return False
        items = value.values()
    for item in items:
        kind = type(item)
        if kind is str:
            if not item.isascii():
                return False
        elif kind is int:
            if not -INTEGER_BOUND < item < INTEGER_BOUND:
                return False
        elif kind is dict or kind is list:
            if depth == 1 or not _is_plain(item, depth - 1):
                return False
        elif item is not None and kind is not bool:
            return False
    return True


def _key(key: Any, place: str) -> str:
    if not isinstance(key, str) or not key.isascii():
        raise InputError(f"key {key!r} is not ASCII text", place=place, hint="use ASCII names for keys")
    return key


def _plain_text(value: str, place: str) -> str:
    try:
        value.encode()
    except UnicodeEncodeError as error:
        raise InputError("text holds half a surrogate pair", place=place, hint="enter the text again") from error
    return str(value)


def _refuse(data: bytes, place: str, error: Exception | None) -> NoReturn:
    what = _why(data) or (f"not readable: {error}" if error else "not the canonical spelling of this JSON")
    raise InputError(what, place=place, hint="use the file as it was written, not one edited or saved again") from error


def _why(data: bytes) -> str | None:
    """Return what is wrong in words, where the standard library's lenient reader can still tell."""
    twice: list[str] = []

    def pairs(items: list[tuple[str, Any]]) -> dict[str, Any]:
        names = [name for name, _ in items]
        twice.extend(name for name in names if names.count(name) > 1)
        return dict(items)

    try:
        json.loads(data, object_pairs_hook=pairs)
    except (ValueError, RecursionError):
        return None
    return f"key {twice[0]!r} is there twice" if twice else None


_read_any: Callable[[bytes, str], Any] = reader(object)
