"""The plugin interface that a plugin was written for, held against the one this host has.

In: what a plugin states in its constant `API_VERSION`; the module, once it is imported. Out: nothing, or a PluginError
that says what to do. Rule: a plugin that states nothing was written for the first one.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.metadata import Distribution, EntryPoint

from witnessmark.errors import PluginError
from witnessmark.plugin import API_VERSION

FIRST = 1


def mismatch(stated: object, plugin: str, distribution: str, version: str) -> PluginError | None:
    """Return why a plugin that states `stated` (None: nothing) cannot be used here; None when it can."""
    wanted = FIRST if stated is None else stated
    if isinstance(wanted, bool) or not isinstance(wanted, int) or wanted < FIRST:
        what = f"API_VERSION is {stated!r}, not the number of a plugin interface"
        hint = f"its author writes API_VERSION = {API_VERSION}"
    elif wanted > API_VERSION:
        what = f"written for plugin interface {wanted}, this host has {API_VERSION}"
        hint = f"install a newer Witnessmark, or a version of {distribution} for plugin interface {API_VERSION}"
    elif wanted < API_VERSION:
        what = f"written for plugin interface {wanted}, this host has {API_VERSION}"
        hint = f"install a version of {distribution} for plugin interface {API_VERSION}"
    else:
        return None
    return PluginError(what, plugin=plugin, distribution=distribution, version=version, hint=hint)


def check(module: object, point: EntryPoint) -> None:
    """Raise PluginError when the imported `module` of an entry point was written for another plugin interface."""
    error = mismatch(getattr(module, "API_VERSION", None), point.name, *owner(point))
    if error is not None:
        raise error


def owner(point: EntryPoint) -> tuple[str, str]:
    """Return the distribution of an entry point and its version, `?` where it has none."""
    return ("?", "?") if point.dist is None else _read(point.dist)


@lru_cache(maxsize=64)
def _read(distribution: Distribution) -> tuple[str, str]:
    """Return name and version of a distribution, for which its metadata is read once and not for each entry point."""
    return distribution.name, distribution.version
