"""Why an interface could not be opened: what the operating system says, as an error of the tree.

In: the place and the exception that opening it raised. Out: a LinkError of kind `permission`, `busy` or `missing`, or
an InputError for what is no interface at all. Rules that hold here: each has its own thing to do; nothing was sent.
"""

from __future__ import annotations

import errno
import os

from witnessmark.errors import InputError, LinkError

RIGHTS = {errno.EACCES, errno.EPERM}
TAKEN = {errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK}
ABSENT = {errno.ENOENT, errno.ENODEV, errno.ENXIO}
NO_PORT = {errno.ENOTTY, errno.EISDIR, errno.ENOTDIR, errno.EINVAL}


def cannot_open(place: str, error: BaseException, *, write: str) -> LinkError | InputError:
    """Return why the port at `place` cannot be opened; `write` shows how an address of this adapter is written.

    `error` is what opening raised; the number of the operating system is looked for in what caused it, too, so that an
    error of a library that wraps it is told apart as well.
    """
    number = errno_of(error)
    if number in RIGHTS:
        return _refused("permission", f"no permission to open {place}", _ask_for_rights(place))
    if number in TAKEN:
        return _refused("busy", f"another program has {place}", "close the other program, then try again")
    if number in ABSENT:
        return _refused(
            "missing", f"there is no interface at {place}", "plug it in; `witnessmark adapters find` tells its name"
        )
    if number in NO_PORT:
        return InputError(
            f"it is no port of an interface ({os.strerror(number or 0)})", place=place, hint=f"write {write}"
        )
    if number is None:
        return InputError(f"it cannot be opened: {error}", place=place, hint=f"write {write}")
    return _refused(
        "missing",
        f"{place} cannot be opened ({os.strerror(number)})",
        "check its driver, plug it in again, then try again",
    )


def errno_of(error: BaseException) -> int | None:
    """Return the operating system's number of an error, or of the nearest one that caused it; None where none has."""
    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, OSError) and seen.errno is not None:
            return seen.errno
        if type(seen).__module__ == "termios" and seen.args and isinstance(seen.args[0], int):
            return seen.args[0]  # its error is no OSError, and carries the number all the same
        seen = seen.__cause__ or seen.__context__
    return None


def _ask_for_rights(place: str) -> str:
    """Return what to do about a missing right; names the group that has it, where the system tells."""
    try:
        import grp

        owner = os.stat(place)
        group = grp.getgrgid(owner.st_gid).gr_name
    except (ImportError, OSError, KeyError):
        return "join the group that owns the port (often dialout), then sign in again"
    if owner.st_mode & 0o060 != 0o060:
        return f"only its owner may open it: have the group {group} given the right, or run as its owner"
    return f"join the group {group}, which owns the port, then sign in again"


def _refused(kind: str, what: str, hint: str) -> LinkError:
    return LinkError(what, kind=kind, hint=hint, reached="nothing")
