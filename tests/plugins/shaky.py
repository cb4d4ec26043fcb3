"""A plugin that works like another until it is told to break: a file named for a method, with what to raise.

`KeyError` in FOLDER/receive breaks every `receive` until the file is gone, `KeyError once` the next one alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from witnessmark.host import plugins
from witnessmark.plugin import (
    Address,
    Capabilities,
    Clock,
    Event,
    Frame,
    FrameLink,
    Message,
    MessageLink,
    Peer,
    Practice,
    Stamp,
    hookimpl,
)

ADDRESS = "shaky:FOLDER?of=ADDRESS"
RAISED: dict[str, type[BaseException]] = {"KeyError": KeyError, "SystemExit": SystemExit}


@hookimpl
def open_link(address: Address, clock: Clock, listen_only: bool) -> FrameLink | MessageLink:
    shake = Shake(Path(address.place))
    shake("open")
    link = plugins.open_link(address.option("of"), clock, listen_only, bare=True)
    return ShakyMessages(link, shake) if isinstance(link, MessageLink) else ShakyFrames(link, shake)


@hookimpl
def practice(address: Address) -> Practice | None:
    return plugins.practice(address.option("of"))


class Shake:
    """Raises what the file of a method says."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def __call__(self, method: str) -> None:
        path = self._folder / method
        if path.exists():
            name, _, times = path.read_text(encoding="ascii").partition(" ")
            if times == "once":
                path.unlink()
            raise RAISED[name]("shaken")


class _Shaky:
    def __init__(self, link: Any, shake: Callable[[str], None]) -> None:
        self._link = link
        self._shake = shake

    @property
    def capabilities(self) -> Capabilities:
        capabilities: Capabilities = self._link.capabilities
        return capabilities

    def fileno(self) -> int | None:
        self._shake("fileno")
        number: int | None = self._link.fileno()
        return number

    def interrupt(self) -> None:
        self._shake("interrupt")
        self._link.interrupt()

    def close(self) -> None:
        self._link.close()
        self._shake("close")

    def receive(self, wait_s: float) -> Sequence[Any]:
        self._shake("receive")
        came: Sequence[Frame | Message | Event] = self._link.receive(wait_s)
        return came


class ShakyFrames(_Shaky):
    def send(self, frame: Frame) -> Stamp:
        self._shake("send")
        stamp: Stamp = self._link.send(frame)
        return stamp


class ShakyMessages(_Shaky):
    def wake(self, peer: Peer) -> Sequence[Event]:
        self._shake("wake")
        said: Sequence[Event] = self._link.wake(peer)
        return said

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        self._shake("send")
        stamp: Stamp = self._link.send(peer, payload)
        return stamp


def install(folder: Path) -> Path:
    """Lay the distribution in `folder`, to be put on the path; return where its files of faults go."""
    info = folder / "bay_things-2.5.dist-info"
    info.mkdir(parents=True)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: bay-things\nVersion: 2.5\n", encoding="utf-8")
    (info / "entry_points.txt").write_text(f"[{plugins.ADAPTERS}]\nshaky = {__name__}\n", encoding="utf-8")
    faults = folder / "faults"
    faults.mkdir()
    return faults
