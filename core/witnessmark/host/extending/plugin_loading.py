"""One plugin loaded in its own try, whatever kind it is.

An entry point and the hooks of its kind flow in, a manager that holds that plugin alone flows out. Rule that holds
here: whatever a plugin does at its import becomes a PluginError that names it, and harms nothing else.
"""

from __future__ import annotations

from importlib.metadata import EntryPoint

import pluggy

from witnessmark import hookspecs
from witnessmark.errors import PluginError
from witnessmark.host.extending import plugin_version

TELL_AUTHOR = "`witnessmark doctor` lists all plugins; tell the plugin's author, or uninstall its distribution"


def load(point: EntryPoint, hooks: type, needed: str) -> pluggy.PluginManager:
    """Import one plugin into a fresh manager of `hooks`. Raises PluginError, also where it lacks the hook `needed`."""
    manager = pluggy.PluginManager(hookspecs.PROJECT)
    manager.add_hookspecs(hooks)
    try:
        plugin = point.load()
    except (Exception, SystemExit) as error:  # whatever a plugin does at its import, the tool goes on
        raise broken(point, f"cannot be imported: {type(error).__name__}: {error}") from error
    plugin_version.check(plugin, point)
    try:
        manager.register(plugin, name=point.name)
        manager.check_pending()
    except pluggy.PluginValidationError as error:
        raise broken(point, f"a hook does not fit: {error}") from error
    if not getattr(manager.hook, needed).get_hookimpls():
        raise broken(point, f"it implements no {needed}")
    return manager


def broken(point: EntryPoint, what: str) -> PluginError:
    """Return the error that names the plugin of an entry point and whose it is."""
    name, version = plugin_version.owner(point)
    return PluginError(what, plugin=point.name, distribution=name, version=version, hint=TELL_AUTHOR)
