"""Hands over a local socket: what is asked, what is refused, and clients that misbehave."""

from __future__ import annotations

import select
import socket
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from witnessmark.errors import InputError, LinkError
from witnessmark_practice.hands_channel import LONGEST_SOCKET_PATH, HandsClient, HandsServer


def do(act: str, item: str, amount: str) -> str:
    if act == "break":
        raise InputError("it is broken", place="act", hint="mend it")
    return f"{act} {item} {amount}".strip()


class Serving:
    """A server in a thread."""

    def __init__(self, folder: Path) -> None:
        self.server = HandsServer(folder, do)
        self._ours, self._theirs = socket.socketpair()
        self._thread = threading.Thread(target=self._live, daemon=True)
        self._thread.start()

    def _live(self) -> None:
        while True:
            ready, _, _ = select.select([self._theirs.fileno(), *self.server.fds()], [], [])
            if self._theirs.fileno() in ready:
                return
            self.server.serve(set(ready))

    def end(self) -> None:
        self._ours.send(b"!")
        self._thread.join(10)
        self.server.close()
        self._ours.close()
        self._theirs.close()

    def raw(self) -> socket.socket:
        client = socket.socket(socket.AF_UNIX)
        client.settimeout(10)
        client.connect(self.server.address.removeprefix("unix:"))
        return client


def hung_up(client: socket.socket) -> bool:
    """Whether the server parted from a client; with text of it unread, the system says so by a reset."""
    try:
        return client.recv(10) == b""
    except ConnectionResetError:
        return True


@pytest.fixture
def serving() -> Iterator[Serving]:
    with tempfile.TemporaryDirectory(prefix="wm-") as folder:
        one = Serving(Path(folder))
        yield one
        one.end()


def test_what_is_seen_comes_back(serving: Serving) -> None:
    hands = HandsClient(serving.server.address)
    assert hands.do("open", "rear-left") == "open rear-left"
    assert hands.do("pressurise", "", "2.0 bar") == "pressurise  2.0 bar"
    hands.close()
    assert hands.do("pedal") == "pedal"
    hands.close()


def test_a_refusal_keeps_its_place_and_hint(serving: Serving) -> None:
    hands = HandsClient(serving.server.address)
    with pytest.raises(InputError) as error:
        hands.do("break")
    assert (error.value.what, error.value.place, error.value.hint) == ("it is broken", "act", "mend it")
    hands.close()


@pytest.mark.parametrize(
    "line", [b"open the door\n", b"{}\n", b'{"act": 1}\n', b'{"act": "open", "hand": "left"}\n', b"\n"]
)
def test_a_line_that_is_no_request_is_refused_and_the_next_one_served(serving: Serving, line: bytes) -> None:
    client = serving.raw()
    client.sendall(line + b'{"act": "pedal"}\n')
    text = b""
    while text.count(b"\n") < 2:
        text += client.recv(4096)
    refused, served = text.splitlines()
    assert b'"place":"request"' in refused
    assert served == b'{"seen":"pedal"}'
    client.close()


def test_a_client_that_leaves_in_mid_line_or_never_ends_one_harms_nobody(serving: Serving) -> None:
    serving.raw().close()
    halfway = serving.raw()
    halfway.sendall(b'{"act": "pe')
    halfway.close()
    with serving.raw() as endless:
        endless.sendall(b"x" * 20_000)
        assert hung_up(endless)
    hands = HandsClient(serving.server.address)
    assert hands.do("pedal") == "pedal"
    hands.close()


def test_a_long_folder_name_gets_a_loopback_port_instead(tmp_path: Path) -> None:
    folder = tmp_path / ("x" * LONGEST_SOCKET_PATH)
    folder.mkdir()
    one = Serving(folder)
    assert one.server.address.startswith("tcp:127.0.0.1:")
    hands = HandsClient(one.server.address)
    assert hands.do("pedal") == "pedal"
    hands.close()
    one.end()


def test_nobody_there_is_told() -> None:
    with pytest.raises(LinkError, match="does not answer its hands"):
        HandsClient("unix:/no/such/socket").do("pedal")
