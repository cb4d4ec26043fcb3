"""A recording played as frames keeps the contract of a frame link that is only heard."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, ClassVar

import witnessmark_replay
from witnessmark.link import address as addresses
from witnessmark.link.frame import Frame
from witnessmark.testing import FrameLinkContract, NotPossible

HOUR_NS = 3_600_000_000_000


class Recorder:
    """Writes candump text: one frame that starts the recording's clock, what is said, and one an hour later."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory()
        self._path = Path(self._folder.name) / "bay.log"
        self.say([])

    @property
    def address(self) -> str:
        return f"replay:{self._path}?as=frames"

    def say(self, frames: Sequence[Frame]) -> None:
        start_ns = frames[0].stamp.wall_ns - 20_000_000 if frames else 0
        last_ns = frames[-1].stamp.wall_ns if frames else 0
        lines = [_line(start_ns, "001#"), *(_line(one.stamp.wall_ns, _text(one)) for one in frames)]
        self._path.write_text("".join([*lines, _line(last_ns + HOUR_NS, "001#")]), encoding="ascii")

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        return []

    def unplug(self) -> None:
        raise NotPossible("a recording has no plug")

    def close(self) -> None:
        self._folder.cleanup()


def _line(time_ns: int, text: str) -> str:
    return f"({time_ns // 1_000_000_000}.{time_ns % 1_000_000_000 // 1000:06d}) can0 {text}\n"


def _text(frame: Frame) -> str:
    can_id = f"{frame.can_id:08X}" if frame.extended else f"{frame.can_id:03X}"
    return f"{can_id}#{'R' if frame.kind == 'remote' else frame.data.hex().upper()}"


class TestReplayedFrames(FrameLinkContract):
    scheme: ClassVar[str] = "replay"
    missing: ClassVar[str | None] = "replay:no-such-recording.log"
    recorded: ClassVar[bool] = True
    shared: ClassVar[bool | None] = True
    sends: ClassVar[bool] = False

    def far_end(self) -> Recorder:
        return Recorder()

    def open(self, address: str, listen_only: bool = False) -> Any:
        link: Any = witnessmark_replay.open_link(addresses.parse(address), self.clock(), listen_only)
        assert len(link.receive(5.0)) == 1, "the frame that starts the recording's clock"
        return link
