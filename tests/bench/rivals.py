"""What a user would otherwise chain together to get messages out of candump text, each as fast as it goes.

All give {identifier: [messages]}. None of them pairs requests with answers; tshark decodes, the others do not.
"""

from __future__ import annotations

import logging
import shutil
import subprocess
from collections import deque
from pathlib import Path

from tests.bench.captures import Messages


def python_can_and_can_isotp(path: Path) -> Messages:
    """python-can's reader, then one listening can-isotp layer for each identifier, fed with all its frames at once."""
    import can
    import isotp

    logging.getLogger("isotp").setLevel(logging.CRITICAL)  # it warns of each flow control frame, which takes time
    by_id: dict[int, deque[isotp.CanMessage]] = {}
    for message in can.CanutilsLogReader(str(path)):
        frame = isotp.CanMessage(arbitration_id=message.arbitration_id, data=message.data, dlc=message.dlc)
        by_id.setdefault(message.arbitration_id, deque()).append(frame)
    found: Messages = {}
    for can_id, frames in by_id.items():
        layer = isotp.TransportLayerLogic(
            rxfn=lambda _timeout, frames=frames: frames.popleft() if frames else None,
            txfn=lambda _message: None,
            address=isotp.Address(isotp.AddressingMode.Normal_11bits, rxid=can_id, txid=can_id ^ 8),
            params={"listen_mode": True, "rx_consecutive_frame_timeout": 1_000_000},
        )
        messages: list[bytes] = []
        while frames:
            layer.process()
            while (payload := layer.recv()) is not None:
                messages.append(bytes(payload))
        found[f"{can_id:03X}"] = messages
    return found


def scapy_builder(path: Path) -> Messages:
    """scapy's candump reader and message builder."""
    from scapy.contrib.isotp import ISOTPMessageBuilder
    from scapy.layers.can import CandumpReader

    builder = ISOTPMessageBuilder(use_ext_address=False)
    with CandumpReader(str(path)) as reader:
        builder.feed(reader.read_all())
    found: Messages = {}
    for message in builder:
        found.setdefault(f"{message.rx_id:03X}", []).append(bytes(message.data))
    return found


def has_tshark() -> bool:
    """Say whether tshark is installed."""
    return shutil.which("tshark") is not None


def tshark(path: Path) -> Messages:
    """tshark with its ISO 15765 and UDS dissectors, asked for the fields that our arrays hold."""
    wanted = ("frame.time_epoch", "can.id", "uds.sid", "uds.reply", "uds.err.code", "uds.rdbi.data_identifier")
    command = ["tshark", "-n", "-r", str(path), "-d", "can.subdissector,iso15765", "-d", "iso15765.subdissector,uds"]
    command += ["-T", "fields", *(part for name in (*wanted, "uds.rdbi.data_record") for part in ("-e", name))]
    out = subprocess.run(command, capture_output=True, check=True).stdout
    found: Messages = {}
    for line in out.decode("ascii").splitlines():
        _, can_id, service, reply, _, identifier, record = line.split("\t")
        if service and identifier:
            first = int(service, 0) | (0x40 if int(reply, 0) else 0)
            payload = bytes((first,)) + int(identifier.split(",")[0], 0).to_bytes(2, "big")
            found.setdefault(f"{int(can_id):03X}", []).append(payload + bytes.fromhex(record.replace(":", "")))
    return found
