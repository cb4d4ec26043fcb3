"""A question of the audit, the hook by which any plugin brings its own, and the collecting of all of them.

A plugin is a module named by an entry point of the group `witnessmark.questions`; the questions shipped here come the
same way. Rules that hold here: numbers and ids are unique; the order of the answers is that of the numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import pluggy

from witnessmark.audit.case import Case
from witnessmark.audit.verdict import Verdict
from witnessmark.errors import PluginError

GROUP = "witnessmark.questions"
PROJECT = "witnessmark"
hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


@dataclass(frozen=True, slots=True)
class Question:
    """`number` orders the answers, `id` is a short name, `title` the question as it is printed.

    `answer` judges one case and never changes it. Absence of entries is no proof, never met. `plugin` names who brought
    it, where it was not shipped here: it is then given a copy of the case.
    """

    number: int
    id: str
    title: str
    answer: Callable[[Case], Verdict]
    plugin: str = ""


class QuestionSpec:
    """Hooks of the group `witnessmark.questions`."""

    @hookspec
    def audit_questions(self) -> Sequence[Question]:  # type: ignore[empty-body]
        """Return the questions this plugin answers."""


def collect(plugins: Iterable[tuple[str, object]]) -> tuple[Question, ...]:
    """Return the questions of all plugins (name and module), by number. Raises PluginError as `join` does."""
    asked: tuple[Question, ...] = ()
    for name, plugin in plugins:
        asked = join(asked, name, plugin)
    return asked


def join(asked: Sequence[Question], name: str, plugin: object) -> tuple[Question, ...]:
    """Return the questions with those of one more plugin (name and module), by number.

    Raises PluginError naming the plugin whose hook is misspelt, or whose question is already there.
    """
    manager = pluggy.PluginManager(PROJECT)
    manager.add_hookspecs(QuestionSpec)
    try:
        manager.register(plugin, name)
        manager.check_pending()
    except pluggy.PluginValidationError as error:
        raise PluginError(str(error), plugin=name, hint="compare its hook with QuestionSpec") from error
    joined = list(asked)
    for question in (one for group in manager.hook.audit_questions() for one in group):
        if any(question.number == one.number or question.id == one.id for one in joined):
            raise PluginError(
                f"question {question.number} ({question.id}) is already there",
                plugin=name,
                hint="give it a number from 1000 on and an id of its own",
            )
        joined.append(question)
    return tuple(sorted(joined, key=lambda one: one.number))
