"""Every installed plugin of every kind, loaded, and what is wrong with it.

In: the entry points of all distributions. Out: one line of facts for each. Rules that hold here: each is loaded by
itself; an adapter that was proven against an older contract works, and is told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from witnessmark.audit.question import GROUP as QUESTIONS
from witnessmark.errors import PluginError
from witnessmark.host import plugins
from witnessmark.host.extending import questions
from witnessmark.host.extending.decoders import DECODERS, Decoders
from witnessmark.host.plugins import ADAPTERS, Installed
from witnessmark.plugin import CONTRACT_VERSION


@dataclass(frozen=True, slots=True)
class Surveyed:
    """One plugin: why it cannot be used (None: it can), and what its author should know, empty for nothing."""

    plugin: Installed
    wrong: PluginError | None
    remark: str = ""


def survey() -> Mapping[str, list[Surveyed]]:
    """Load all plugins and return them by the name of their kind, sorted by name."""
    adapters = {(error.plugin, ""): error for error in plugins.problems()}
    decoders = {(error.plugin, error.distribution): error for error in Decoders().load()}
    asked = {(error.plugin, error.distribution): error for error in questions.load().broken}
    return {
        "adapters": [
            Surveyed(one, adapters.get((one.scheme, "")), _remark(one)) for one in plugins.installed(ADAPTERS)
        ],
        "decoders": [
            Surveyed(one, decoders.get((one.scheme, one.distribution))) for one in plugins.installed(DECODERS)
        ],
        "audit questions": [
            Surveyed(one, asked.get((one.scheme, one.distribution))) for one in plugins.installed(QUESTIONS)
        ],
    }


def _remark(one: Installed) -> str:
    if one.contract is None or one.contract == CONTRACT_VERSION:
        return ""
    return f"proven against contract {one.contract}; this kit has {CONTRACT_VERSION}: run its tests again"
