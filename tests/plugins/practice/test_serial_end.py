"""The adapter's end of the line: clients come and go, and nothing waits or spins."""

from __future__ import annotations

import os
import select
from pathlib import Path

import pytest
import serial

from witnessmark_practice.serial_end import PtyEnd, TcpEnd


class Line:
    """A pseudo-terminal and what was noticed of its clients."""

    def __init__(self, folder: Path) -> None:
        self.left = 0
        self.end = PtyEnd(folder / "port", self._gone)

    def _gone(self) -> None:
        self.left += 1

    def ready(self, wait_s: float = 5.0) -> bool:
        return bool(select.select(self.end.fds(), [], [], wait_s)[0])

    def take(self) -> bytes:
        assert self.ready()
        return self.end.read()


def read_all(port: serial.Serial, count: int) -> bytes:
    port.timeout = 5
    return bytes(port.read(count))


@pytest.fixture
def line(tmp_path: Path) -> Line:
    return Line(tmp_path)


def test_an_idle_line_causes_no_wake_ups(line: Line) -> None:
    assert not line.ready(0)
    assert line.left == 0


def test_characters_go_both_ways_and_a_client_that_left_is_noticed_once(line: Line) -> None:
    with serial.Serial(line.end.port) as client:
        client.write(b"hello")
        assert line.take() == b"hello"
        line.end.write(b"hello yourself")
        assert read_all(client, 14) == b"hello yourself"
    assert line.take() == b""
    assert line.left == 1
    assert not line.ready(0)


def test_the_next_client_finds_the_same_port_and_nothing_of_the_one_before(line: Line) -> None:
    name = os.readlink(line.end.port)
    with serial.Serial(line.end.port) as client:
        client.write(b"one")
        line.take()
        line.end.write(b"left unread")
    line.take()
    assert os.readlink(line.end.port) == name
    with serial.Serial(line.end.port) as client:
        client.write(b"two")
        assert line.take() == b"two"
        line.end.write(b"fresh")
        assert read_all(client, 5) == b"fresh"


def test_a_client_that_only_looks_disturbs_nothing(line: Line) -> None:
    serial.Serial(line.end.port).close()
    assert not line.ready(0)
    with serial.Serial(line.end.port) as client:
        client.write(b"x")
        assert line.take() == b"x"


def test_a_slow_reader_is_not_waited_for(line: Line) -> None:
    with serial.Serial(line.end.port) as client:
        client.write(b"x")
        line.take()
        line.end.write(b"y" * 200_000)
        assert line.end.waiting() > 0
        taken = 0
        while taken < 200_000:
            taken += len(read_all(client, 1000))
            line.end.write(b"")
        assert line.end.waiting() == 0


def test_a_pulled_plug_hangs_the_client_up_and_can_be_put_back(line: Line) -> None:
    client = serial.Serial(line.end.port, timeout=5)
    client.write(b"x")
    line.take()
    line.end.unplug()
    assert not os.path.lexists(line.end.port)
    with pytest.raises(serial.SerialException):
        client.read(1)
    client.close()
    line.end.write(b"nobody hears this")
    assert line.end.waiting() == 0
    line.end.plug()
    with serial.Serial(line.end.port) as again:
        again.write(b"back")
        assert line.take() == b"back"


def test_without_a_pseudo_terminal_a_tcp_port_does_the_same() -> None:
    left: list[bool] = []
    end = TcpEnd(lambda: left.append(True))
    with serial.serial_for_url(end.port) as client:
        client.write(b"hello")
        came = b""
        while not came:
            select.select(end.fds(), [], [], 5)
            came = end.read()
        assert came == b"hello"
        end.write(b"hello yourself")
        assert read_all(client, 14) == b"hello yourself"
    while not left:
        select.select(end.fds(), [], [], 5)
        end.read()
    end.unplug()
    with pytest.raises(serial.SerialException):
        serial.serial_for_url(end.port)
    end.plug()
    serial.serial_for_url(end.port).close()
    end.unplug()
