"""The bytes of a recording: a path in, a buffer out, gzip undone on the way.

Rules: a plain file is mapped, not copied; a gzip that breaks off gives what was readable before the break, and the
error beside it says where that was.
"""

from __future__ import annotations

import mmap
import os
import stat
import zlib
from pathlib import Path
from typing import BinaryIO

from witnessmark.errors import InputError

Buffer = bytes | mmap.mmap
"""What readers read from: slices of either are bytes."""

_CHUNK = 1 << 20


def read_source(path: Path) -> tuple[Buffer, InputError | None]:
    """Return the content of a file, and what broke its reading off, if anything did.

    Raises InputError when the file cannot be opened at all.
    """
    try:
        with path.open("rb") as file:
            content = _whole(file)
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(
            f"cannot be read ({why})", place=str(path), hint="check the name and the permissions"
        ) from None
    return unpack(path, content)


def unpack(path: Path, content: Buffer) -> tuple[Buffer, InputError | None]:
    """Undo gzip where there is any; return what broke it off, if anything did."""
    if content[:2] == b"\x1f\x8b":
        return _gunzip(path, content[:])
    return content, None


def _whole(file: BinaryIO) -> Buffer:
    status = os.fstat(file.fileno())
    if stat.S_ISREG(status.st_mode) and status.st_size:
        return mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    return file.read()


def _gunzip(path: Path, packed: bytes) -> tuple[bytes, InputError | None]:
    """Undo gzip, member after member (RFC 1952)."""
    parts: list[bytes] = []
    rest = packed
    while rest.strip(b"\0"):
        member = zlib.decompressobj(wbits=31)
        try:
            for at in range(0, len(rest), _CHUNK):
                before = member.copy()
                parts.append(member.decompress(rest[at : at + _CHUNK]))
                if member.eof:
                    rest = member.unused_data + rest[at + _CHUNK :]
                    break
        except zlib.error as error:
            parts += _until_damage(before, rest[at : at + _CHUNK])
            return _broken(path, parts, f"gzip is damaged: {_DAMAGES.get(str(error).rpartition(': ')[2], error)}")
        if not member.eof:
            parts.append(member.flush())
            return _broken(path, parts, "gzip ends early")
    return b"".join(parts), None


_DAMAGES = {
    "incorrect data check": "its checksum does not fit, so anything in it may be wrong",
    "incorrect length check": "it holds another length than it says",
    "incorrect header check": "what follows there is no gzip",
}
"""What zlib says, for people."""


def _until_damage(member: zlib._Decompress, packed: bytes) -> list[bytes]:
    """Give what can be unpacked of a piece before its damage, by shorter steps towards it: an error gives nothing."""
    parts: list[bytes] = []
    at = 0
    for step in (4096, 64, 1):
        while at < len(packed):
            before = member.copy()
            try:
                parts.append(member.decompress(packed[at : at + step]))
            except zlib.error:
                member = before
                break
            at += step
    return parts


def _broken(path: Path, parts: list[bytes], what: str) -> tuple[bytes, InputError]:
    content = b"".join(parts)
    place = f"{path} after byte {len(content)} of what was packed"
    return content, InputError(
        what, place=place, hint="copy the file again; what came before is read, its end may be wrong"
    )
