"""The multicast bus between two processes' worth of sockets, inside a network namespace of its own."""

from __future__ import annotations

import shutil
import subprocess
import sys

import pytest

IN_NAMESPACE = """
set -e
ip link set lo up
ip link set lo multicast on
ip route add 224.0.0.0/4 dev lo
exec "$0" -W error -c "$1"
"""
TALK = """
import os, socket
import can, msgpack
import witnessmark_canbus
from witnessmark.clock import SystemClock
from witnessmark.link import address
from witnessmark.link.frame import Frame
far = can.Bus(interface="udp_multicast", channel="239.74.163.2")
link = witnessmark_canbus.open_link(address.parse("canbus:udp_multicast/239.74.163.2"), SystemClock(), False)
with socket.socket(fileno=os.dup(link.fileno())) as same:
    assert same.getsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF) >= 4 << 20, "a second of a full bus may wait"
link.send(Frame(0x7E0, b"\\x02\\x3e\\x00", SystemClock().stamp()))
heard = far.recv(5.0)
assert (heard.arbitration_id, bytes(heard.data)) == (0x7E0, b"\\x02\\x3e\\x00"), heard
came = []
for number in range(400):
    far.send(can.Message(arbitration_id=0x7E8, is_extended_id=False, data=number.to_bytes(2, "big")))
    came += link.receive(0.0)
while len(came) < 401:
    new = link.receive(5.0)
    assert new, len(came)
    came += new
assert came[0].origin == "echo"
assert [int.from_bytes(one.data, "big") for one in came[1:]] == list(range(400))
assert {one.origin for one in came[1:]} == {"received"}
stamps = [one.stamp for one in came]
assert all(abs(one.device_ns - one.wall_ns) < 5_000_000_000 for one in stamps), "the kernel's time of arrival"
link.close(); far.shutdown()
print("all heard")
"""


def namespaces() -> bool:
    if shutil.which("unshare") is None or shutil.which("ip") is None:
        return False
    return subprocess.run(["unshare", "-rn", "true"], capture_output=True, check=False).returncode == 0


@pytest.mark.skipif(not namespaces(), reason="this machine allows no network namespace, or has no ip command")
def test_a_multicast_bus_carries_frames_and_its_echo_is_no_reply() -> None:
    done = subprocess.run(
        ["unshare", "-rn", "sh", "-c", IN_NAMESPACE, sys.executable, TALK],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.stdout.strip() == "all heard", done.stderr
