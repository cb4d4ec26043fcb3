"""Plugins: found by entry point, listed without an import, loaded one at a time.

Flows in: the entry points of every installed distribution. Flows out: what is installed, and for one scheme a hook
caller. Rules that hold here: one broken plugin is named with its reason and harms nothing else; a misspelt hook is
an error; shipped plugins come the same way as anybody's.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from importlib.metadata import EntryPoint, entry_points
from typing import Any

from witnessmark import hookspecs
from witnessmark.clock import Clock
from witnessmark.errors import InputError, PluginError, WitnessmarkError
from witnessmark.hookspecs import Practice
from witnessmark.host.extending import plugin_loading, plugin_source, plugin_version
from witnessmark.host.extending.plugin_loading import broken
from witnessmark.host.extending.plugin_version import owner
from witnessmark.link import address as addresses
from witnessmark.link.address import Address
from witnessmark.link.guard import guarded
from witnessmark.link.port import FrameLink, MessageLink

ADAPTERS = "witnessmark.adapters"


@dataclass(frozen=True, slots=True)
class Installed:
    """One entry point, as its metadata and source tell it. `usage`, `summary` are empty where the source is silent.

    `contract` is the version of the contract it was proven against, where it says so; `wrong` is what can be seen to
    be wrong without importing it, empty when nothing can.
    """

    scheme: str
    module: str
    distribution: str
    version: str
    usage: str = ""
    summary: str = ""
    contract: object = None
    wrong: PluginError | None = None


def installed(group: str = ADAPTERS) -> list[Installed]:
    """List the plugins of a group, sorted by name. Imports none of them."""
    points = entry_points(group=group)
    shippers: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for point in points:
        shippers[point.name].add(owner(point))
    found = []
    for point in points:
        module = point.value.partition(":")[0].strip()
        told = plugin_source.read(module)
        name, version = owner(point)
        wrong = None
        if group == ADAPTERS and len(shippers[point.name]) > 1:
            wrong = _shipped_twice(point.name, shippers[point.name])
        elif told.wrong:
            wrong = broken(point, told.wrong)
        else:
            wrong = plugin_version.mismatch(told.api, point.name, name, version)
        found.append(Installed(point.name, module, name, version, told.usage, told.summary, told.contract, wrong))
    return sorted(found, key=lambda one: (one.scheme, one.distribution))


class Adapter:
    """One adapter, loaded. Its hooks are called through a plugin manager of its own."""

    def __init__(self, scheme: str) -> None:
        self.point = _find(scheme)
        self.scheme = scheme
        self._hooks = plugin_loading.load(self.point, hookspecs.AdapterSpec, "open_link").hook

    def open(
        self, address: Address, clock: Clock, listen_only: bool = False, *, bare: bool = False
    ) -> FrameLink | MessageLink:
        """Open the link at `address`. Raises what the hook raises; PluginError when it gives no link or breaks.

        What the plugin raises later comes as a LinkError that names it; `bare` gives the plugin's own object instead.
        """
        link = self._call("open_link", address=address, clock=clock, listen_only=listen_only)
        try:
            fits = isinstance(link, FrameLink | MessageLink)  # which looks at its capabilities
        except (Exception, SystemExit) as error:
            raise self.broken(f"its link broke with {type(error).__name__}: {error}") from error
        if not fits:
            raise self.broken(f"open_link gave {type(link).__name__}, which is neither a FrameLink nor a MessageLink")
        name, version = owner(self.point)
        return link if bare else guarded(link, clock, f"plugin {self.scheme} ({name} {version}) at {address}")

    def find(self) -> list[tuple[Address, str]]:
        """Return what this adapter finds plugged in."""
        found = self._call("find_links")
        return [one for answer in found or () for one in answer]

    def practice(self, address: Address) -> Practice | None:
        """Return the workshop around an invented vehicle; None for a real one."""
        workshop: Practice | None = self._call("practice", address=address)
        return workshop

    def broken(self, what: str) -> PluginError:
        return broken(self.point, what)

    def _call(self, hook: str, **arguments: object) -> Any:
        try:
            return getattr(self._hooks, hook)(**arguments)
        except WitnessmarkError:
            raise
        except (Exception, SystemExit) as error:
            raise self.broken(f"{hook} broke with {type(error).__name__}: {error}") from error


def open_link(text: str, clock: Clock, listen_only: bool = False, *, bare: bool = False) -> FrameLink | MessageLink:
    """Open the link that an address text names, importing its adapter alone. `bare` as in `Adapter.open`."""
    address = addresses.parse(text)
    return Adapter(address.scheme).open(address, clock, listen_only, bare=bare)


def practice(text: str) -> Practice | None:
    """Return the workshop around the invented vehicle at an address text; None when the vehicle there is real."""
    address = addresses.parse(text)
    return Adapter(address.scheme).practice(address)


def problems() -> list[PluginError]:
    """Load every adapter, each by itself, and return what is wrong. An empty list means that all load."""
    wrong: list[PluginError] = []
    for scheme in sorted({point.name for point in entry_points(group=ADAPTERS)}):
        try:
            Adapter(scheme)
        except PluginError as error:
            wrong.append(error)
    return wrong


def _find(scheme: str) -> EntryPoint:
    points = sorted(entry_points(group=ADAPTERS, name=scheme), key=owner)
    if not points:
        known = ", ".join(sorted({point.name for point in entry_points(group=ADAPTERS)}))
        raise InputError(
            f"no adapter is called {scheme!r}", place="address", hint=f"installed: {known}; see `witnessmark adapters`"
        )
    owners = {owner(point) for point in points}
    if len(owners) > 1:
        raise _shipped_twice(scheme, owners)
    return points[0]


def _shipped_twice(scheme: str, owners: set[tuple[str, str]]) -> PluginError:
    names = sorted(name for name, _ in owners)
    name, version = min(owners)
    return PluginError(
        f"two distributions ship the scheme: {' and '.join(names)}",
        plugin=scheme, distribution=name, version=version, hint="uninstall one of them",
    )  # fmt: skip
