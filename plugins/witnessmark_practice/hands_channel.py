"""The way from another process to the hands: one JSON object a line over a local socket.

    {"act": "open", "item": "rear-left", "amount": ""}      -> {"seen": "ok"}
                                                            -> {"what": ..., "place": ..., "hint": ...} when refused

Rules that hold here: a client that does not read its reply within a second is dropped; a line that is no request gets a
refusal; what one client does wrong harms no other.
"""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Callable
from pathlib import Path

import msgspec

from witnessmark.errors import InputError, LinkError

LONGEST_SOCKET_PATH = 90
LONGEST_LINE = 10_000


class Request(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One act."""

    act: str
    item: str = ""
    amount: str = ""


class Reply(msgspec.Struct, frozen=True, omit_defaults=True):
    """What was seen, or why it could not be done."""

    seen: str = ""
    what: str = ""
    place: str = ""
    hint: str = ""


class HandsServer:
    """The truck's side. `do` does one act or raises InputError; `address` is what clients connect to."""

    def __init__(self, folder: Path, do: Callable[[str, str, str], str]) -> None:
        self._do = do
        self._path = folder / "hands"
        if hasattr(socket, "AF_UNIX") and len(str(self._path)) <= LONGEST_SOCKET_PATH:
            self._path.unlink(missing_ok=True)
            self._server = socket.socket(socket.AF_UNIX)
            self._server.bind(str(self._path))
            self._server.listen(8)
            self.address = f"unix:{self._path}"
        else:
            self._server = socket.create_server(("127.0.0.1", 0))
            self.address = f"tcp:127.0.0.1:{self._server.getsockname()[1]}"
        self._server.setblocking(False)
        self._clients: dict[int, tuple[socket.socket, bytearray]] = {}

    def fds(self) -> list[int]:
        """Return what to wait on."""
        return [self._server.fileno(), *self._clients]

    def serve(self, ready: set[int]) -> None:
        """Admit, answer and part from those clients that are ready."""
        if self._server.fileno() in ready:
            with contextlib.suppress(BlockingIOError):
                client, _ = self._server.accept()
                client.setblocking(False)
                self._clients[client.fileno()] = (client, bytearray())
        for fd in ready & set(self._clients):
            self._hear(fd)

    def close(self) -> None:
        """Part from everybody."""
        for fd in list(self._clients):
            self._part(fd)
        self._server.close()
        self._path.unlink(missing_ok=True)

    def _hear(self, fd: int) -> None:
        client, text = self._clients[fd]
        try:
            came = client.recv(4096)
        except BlockingIOError:
            return
        except OSError:
            came = b""
        text += came
        if not came or len(text) > LONGEST_LINE:
            self._part(fd)
            return
        while (end := text.find(b"\n")) >= 0:
            line = bytes(text[:end])
            del text[: end + 1]
            try:
                client.setblocking(True)
                client.settimeout(1.0)
                client.sendall(msgspec.json.encode(self._answer(line)) + b"\n")
                client.setblocking(False)
            except OSError:
                self._part(fd)
                return

    def _answer(self, line: bytes) -> Reply:
        try:
            request = msgspec.json.decode(line, type=Request)
            return Reply(seen=self._do(request.act, request.item, request.amount))
        except msgspec.MsgspecError as error:
            return Reply(what=str(error), place="request", hint='write {"act": "open", "item": "rear-left"}')
        except InputError as error:
            return Reply(what=error.what, place=error.place, hint=error.hint)

    def _part(self, fd: int) -> None:
        client, _ = self._clients.pop(fd)
        client.close()


class HandsClient:
    """The other process's side. Connects on first use and again when the truck was started anew."""

    def __init__(self, address: str) -> None:
        self._address = address
        self._socket: socket.socket | None = None

    def do(self, act: str, item: str = "", amount: str = "") -> str:
        """Do one act and return what is seen. Raises InputError when it cannot be done, LinkError without a truck."""
        line = msgspec.json.encode(Request(act, item, amount)) + b"\n"
        try:
            reply = msgspec.json.decode(self._ask(line), type=Reply)
        except (OSError, msgspec.MsgspecError) as error:
            self.close()
            raise LinkError(
                f"the practice truck does not answer its hands at {self._address}: {error}",
                kind="gone",
                hint="start it again: witnessmark practice start FOLDER",
            ) from error
        if reply.what:
            raise InputError(reply.what, place=reply.place, hint=reply.hint)
        return reply.seen

    def close(self) -> None:
        """Part from the truck. May be called twice."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None

    def _ask(self, line: bytes) -> bytes:
        if self._socket is None:
            self._socket = _connect(self._address)
        self._socket.sendall(line)
        answer = bytearray()
        while not answer.endswith(b"\n"):
            came = self._socket.recv(65536)
            if not came:
                raise ConnectionResetError("it hung up")
            answer += came
        return bytes(answer)


def _connect(address: str) -> socket.socket:
    kind, _, where = address.partition(":")
    if kind == "unix":
        client = socket.socket(socket.AF_UNIX)
        client.settimeout(10.0)
        try:
            client.connect(where)
        except OSError:
            client.close()
            raise
        return client
    host, _, number = where.rpartition(":")
    return socket.create_connection((host, int(number)), timeout=10.0)
