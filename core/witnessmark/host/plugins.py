"""Plugins: found by entry point, listed without an import, loaded one at a time.

Flows in: the entry points of every installed distribution. Flows out: what is installed, and for one scheme a hook
caller. Rules that hold here: one broken plugin is named with its reason and harms nothing else; a misspelt hook is
an error; shipped plugins come the same way as anybody's.
"""

from __future__ import annotations

import ast
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.machinery import ModuleSpec, PathFinder
from importlib.metadata import EntryPoint, entry_points
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pluggy

from witnessmark import hookspecs
from witnessmark.clock import Clock
from witnessmark.errors import InputError, PluginError, WitnessmarkError
from witnessmark.hookspecs import Practice
from witnessmark.link import address as addresses
from witnessmark.link.address import Address
from witnessmark.link.port import FrameLink, MessageLink

ADAPTERS = "witnessmark.adapters"


@dataclass(frozen=True, slots=True)
class Installed:
    """One entry point, as its metadata and source tell it. `usage`, `summary` are empty where the source is silent."""

    scheme: str
    module: str
    distribution: str
    version: str
    usage: str
    summary: str


def installed(group: str = ADAPTERS) -> list[Installed]:
    """List the plugins of a group, sorted by name. Imports none of them."""
    found = []
    for point in entry_points(group=group):
        usage, summary = _told_by_source(point.module)
        name, version = _distribution(point)
        found.append(Installed(point.name, point.module, name, version, usage, summary))
    return sorted(found, key=lambda one: (one.scheme, one.distribution))


class Adapter:
    """One adapter, loaded. Its hooks are called through a plugin manager of its own."""

    def __init__(self, scheme: str) -> None:
        self.point = _find(scheme)
        self.scheme = scheme
        self._hooks = _load(self.point).hook

    def open(self, address: Address, clock: Clock, listen_only: bool = False) -> FrameLink | MessageLink:
        """Open the link at `address`. Raises what the hook raises; PluginError when it gives no link or breaks."""
        link = self._call("open_link", address=address, clock=clock, listen_only=listen_only)
        if not isinstance(link, FrameLink | MessageLink):
            raise self.broken(f"open_link gave {type(link).__name__}, which is neither a FrameLink nor a MessageLink")
        return link

    def find(self) -> list[tuple[Address, str]]:
        """Return what this adapter finds plugged in."""
        found = self._call("find_links")
        return [one for answer in found or () for one in answer]

    def practice(self, address: Address) -> Practice | None:
        """Return the workshop around an invented vehicle; None for a real one."""
        workshop: Practice | None = self._call("practice", address=address)
        return workshop

    def broken(self, what: str) -> PluginError:
        name, version = _distribution(self.point)
        return PluginError(what, plugin=self.scheme, distribution=name, version=version, hint=_TELL_AUTHOR)

    def _call(self, hook: str, **arguments: object) -> Any:
        try:
            return getattr(self._hooks, hook)(**arguments)
        except WitnessmarkError:
            raise
        except (Exception, SystemExit) as error:
            raise self.broken(f"{hook} broke with {type(error).__name__}: {error}") from error


def open_link(text: str, clock: Clock, listen_only: bool = False) -> FrameLink | MessageLink:
    """Open the link that an address text names, importing its adapter alone."""
    address = addresses.parse(text)
    return Adapter(address.scheme).open(address, clock, listen_only)


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


_TELL_AUTHOR = "`witnessmark doctor` lists all plugins; tell the plugin's author, or uninstall its distribution"


def _find(scheme: str) -> EntryPoint:
    points = sorted(entry_points(group=ADAPTERS, name=scheme), key=lambda point: _distribution(point))
    if not points:
        known = ", ".join(sorted({point.name for point in entry_points(group=ADAPTERS)}))
        raise InputError(
            f"no adapter is called {scheme!r}", place="address", hint=f"installed: {known}; see `witnessmark adapters`"
        )
    owners = [_distribution(point) for point in points]
    if len(set(owners)) > 1:
        name, version = owners[0]
        both = " and ".join(owner for owner, _ in owners)
        raise PluginError(
            f"two distributions ship the scheme: {both}",
            plugin=scheme, distribution=name, version=version, hint="uninstall one of them",
        )  # fmt: skip
    return points[0]


def _load(point: EntryPoint) -> pluggy.PluginManager:
    """Import one plugin into a fresh manager. Whatever its import raises becomes a PluginError that says so."""
    name, version = _distribution(point)

    def broken(what: str) -> PluginError:
        return PluginError(what, plugin=point.name, distribution=name, version=version, hint=_TELL_AUTHOR)

    manager = pluggy.PluginManager(hookspecs.PROJECT)
    manager.add_hookspecs(hookspecs.AdapterSpec)
    try:
        plugin = point.load()
    except (Exception, SystemExit) as error:  # whatever a plugin does at its import, the tool goes on
        raise broken(f"cannot be imported: {type(error).__name__}: {error}") from error
    try:
        manager.register(plugin, name=point.name)
        manager.check_pending()
    except pluggy.PluginValidationError as error:
        raise broken(f"a hook does not fit: {error}") from error
    if not manager.hook.open_link.get_hookimpls():
        raise broken("it implements no open_link")
    return manager


def _distribution(point: EntryPoint) -> tuple[str, str]:
    return ("?", "?") if point.dist is None else (point.dist.name, point.dist.version)


def _told_by_source(module: str) -> tuple[str, str]:
    """Return the constant ADDRESS and the docstring's first line of a module, read from its source, not imported."""
    spec = _spec(module)
    if spec is None or spec.origin is None or not spec.origin.endswith(".py"):
        return "", ""
    try:
        tree = ast.parse(Path(spec.origin).read_text(encoding="utf-8"))
    except (OSError, SyntaxError, ValueError):
        return "", ""  # the doctor, which imports it, tells why
    usage = ""
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant):
            names = [target.id for target in node.targets if isinstance(target, ast.Name)]
            if "ADDRESS" in names and isinstance(node.value.value, str):
                usage = node.value.value
    return usage, (ast.get_docstring(tree) or "").partition("\n")[0]


def _spec(module: str) -> ModuleSpec | None:
    """Find a module's spec without importing it or its parents."""
    first, *rest = module.split(".")
    try:
        spec = find_spec(first)
    except (ImportError, ValueError):
        return None
    name, places = first, None if spec is None else spec.submodule_search_locations
    for part in rest:
        if places is None:
            return None
        name = f"{name}.{part}"
        spec = PathFinder.find_spec(name, _plain(places))
        places = None if spec is None else spec.submodule_search_locations
    return spec


def _plain(places: Sequence[str]) -> list[str]:
    return list(places)
