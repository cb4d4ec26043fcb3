"""The audit's questions, from every installed distribution; a broken one is named and harms no other."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, replace
from importlib.metadata import EntryPoint, entry_points

from witnessmark.audit.question import GROUP, Question, join
from witnessmark.errors import PluginError
from witnessmark.host.extending import plugin_version

OURS = "witnessmark"


@dataclass(frozen=True, slots=True)
class Questions:
    """The questions that can be asked, and the plugins that could not be loaded."""

    asked: tuple[Question, ...]
    broken: tuple[PluginError, ...]


_TELL_AUTHOR = "tell its author, or uninstall its distribution"


def load() -> Questions:
    """Load every question plugin by itself. A broken one, or one that repeats a question, is left out and named."""
    broken: list[PluginError] = []
    asked: tuple[Question, ...] = ()
    points = {(plugin_version.owner(one), one.name, one.value): one for one in entry_points(group=GROUP)}
    for point in sorted(points.values(), key=_turn):
        owner, version = plugin_version.owner(point)
        try:
            module = point.load()
            plugin_version.check(module, point)
            if not hasattr(module, "audit_questions"):
                raise PluginError("it implements no audit_questions", plugin=point.name, hint=_TELL_AUTHOR)
            known = {one.number for one in asked}
            joined = join(asked, f"{point.name} of {owner}", module)  # two may have chosen one name
            asked = joined if owner == OURS else tuple(_of(one, point, known) for one in joined)
        except (Exception, SystemExit) as error:  # noqa: BLE001 - the boundary to plugins: whatever one raises, the others work
            what, hint = f"{type(error).__name__}: {error}", _TELL_AUTHOR
            if isinstance(error, PluginError):
                what, hint = error.what, error.hint
            broken.append(
                PluginError(
                    what,
                    plugin=point.name,
                    distribution=owner,
                    version=version,
                    hint=f"the audit leaves its questions out; {hint}",
                )
            )
    return Questions(asked, tuple(broken))


def _of(question: Question, point: EntryPoint, known: Container[int]) -> Question:
    """Return a question with who brought it, unless it was known before."""
    owner, version = plugin_version.owner(point)
    plugin = f"plugin {point.name} ({owner} {version})"
    return question if question.number in known else replace(question, plugin=plugin)


def _turn(point: EntryPoint) -> tuple[bool, str, str]:
    """Order the plugins: those of this distribution first, so that nobody's question takes the place of one of them."""
    owner, _ = plugin_version.owner(point)
    return owner != OURS, owner, point.name
