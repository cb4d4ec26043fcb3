"""Claims a serial port before anything is written to it.

python-can opens a serial-line interface without a lock and writes at once; another program's session on it would be
disturbed. In: a device path. Out: a call that gives the claim back. Rules: each way of failing has its own kind.
"""

from __future__ import annotations

import os
from collections.abc import Callable

from witnessmark.plugin import cannot_open

WRITE = "canbus:slcan//dev/ttyUSB0?bitrate=500000"


def claim(path: str) -> Callable[[], None]:
    """Lock the device at `path`. Raises LinkError `missing`, `permission` or `busy`; a URL is left to the library."""
    if "://" in path or os.name != "posix":
        return _nothing
    import fcntl

    try:
        number = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    except OSError as error:
        raise cannot_open(path, error, write=WRITE) from error
    try:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        os.close(number)
        raise cannot_open(path, error, write=WRITE) from error
    held = [number]
    return lambda: os.close(held.pop()) if held else None


def _nothing() -> None:
    """Give back nothing."""
