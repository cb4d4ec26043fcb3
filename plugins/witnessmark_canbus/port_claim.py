"""Claims a serial port before anything is written to it.

python-can opens a serial-line interface without a lock and writes at once; another program's session on it would be
disturbed. In: a device path. Out: a call that gives the claim back. Rules: each way of failing has its own kind.
"""

from __future__ import annotations

import os
from collections.abc import Callable

from witnessmark.plugin import LinkError


def claim(path: str) -> Callable[[], None]:
    """Lock the device at `path`. Raises LinkError `missing`, `permission` or `busy`; a URL is left to the library."""
    if "://" in path or os.name != "posix":
        return _nothing
    import fcntl

    try:
        number = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    except PermissionError as error:
        raise _refused(
            "permission", f"no permission to open {path}", "join the group that owns the port (often dialout)"
        ) from error
    except OSError as error:
        raise _refused(
            "missing", f"there is no interface at {path}: {error.strerror}", "plug it in and look for its name"
        ) from error
    try:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        os.close(number)
        raise _refused("busy", f"another program has {path}", "close the other program, then try again") from error
    held = [number]
    return lambda: os.close(held.pop()) if held else None


def _nothing() -> None:
    """Give back nothing."""


def _refused(kind: str, what: str, hint: str) -> LinkError:
    return LinkError(what, kind=kind, hint=hint, reached="nothing")
