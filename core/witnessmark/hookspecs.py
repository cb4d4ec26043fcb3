"""The hooks a plugin may implement. Each has a shipped user.

An adapter is a module named by an entry point of the group `witnessmark.adapters`; the entry-point name is the
address scheme. Its source holds a constant `ADDRESS`, a text that shows how an address is written: listing reads it
from the source and imports nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

import pluggy

from witnessmark.clock import Clock, Stamp
from witnessmark.link.address import Address
from witnessmark.link.port import FrameLink, MessageLink

PROJECT = "witnessmark"
hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


class Practice(Protocol):
    """The workshop around a practice vehicle: its clock, and the hands that turn its nipples and fill its reservoir.

    `rate` and `origin` make the PracticeClock the vehicle lives by. Only an invented vehicle has one.
    """

    rate: int
    origin: Stamp

    def prepare(self, view: Mapping[str, Any]) -> str:
        """Do by hand what comes before the answer to a view of the job; return what is then seen, empty for nothing.

        A view that is shown again moves nothing a second time.
        """
        ...

    def follow(self, view: Mapping[str, Any], command: Mapping[str, Any]) -> None:
        """Do by hand what `command`, the answer to `view`, says was done."""
        ...

    def on_cue(self, view: Mapping[str, Any]) -> None:
        """Open the nipples of an armed view: the countdown has reached zero."""
        ...

    def do(self, act: str, item: str = "", amount: str = "") -> str:
        """Do one thing by hand and return what is seen or read then, as text (`ok` where nothing is read).

        Raises InputError for an act, item or amount the vehicle does not have.
        """
        ...


class AdapterSpec:
    """Hooks of the group `witnessmark.adapters`."""

    @hookspec(firstresult=True)
    def open_link(self, address: Address, clock: Clock, listen_only: bool) -> FrameLink | MessageLink:  # type: ignore[empty-body]
        """Open the link at `address`.

        `listen_only` asks for a link that cannot send and does not disturb the bus; refuse with LocalError when that
        cannot be guaranteed. Raises InputError for an address that is wrong, LinkError for an interface that cannot
        be opened (`kind` is `missing`, `busy`, `permission`, `no_answer` or `garbled`). Nothing stays open after a
        raise.
        """

    @hookspec
    def find_links(self) -> Sequence[tuple[Address, str]]:  # type: ignore[empty-body]
        """Return what is plugged in: the address to type and a few words on what it is. Opens and sends nothing."""

    @hookspec(firstresult=True)
    def practice(self, address: Address) -> Practice | None:
        """Return the workshop around the invented vehicle at `address`; None when the vehicle there is real."""
