"""A practice truck to learn and test on: an invented light truck of a municipal depot, in a process of its own.

FOLDER is where `witnessmark practice start FOLDER` runs one. The link goes through the prompt adapter like any
serial interface; `level=message` uses the adapter's second mode, which carries whole messages.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from witnessmark.plugin import Address, Clock, FrameLink, InputError, MessageLink, Practice, Stamp, hookimpl

ADDRESS = "practice:FOLDER"
API_VERSION = 1
CONTRACT_VERSION = 2
PROFILES = {"frame": "witnessmark_practice:profile.toml", "message": "witnessmark_practice:profile_messages.toml"}


class PracticeWorkshop:
    """The workshop around the truck of a folder: its clock and its hands."""

    def __init__(self, folder: Path) -> None:
        from witnessmark_practice.apprentice import Apprentice
        from witnessmark_practice.hands_channel import HandsClient
        from witnessmark_practice.truck_file import read_truck_file

        document = read_truck_file(folder)
        self.rate: int = document.rate
        self.origin: Stamp = document.origin
        self._hands = HandsClient(document.hands)
        self._apprentice = Apprentice(self._hands.do)

    def do(self, act: str, item: str = "", amount: str = "") -> str:
        """Do one thing by hand; the acts are told in `hands`, and `truth` is the truck's own record as JSON."""
        from witnessmark_practice.elsewhere import ASKED, came_of

        seen = self._hands.do(act, item, amount)
        return came_of(lambda: self._hands.do("read", "tester")) if seen == ASKED else seen

    def prepare(self, view: Mapping[str, Any]) -> str:
        """Do by hand what comes before the answer to a view; return what is seen."""
        return self._apprentice.prepare(view)

    def follow(self, view: Mapping[str, Any], command: Mapping[str, Any]) -> None:
        """Do by hand what the answer to a view says was done."""
        self._apprentice.follow(view, command)

    def on_cue(self, view: Mapping[str, Any]) -> None:
        """Open the nipples of an armed view."""
        self._apprentice.on_cue(view)

    def close(self) -> None:
        """Part from the truck. May be called twice."""
        self._hands.close()


@hookimpl
def open_link(address: Address, clock: Clock, listen_only: bool) -> FrameLink | MessageLink:
    """Open the adapter of the truck that runs in the folder."""
    from witnessmark_practice.truck_file import read_truck_file
    from witnessmark_prompt import open_port
    from witnessmark_prompt.loading import load_profile

    address.check_options("level")
    level = address.option("level", "frame")
    if level not in PROFILES:
        raise InputError(f"level {level!r} is not known", place=f"address {address}", hint="write frame or message")
    folder = _folder(address)
    port = read_truck_file(folder).port_from(folder)
    return open_port(port, PROFILES[level], load_profile(PROFILES[level]), clock, listen_only)


@hookimpl
def find_links() -> Sequence[tuple[Address, str]]:
    """Return nothing: a practice truck is started, not plugged in."""
    return []


@hookimpl
def practice(address: Address) -> Practice | None:
    """Return the workshop around the truck; None for an address of another adapter."""
    return PracticeWorkshop(_folder(address)) if address.scheme == "practice" else None


def _folder(address: Address) -> Path:
    if not address.place:
        raise InputError("no folder", place=f"address {address}", hint=f"write {ADDRESS}")
    return Path(address.place)
