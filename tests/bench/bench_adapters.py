"""What the adapters keep up with: a full 500 kbit/s bus without a loss, a stop and tester present through the flood.

WITNESSMARK_BENCH_S sets how long each flood lasts (60 s), and five times that the actuation with tester present.
"""

from __future__ import annotations

import json
import os
import select
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from tests.bench.bus_traffic import RATE
from witnessmark.clock import SystemClock
from witnessmark.host.plugins import open_link
from witnessmark.host.runner_process import SWITCH_S
from witnessmark.link.frame import Peer
from witnessmark.talk.conversation import Conversation
from witnessmark_kline.timing import P3_LEAST_S, P4_LEAST_S

SECONDS = float(os.environ.get("WITNESSMARK_BENCH_S", "60"))
TRAFFIC = [sys.executable, "-m", "tests.bench.bus_traffic"]
UNIT = Peer(0x7E0, 0x7E8)
STOP = b"\x31\x02\x12\x34"
GROUP = "239.74.163.2"
KLINE_STOPS = 200

Row = dict[str, object]


def run() -> list[Row]:
    """Return the rows; each says what was wanted. The threads share the interpreter as in the runner."""
    sys.setswitchinterval(SWITCH_S)
    return [*_serial_line(), *_multicast(), *_stop(), *_keep_alive(), *_kline_stop()]


def _row(name: str, value: object, unit: str, note: str) -> Row:
    return {"name": name, "value": value, "unit": unit, "note": note}


def _rows(bus: str, sent: int, ours: dict[str, Any], theirs: dict[str, Any]) -> list[Row]:
    return [
        _row(f"{bus}: frames sent", sent, "", f"{RATE} a second for {SECONDS:g} s"),
        _row(f"{bus}: lost by our link", sent - ours["heard"], "", f"wanted: 0; in order: {ours['ordered']}"),
        _row(f"{bus}: our CPU", round(ours["cpu_s"], 2), "s", "link and a line of text a frame"),
        _row(f"{bus}: python-can's CPU", round(theirs["cpu_s"], 2), "s", f"its logger heard {theirs['heard']:,}"),
        _row(f"{bus}: ratio", round(ours["cpu_s"] / theirs["cpu_s"], 2), "x", "wanted: at most 1.5"),
    ]


def _serial_line() -> list[Row]:
    figures = []
    for listener in ("ours", "theirs"):
        with _terminal() as (master, path):
            where = (
                [f"canbus:slcan/{path}?bitrate=500000&can.sleep_after_open=0"]
                if listener == "ours"
                else ["slcan", path]
            )
            listening = _start(["listen", listener, *where, str(SECONDS + 10)])
            flooding = _start(["flood", "slcan", str(master), str(SECONDS)], keep=master, ready=False)
            figures.append((_end(flooding), _end(listening)))
    (sent, ours), (_, theirs) = figures
    return _rows("serial line", sent["sent"], ours, theirs)


def _multicast() -> list[Row]:
    prepare = "ip link set lo up && ip link set lo multicast on && ip route add 224.0.0.0/4 dev lo && "
    figures = []
    for listener in ("ours", "theirs"):
        where = f"canbus:udp_multicast/{GROUP}" if listener == "ours" else f"udp_multicast {GROUP}"
        traffic = " ".join(TRAFFIC)
        script = (
            prepare + f"{traffic} listen {listener} '{where}' {SECONDS + 10} & "
            if listener == "ours"
            else prepare + f"{traffic} listen {listener} {where} {SECONDS + 10} & "
        ) + f"sleep 1; {traffic} flood multicast {GROUP} {SECONDS}; wait"
        done = subprocess.run(["unshare", "-rn", "sh", "-c", script], capture_output=True, text=True, check=False)
        if done.returncode:
            return [_row("multicast", "not run", "", "this machine allows no network namespace")]
        figures.append([json.loads(line) for line in done.stdout.splitlines() if line.startswith("{")])
    (ours, theirs) = [{key: value for one in run for key, value in one.items()} for run in figures]
    return _rows("multicast", ours["sent"], ours, theirs)


def _stop() -> list[Row]:
    """From the operator's byte to the stop request written, with the bus flooded and a journal syncing beside."""
    with _flooded(SECONDS) as (talk, flooding):
        inner, outer = socket.socketpair()
        operator = threading.Thread(target=_press, args=(outer, flooding), daemon=True)
        operator.start()
        spent_ms = []
        while flooding.poll() is None:
            ready = select.select([inner, talk.fileno()], [], [], 0.05)[0]
            if inner in ready:
                pressed_ns = int.from_bytes(inner.recv(8), "big")
                exchange = talk.begin(UNIT, STOP, urgent=True)
                assert exchange.left is not None
                spent_ms.append((exchange.left.mono_ns - pressed_ns) / 1e6)
            talk.pump(0.0)
        operator.join()
        inner.close()
        outer.close()
    return _percentiles("serial line: stop under flood", spent_ms)


