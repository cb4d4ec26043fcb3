"""The audit's questions, from every installed distribution; a broken one is named and harms no other."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import entry_points

from witnessmark.audit.question import GROUP, Question, collect
from witnessmark.errors import PluginError


@dataclass(frozen=True, slots=True)
class Questions:
    """The questions that can be asked, and the plugins that could not be loaded."""

    asked: tuple[Question, ...]
    broken: tuple[PluginError, ...]


def load() -> Questions:
    """Load every question plugin by itself. A broken one, or one that repeats a question, is left out and named."""
    good: list[tuple[str, object]] = []
    broken: list[PluginError] = []
    asked: tuple[Question, ...] = ()
    for point in sorted(entry_points(group=GROUP), key=lambda one: (one.dist is None or one.dist.name, one.name)):
        owner, version = ("?", "?") if point.dist is None else (point.dist.name, point.dist.version)
        try:
            candidate = [*good, (point.name, point.load())]
            asked = collect(candidate)
        except (Exception, SystemExit) as error:  # noqa: BLE001 - the boundary to plugins: whatever one raises, the others work
            what = error.what if isinstance(error, PluginError) else f"{type(error).__name__}: {error}"
            broken.append(
                PluginError(
                    what,
                    plugin=point.name,
                    distribution=owner,
                    version=version,
                    hint="the audit leaves its questions out; tell its author, or uninstall its distribution",
                )
            )
        else:
            good = candidate
    return Questions(asked, tuple(broken))
