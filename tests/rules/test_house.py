"""What stays true of every file: sizes, names, commands documented."""

from __future__ import annotations

import re

import click
import pytest
from click.testing import CliRunner

from tests.rules.source import CORE, PLUGINS, ROOT, modules
from witnessmark.cli.main import witnessmark
from witnessmark.cli.table import COMMANDS

EVERY_MODULE = {
    **dict(modules(CORE)),
    **{name: path for folder in sorted(PLUGINS.iterdir()) if folder.is_dir() for name, path in modules(folder)},
}
UNWANTED = {"utils", "helpers", "common", "manager", "handler", "base", "misc"}


@pytest.mark.parametrize("name", sorted(EVERY_MODULE))
def test_a_module_is_one_idea(name: str) -> None:
    text = EVERY_MODULE[name].read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 400, "past 400 lines it is two ideas"
    assert UNWANTED.isdisjoint(name.split("."))
    assert text.lstrip().startswith(('"""', 'r"""')), "a module says what flows in and out"


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_a_command_has_help_that_matches_the_table(name: str) -> None:
    command = witnessmark.get_command(click.Context(witnessmark), name)
    assert command is not None
    assert command.get_short_help_str(limit=200).rstrip(".") == COMMANDS[name][1].rstrip(".")
    shown = CliRunner().invoke(witnessmark, [name, "--help"])
    assert shown.exit_code == 0, shown.output


def test_every_command_is_documented() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    missing = [name for name in COMMANDS if not re.search(rf"witnessmark {name}\b", readme)]
    assert missing == []
