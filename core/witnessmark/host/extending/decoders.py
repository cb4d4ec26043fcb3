"""Decoders: plugins that name the identifiers of control units they know.

Flows in: the entry points of the group `witnessmark.decoders`. Flows out: one namer, and what was wrong with whom.
Rules that hold here: the first that knows an identifier names it; a broken decoder is named with its reason, is asked
nothing more, and harms nobody.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib.metadata import EntryPoint, entry_points
from types import MappingProxyType

import pluggy

from witnessmark import hookspecs
from witnessmark.errors import PluginError
from witnessmark.hookspecs import Identified
from witnessmark.host.extending.plugin_loading import broken, load
from witnessmark.mapping.naming import Told

DECODERS = "witnessmark.decoders"


class Decoders:
    """All installed decoders, loaded on first use. `problems` names those that are broken."""

    def __init__(self) -> None:
        self.problems: list[PluginError] = []
        self._loaded: list[tuple[EntryPoint, pluggy.PluginManager]] | None = None

    def name(self, unit: Mapping[str, str], service: int, identifier: int, value: bytes) -> Told | None:
        """Return what the first decoder that knows this identifier says; None when none does."""
        loaded, unit = self._load(), MappingProxyType(unit)
        for point, manager in list(loaded):
            try:
                said = manager.hook.identify(unit=unit, service=service, identifier=identifier, value=value)
                if said is not None:
                    if not isinstance(said, Identified):
                        raise TypeError(f"identify gave {type(said).__name__}")
                    return Told(*map(str, said))
            except (Exception, SystemExit) as error:  # noqa: BLE001 - the boundary to other people's code
                loaded.remove((point, manager))
                self.problems.append(broken(point, f"identify broke with {type(error).__name__}: {error}"))
        return None

    def load(self) -> list[PluginError]:
        """Load every decoder, each by itself, and return what is wrong."""
        self._load()
        return self.problems

    def _load(self) -> list[tuple[EntryPoint, pluggy.PluginManager]]:
        if self._loaded is None:
            self._loaded = []
            for point in sorted(entry_points(group=DECODERS), key=lambda point: point.name):
                try:
                    self._loaded.append((point, load(point, hookspecs.DecoderSpec, "identify")))
                except PluginError as error:
                    self.problems.append(error)
        return self._loaded
