"""Synthetic captures for the figures, and what is in them: candump text, and the messages that were put in."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

_MS = 1_000_000

Messages = dict[str, list[bytes]]
"""For each identifier its messages in order."""


@dataclass
class Capture:
    """A capture's text, how many frames it has, the messages put into it, and (request, answer) in order."""

    text: bytes
    frames: int
    messages: Messages = field(default_factory=dict)
    pairs: list[tuple[str, bytes, str, bytes]] = field(default_factory=list)


def dense(frames: int, units: int, seed: int = 1) -> Capture:
    """Half of the frames are single frames, half belong to messages of 20 to 200 bytes with their flow control; `units`
    control units, 7E0/7E8 and up, are asked and answer side by side, frame by frame."""
    chance = random.Random(seed)
    queues: list[list[tuple[str, bytes]]] = [[] for _ in range(units)]
    capture = Capture(b"", 0)
    lines: list[str] = []
    singles = others = 0
    time_us = 1_700_000_000_000_000
    while len(lines) < frames:
        for unit, queue in enumerate(queues):
            if not queue:
                short = singles <= others
                queue += _exchange(capture, chance, f"{0x7E0 + unit:03X}", f"{0x7E8 + unit:03X}", short)
                # A segmented answer still has a single frame in front of it: its request.
                singles += 2 if short else 1
                others += 0 if short else len(queue) - 1
            time_us += chance.randint(100, 400)
            lines.append(_line(time_us, *queue.pop(0)))
    # What was begun is put in whole, so that nothing is lost at the end.
    for queue in queues:
        for entry in queue:
            time_us += 100
            lines.append(_line(time_us, *entry))
    capture.text, capture.frames = "".join(lines).encode("ascii"), len(lines)
    return capture


def sparse(frames: int, diagnostic: float = 0.02, seed: int = 2) -> Capture:
    """Ordinary traffic of 60 identifiers, in which `diagnostic` of the frames are those of a dense capture."""
    chance = random.Random(seed)
    inner = dense(round(frames * diagnostic), 8, seed)
    waiting = iter(line[line.index(b")") + 2 :] for line in inner.text.splitlines(keepends=True))
    numbers = chance.sample(range(0x080, 0x600), 60)
    every = round(1 / diagnostic)
    lines: list[bytes] = []
    time_us = 1_700_000_000_000_000
    for place in range(frames):
        time_us += 200
        stamp = b"(%010d.%06d) " % divmod(time_us, 1_000_000)
        line = next(waiting, b"") if place % every == 0 else b""
        if not line:
            line = b"can0 %03X#%s\n" % (chance.choice(numbers), chance.randbytes(8).hex().upper().encode("ascii"))
        lines.append(stamp + line)
    lines += [b"(%010d.%06d) " % divmod(time_us + 200, 1_000_000) + line for line in waiting]
    return Capture(b"".join(lines), len(lines), inner.messages, inner.pairs)


def _exchange(capture: Capture, chance: random.Random, asks: str, answers: str, short: bool) -> list[tuple[str, bytes]]:
    identifier = chance.randrange(0x10000).to_bytes(2, "big")
    request = b"\x22" + identifier
    size = 4 if short else chance.randint(17, 197)
    answer = b"\x62" + identifier + chance.randbytes(size)
    capture.messages.setdefault(asks, []).append(request)
    capture.messages.setdefault(answers, []).append(answer)
    capture.pairs.append((asks, request, answers, answer))
    first, *others = segments(answer)
    flow = [(asks, b"\x30\x00\x00".ljust(8, b"\xaa"))] if others else []
    return [(asks, segments(request)[0]), (answers, first), *flow, *((answers, part) for part in others)]


def segments(payload: bytes) -> list[bytes]:
    """Cut a message into padded frames (ISO 15765-2:2016, 9.6)."""
    if len(payload) <= 7:
        return [(bytes((len(payload),)) + payload).ljust(8, b"\xaa")]
    frames = [bytes((0x10 | len(payload) >> 8, len(payload) & 0xFF)) + payload[:6]]
    for number, at in enumerate(range(6, len(payload), 7), 1):
        frames.append((bytes((0x20 | number & 15,)) + payload[at : at + 7]).ljust(8, b"\xaa"))
    return frames


def _line(time_us: int, name: str, data: bytes) -> str:
    return f"({time_us // 1_000_000:010d}.{time_us % 1_000_000:06d}) can0 {name}#{data.hex().upper()}\n"
