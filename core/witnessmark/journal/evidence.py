"""The evidence file: the entries of one job, and what ties them to a signed checkpoint.

Bytes flow in, `Evidence` flows out, and back; no journal is needed. Rules that hold here: the file is one canonical
JSON text, with a line end after it or not; its entries stand in it to the byte as they stood in the journal; it holds
no other job's entry. Whether what it says is true is for `audit.verify` to tell.
"""

from __future__ import annotations

import json
import re
from typing import NoReturn

import msgspec

from witnessmark.errors import InputError
from witnessmark.journal import canonical
from witnessmark.journal.entry import LaterFormat

FORMAT = 1
"""The format of the file. A reader refuses a higher one."""

_HINT = "export it again; a file that was edited or saved by another program is no longer evidence"


class Earlier(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A checkpoint printed earlier, and the RFC 9162 consistency path from it to the file's own."""

    checkpoint: str
    path: tuple[str, ...]


class Ground(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An entry of no job that the proof rests on (genesis, keys), and its inclusion path."""

    entry: msgspec.Raw
    path: tuple[str, ...]


class Proof(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What ties the entries to the signed note `checkpoint`; hashes are hex, `inclusion` has a path for each entry."""

    checkpoint: str
    consistency: tuple[Earlier, ...]
    inclusion: tuple[tuple[str, ...], ...]
    journal: tuple[Ground, ...]


class Evidence(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An evidence file as it stands: `entries` are exact texts, not read yet."""

    entries: tuple[msgspec.Raw, ...]
    format: int
    proof: Proof | None


def write(texts: list[bytes], proof: Proof | None) -> bytes:
    """Return the evidence file of entries with these exact texts."""
    return canonical.encode_plain(Evidence(tuple(map(msgspec.Raw, texts)), FORMAT, proof)) + b"\n"


def ground(text: bytes, path: tuple[str, ...]) -> Ground:
    """Return the entry with exact text `text` and its inclusion path."""
    return Ground(msgspec.Raw(text), path)


def read(data: bytes, *, name: str = "evidence file") -> Evidence:
    """Return what the file holds, its entries still as texts.

    Raises InputError naming the place when it is no evidence file, cut off, of a later format, or spelled otherwise
    than it was written.
    """
    body = data.removesuffix(b"\n")
    try:
        evidence = msgspec.json.decode(body, type=Evidence)
    except (msgspec.MsgspecError, UnicodeError, RecursionError) as error:
        _refuse(body, name, error)
    if evidence.format != FORMAT:
        _later(evidence.format, name)
    if canonical.encode_plain(evidence) != body:
        raise InputError("it is not spelled as it was written", place=name, hint=_HINT)
    return evidence


def readable_part(data: bytes) -> list[bytes]:
    """Return the texts of the whole entries at the beginning of a file that was cut off or is damaged further on."""
    begin = b'{"entries":['
    if not data.startswith(begin):
        return []
    text = data.decode("utf-8", errors="replace")
    decoder, at = json.JSONDecoder(), len(begin)
    found: list[bytes] = []
    while True:
        try:
            _, end = decoder.raw_decode(text, at)
        except (ValueError, RecursionError):
            return found
        found.append(text[at:end].encode())
        if text[end : end + 1] != ",":
            return found
        at = end + 1


def _refuse(body: bytes, name: str, error: Exception) -> NoReturn:
    later = re.search(rb'"format":([0-9]{1,9}),"proof":[^"]', body)
    if later and int(later[1]) > FORMAT:
        _later(int(later[1]), name)
    raise InputError(f"it is not an evidence file, or it is damaged: {error}", place=name, hint=_HINT) from error


def _later(number: int, name: str) -> NoReturn:
    raise LaterFormat(
        f"its format is {number}, known here is {FORMAT}",
        place=f"{name}, format",
        hint="use a newer version of witnessmark",
    )
