"""Traffic made for the tests: frames of ISO 15765-2 from payloads, without the code under test."""

from witnessmark.clock import Stamp
from witnessmark.link.frame import Frame

MS = 1_000_000


def segments(payload: bytes, size: int = 8, pad: bytes = b"\xaa") -> list[bytes]:
    """The frames of one message on classic CAN (ISO 15765-2:2016, 9.6), written out by hand."""
    if len(payload) <= size - 1:
        return [bytes([len(payload)]) + payload + pad * (size - 1 - len(payload))]
    frames = [bytes([0x10 | len(payload) >> 8, len(payload) & 0xFF]) + payload[: size - 2]]
    rest = payload[size - 2 :]
    for at in range(0, len(rest), size - 1):
        part = rest[at : at + size - 1]
        frames.append(bytes([0x20 | (at // (size - 1) + 1) & 15]) + part + pad * (size - 1 - len(part)))
    return frames


class Bus:
    """Collects frames; every frame takes a millisecond unless told otherwise."""

    def __init__(self, start_ns: int = 10**18) -> None:
        self.frames: list[Frame] = []
        self.now_ns = start_ns

    def wait(self, ms: float) -> None:
        self.now_ns += round(ms * MS)

    def put(self, can_id: int, data: bytes, channel: str = "can0") -> None:
        self.wait(1)
        stamp = Stamp(self.now_ns, self.now_ns)
        self.frames.append(Frame(can_id, data, stamp, extended=can_id > 0x7FF, channel=channel))

    def say(self, can_id: int, payload: str | bytes, lose: tuple[int, ...] = ()) -> None:
        payload = bytes.fromhex(payload) if isinstance(payload, str) else payload
        for at, data in enumerate(segments(payload)):
            if at not in lose:
                self.put(can_id, data)


def candump(frames: list[Frame], compact: bool = True) -> bytes:
    """The frames as candump text in its log form."""
    lines = []
    for frame in frames:
        seconds, rest = divmod(frame.stamp.wall_ns, 10**9)
        name = f"{frame.can_id:08X}" if frame.extended else f"{frame.can_id:03X}"
        mark = "##0" if frame.fd else "#"
        data = "R" if frame.kind == "remote" else frame.data.hex().upper()
        lines.append(f"({seconds:010d}.{rest // 1000:06d}) {frame.channel} {name}{mark}{data}\n")
    return "".join(lines).encode()
