"""The adapter's end of the serial line: a pseudo-terminal, or a loopback TCP port where there is none.

Characters flow both ways without ever waiting. Rules that hold here: the pseudo-terminal keeps its name while clients
come and go; we hold its other end open until a client has said something, so that an idle line causes no wake-ups; a
pulled plug hangs the client up and the port is gone until it is plugged in again.
"""

from __future__ import annotations

import contextlib
import os
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

MOST_WAITING = 64_000


class SerialEnd(Protocol):
    """What both kinds do. `port` is what pyserial opens; `fds` what to wait on; `gone` is called when a client left."""

    port: str

    def fds(self) -> list[int]: ...
    def read(self) -> bytes: ...
    def write(self, characters: bytes) -> None: ...
    def waiting(self) -> int: ...
    def plug(self) -> None: ...
    def unplug(self) -> None: ...


class PtyEnd:
    """A pseudo-terminal behind the symbolic link `link`."""

    def __init__(self, link: Path, gone: Callable[[], None]) -> None:
        self.port = str(link)
        self._link = link
        self._gone = gone
        self._ours = self._theirs = -1
        self._waiting = bytearray()
        self.plug()

    def fds(self) -> list[int]:
        return [] if self._ours < 0 else [self._ours]

    def read(self) -> bytes:
        """Return what came; nothing when the client left (then `gone` was called)."""
        try:
            characters = os.read(self._ours, 4096)
        except BlockingIOError:
            return b""
        except OSError:  # Linux says EIO when the last client closed
            characters = b""
        if not characters:
            self._hold()
            self._gone()
        elif self._theirs >= 0:
            os.close(self._theirs)
            self._theirs = -1
        return characters

    def write(self, characters: bytes) -> None:
        self._waiting += characters
        if self._ours < 0:
            self._waiting.clear()
            return
        try:
            while self._waiting:
                del self._waiting[: os.write(self._ours, self._waiting)]
        except BlockingIOError:
            return
        except OSError:  # the client left; `read` will say so
            self._waiting.clear()

    def waiting(self) -> int:
        return len(self._waiting)

    def plug(self) -> None:
        """Make the line anew, unless it is there."""
        if self._ours >= 0:
            return
        import tty

        self._ours, self._theirs = os.openpty()
        self._name = os.ttyname(self._theirs)
        tty.setraw(self._theirs)
        os.set_blocking(self._ours, False)
        fresh = self._link.with_name(self._link.name + ".new")
        fresh.unlink(missing_ok=True)
        fresh.symlink_to(self._name)
        os.replace(fresh, self._link)

    def unplug(self) -> None:
        """Pull the plug: the client is hung up, the port is gone."""
        self._link.unlink(missing_ok=True)
        for fd in (self._ours, self._theirs):
            if fd >= 0:
                os.close(fd)
        self._ours = self._theirs = -1
        self._waiting.clear()

    def _hold(self) -> None:
        """Hold the client's end ourselves until the next one speaks; what the last one left unread is dropped."""
        import termios
        import tty

        self._waiting.clear()
        self._theirs = os.open(self._name, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self._theirs)
        termios.tcflush(self._theirs, termios.TCIOFLUSH)


class TcpEnd:
    """A loopback TCP port that serves one client at a time, `socket://127.0.0.1:PORT` for pyserial."""

    def __init__(self, gone: Callable[[], None]) -> None:
        self._gone = gone
        self._server: socket.socket | None = None
        self._client: socket.socket | None = None
        self._number = 0
        self._waiting = bytearray()
        self.port = ""
        self.plug()

    def fds(self) -> list[int]:
        return [each.fileno() for each in (self._server, self._client) if each is not None]

    def read(self) -> bytes:
        """Admit a client that waits, and return what the present one sent."""
        if self._server is not None:
            with contextlib.suppress(BlockingIOError):
                newcomer, _ = self._server.accept()
                if self._client is None:
                    newcomer.setblocking(False)
                    self._client = newcomer
                else:
                    newcomer.close()  # one client at a time
        if self._client is None:
            return b""
        try:
            characters = self._client.recv(4096)
        except BlockingIOError:
            return b""
        except OSError:
            characters = b""
        if not characters:
            self._drop()
            self._gone()
        return characters

    def write(self, characters: bytes) -> None:
        self._waiting += characters
        if self._client is None:
            self._waiting.clear()
            return
        try:
            while self._waiting:
                del self._waiting[: self._client.send(self._waiting)]
        except BlockingIOError:
            return
        except OSError:  # the client left; `read` will say so
            self._waiting.clear()

    def waiting(self) -> int:
        return len(self._waiting)

    def plug(self) -> None:
        if self._server is None:
            self._server = socket.create_server(("127.0.0.1", self._number), backlog=2)
            self._server.setblocking(False)
            self._number = self._server.getsockname()[1]
            self.port = f"socket://127.0.0.1:{self._number}"

    def unplug(self) -> None:
        self._drop()
        if self._server is not None:
            self._server.close()
            self._server = None

    def _drop(self) -> None:
        self._waiting.clear()
        if self._client is not None:
            self._client.close()
            self._client = None


def make_serial_end(link: Path, gone: Callable[[], None], *, tcp: bool = False) -> SerialEnd:
    """Return a pseudo-terminal, or the TCP port where the machine has none or `tcp` asks for it."""
    if tcp or not hasattr(os, "openpty"):
        return TcpEnd(gone)
    return PtyEnd(link, gone)