def _percentiles(name: str, spent_ms: list[float]) -> list[Row]:
    ordered = sorted(spent_ms)
    return [
        _row(f"{name}, p50", round(ordered[len(ordered) // 2], 3), "ms", f"{len(ordered)} stops"),
        _row(f"{name}, p99", round(ordered[int(len(ordered) * 0.99)], 3), "ms", "wanted: at most 10"),
        _row(f"{name}, longest", round(ordered[-1], 3), "ms", ""),
    ]


def _keep_alive() -> list[Row]:
    with _flooded(SECONDS * 5) as (talk, flooding):
        talk.keep_alive(UNIT)
        while flooding.poll() is None:
            select.select([talk.fileno()], [], [], 0.005)
            talk.pump(0.0)
        figures = _end(flooding)
    note = f"{figures['keepalives']} in {SECONDS * 5:g} s under flood, as the far end heard them; wanted: at most 2.2"
    gap_s = figures["gap_s"]
    return [_row("serial line: longest tester present gap", "-" if gap_s is None else round(gap_s, 3), "s", note)]


def _kline_stop() -> list[Row]:
    """What a K-line stop takes beyond P3, P4 and its bytes on the wire."""
    playing = subprocess.Popen([*TRAFFIC, "unit"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert playing.stdout is not None and playing.stdin is not None
    clock, unit = SystemClock(), Peer(0x11, 0x11)
    link = open_kline(playing.stdout.readline().strip())
    try:
        link.wake(unit)
        spent_ms = []
        for _ in range(KLINE_STOPS):
            pressed_ns = clock.mono_ns()
            allowed_ns = max(pressed_ns, link._speech.last_ns + round(P3_LEAST_S * 1e9))
            left = link.send(unit, STOP)
            wire_ns = round((len(STOP) + 3) * (P4_LEAST_S + 10 / 10400) * 1e9)
            spent_ms.append((left.mono_ns - allowed_ns - wire_ns) / 1e6)
            link.receive(0.0)
        return _percentiles("K-line: stop beyond P3 and P4", spent_ms)
    finally:
        link.close()
        playing.stdin.close()
        playing.wait(10.0)
        playing.stdout.close()


def open_kline(address: str) -> Any:
    """Open a K-line link through its module, entry point or not."""
    import witnessmark_kline
    from witnessmark.link import address as addresses

    return witnessmark_kline.open_link(addresses.parse(address), SystemClock(), False)


@contextmanager
def _flooded(seconds: float) -> Iterator[tuple[Conversation, subprocess.Popen[str]]]:
    """A conversation on a flooded serial line, with a thread beside it that syncs a file as the journal does."""
    over = threading.Event()
    journal = threading.Thread(target=_sync, args=(over,), daemon=True)
    with _terminal() as (master, path):
        clock = SystemClock()
        link = open_link(f"canbus:slcan/{path}?bitrate=500000&can.sleep_after_open=0", clock)
        talk = Conversation(link, clock)
        talk.expect(UNIT)
        journal.start()
        flooding = _start(["flood", "slcan", str(master), str(seconds)], keep=master, ready=False)
        try:
            yield talk, flooding
        finally:
            over.set()
            journal.join()
            try:
                flooding.wait(10.0)
            except subprocess.TimeoutExpired:
                flooding.kill()
                flooding.wait()
            link.close()


def _press(button: socket.socket, flooding: subprocess.Popen[str]) -> None:
    while flooding.poll() is None:
        time.sleep(0.21)
        button.send(time.monotonic_ns().to_bytes(8, "big"))


def _sync(over: threading.Event) -> None:
    with tempfile.NamedTemporaryFile("wb") as file:
        while not over.wait(0.02):
            file.write(bytes(512))
            file.flush()
            os.fsync(file.fileno())


@contextmanager
def _terminal() -> Iterator[tuple[int, str]]:
    master, slave = os.openpty()
    path = os.ttyname(slave)
    try:
        yield master, path
    finally:
        os.close(master)
        os.close(slave)


def _start(arguments: list[str], keep: int | None = None, ready: bool = True) -> subprocess.Popen[str]:
    started = subprocess.Popen(
        [*TRAFFIC, *arguments],
        stdout=subprocess.PIPE,
        text=True,
        pass_fds=() if keep is None else (keep,),
    )
    if ready:
        assert started.stdout is not None
        assert started.stdout.readline() == "ready\n"
    return started


def _end(started: subprocess.Popen[str]) -> dict[str, Any]:
    try:
        told, _ = started.communicate(timeout=SECONDS * 6 + 60)
    except subprocess.TimeoutExpired:
        started.kill()
        raise
    assert started.returncode == 0
    figures: dict[str, Any] = json.loads(told.splitlines()[-1])
    return figures
