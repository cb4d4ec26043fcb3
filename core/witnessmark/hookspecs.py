"""The hooks a plugin may implement. Each has a shipped user.

An adapter is a module named by an entry point of the group `witnessmark.adapters`; the entry-point name is the
address scheme. Its source holds a constant `ADDRESS`, a text that shows how an address is written: listing reads it
from the source and imports nothing. A plugin of any kind states in `API_VERSION` the plugin interface it was written
for (none: the first); this host refuses another. An adapter states in `CONTRACT_VERSION` what it was proven against.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple, Protocol

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


class Identified(NamedTuple):
    """What a decoder knows of an identifier: its name, its value for people, and the unit the value is in."""

    name: str
    text: str = ""
    unit: str = ""


class DecoderSpec:
    """Hooks of the group `witnessmark.decoders`: a module names the identifiers of control units it knows."""

    @hookspec(firstresult=True)
    def identify(self, unit: Mapping[str, str], service: int, identifier: int, value: bytes) -> Identified | None:
        """Name an identifier that a control unit was read by; None for one you do not know.

        `unit` is the unit's identification, identifier to value, both as upper-case hex: look there first whether it
        is yours. `service` is 0x22, 0x21, 0x1A or an OBD mode; `value` is the record without its identifier, empty
        when the unit refused it.
        """


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
