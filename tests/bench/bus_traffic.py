"""The processes of the adapter figures: one floods a bus, one listens with our link or with python-can's logger.

`flood slcan FD SECONDS`, `flood multicast GROUP SECONDS`, `listen ours ADDRESS SECONDS`,
`listen theirs INTERFACE CHANNEL SECONDS`, `unit`. Each prints one JSON object.
"""

from __future__ import annotations

import json
import os
import select
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

RATE = 4000
BLOCK = 40
QUIET_S = 2.0
"""A listener stops after so much silence."""


def flood(write: Callable[[int], None], seconds: float, drain: Callable[[], None]) -> int:
    """Write numbered blocks at the rate of a full bus; return how many frames were written."""
    start = time.monotonic()
    sent = 0
    while sent < RATE * seconds:
        write(sent)
        sent += BLOCK
        drain()
        time.sleep(max(0.0, start + sent / RATE - time.monotonic()))
    return sent


def flood_slcan(number: int, seconds: float) -> dict[str, object]:
    """Flood a pseudo-terminal; note when tester present, suppressed, came from the other side."""
    heard: list[float] = []
    rest = b""

    def write(first: int) -> None:
        raw = b"".join(b"t2008%016X\r" % value for value in range(first, first + BLOCK))
        while raw:
            if not select.select([], [number], [], 5.0)[1]:
                sys.exit("nobody reads")
            raw = raw[os.write(number, raw[:1024]) :]

    def drain() -> None:
        nonlocal rest
        while select.select([number], [], [], 0)[0]:
            try:
                rest += os.read(number, 65536)
            except OSError:
                return
            *lines, rest = rest.split(b"\r")
            heard.extend(time.monotonic() for line in lines if line.startswith(b"t7E0") and b"023E80" in line)

    sent = flood(write, seconds, drain)
    gaps = [later - at for at, later in pairwise(heard)]
    return {"sent": sent, "keepalives": len(heard), "gap_s": max(gaps, default=None)}


def flood_multicast(group: str, seconds: float) -> dict[str, object]:
    """Flood python-can's multicast bus."""
    import can

    bus: Any = can.Bus(interface="udp_multicast", channel=group)

    def write(first: int) -> None:
        for value in range(first, first + BLOCK):
            bus.send(can.Message(arbitration_id=0x200, is_extended_id=False, data=value.to_bytes(8, "big")))

    def drain() -> None:
        while bus.recv(0) is not None:
            pass

    sent = flood(write, seconds, drain)
    bus.shutdown()
    return {"sent": sent}


def listen_ours(address: str, seconds: float) -> dict[str, object]:
    """Listen with the link and write each frame as a line of text, as the logger does."""
    from witnessmark.clock import SystemClock
    from witnessmark.host.plugins import open_link
    from witnessmark.link.frame import Frame
    from witnessmark.link.port import MessageLink

    link = open_link(address, SystemClock())
    assert not isinstance(link, MessageLink)
    print("ready", flush=True)
    numbers: list[int] = []
    events = 0
    begun = time.process_time()
    with tempfile.TemporaryFile("w") as file:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            came = link.receive(0.1)
            if came:
                end = time.monotonic() + QUIET_S
            for one in came:
                if isinstance(one, Frame):
                    numbers.append(int.from_bytes(one.data, "big"))
                    file.write(f"({one.stamp.wall_ns / 1e9:.6f}) {one.channel} {one.can_id:03X}#{one.data.hex()}\n")
                else:
                    events += 1
        cpu_s = time.process_time() - begun
    link.close()
    return {"heard": len(numbers), "ordered": numbers == sorted(numbers), "events": events, "cpu_s": cpu_s}


def listen_theirs(interface: str, channel: str, seconds: float) -> dict[str, object]:
    """Listen with python-can's bus and its candump logger."""
    import can

    more: dict[str, Any] = {"sleep_after_open": 0, "bitrate": 500000} if interface == "slcan" else {}
    bus: Any = can.Bus(interface=interface, channel=channel, **more)
    print("ready", flush=True)
    heard = 0
    with tempfile.TemporaryDirectory() as folder:
        logger = can.Logger(Path(folder) / "bay.log")
        begun = time.process_time()
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            message = bus.recv(0.1)
            if message is not None:
                logger(message)
                heard += 1
                end = time.monotonic() + QUIET_S
        cpu_s = time.process_time() - begun
        logger.stop()
    bus.shutdown()
    return {"heard": heard, "cpu_s": cpu_s}


def play_unit() -> dict[str, object]:
    """Play a control unit on a K-line until standard input ends. Prints its address first."""
    from tests.plugins.kline.unit import KlineUnit

    unit = KlineUnit()
    print(unit.address, flush=True)
    sys.stdin.read()
    unit.close()
    return {}


def main(arguments: list[str]) -> None:
    """Do what the arguments say and print the figures."""
    match arguments:
        case ["flood", "slcan", number, seconds]:
            figures = flood_slcan(int(number), float(seconds))
        case ["flood", "multicast", group, seconds]:
            figures = flood_multicast(group, float(seconds))
        case ["listen", "ours", address, seconds]:
            figures = listen_ours(address, float(seconds))
        case ["listen", "theirs", interface, channel, seconds]:
            figures = listen_theirs(interface, channel, float(seconds))
        case ["unit"]:
            figures = play_unit()
        case _:
            sys.exit(__doc__)
    print(json.dumps(figures))


if __name__ == "__main__":
    main(sys.argv[1:])
