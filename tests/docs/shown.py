"""Texts for the documentation: command output as it is printed today, and tables written from the code.

The pages call these between cog markers; `make docs` writes them anew and a test fails when a page is out of date.
"""

from __future__ import annotations

import shlex

from click.testing import CliRunner

from tests.rules.layers import ALLOWED
from witnessmark.cli.main import witnessmark
from witnessmark.cli.table import COMMANDS


def run(command: str) -> str:
    """Return a fenced block with `command` and what it prints. Raises AssertionError when it fails."""
    name, *arguments = shlex.split(command)
    assert name == "witnessmark"
    done = CliRunner().invoke(witnessmark, arguments, prog_name="witnessmark", terminal_width=100)
    assert done.exit_code == 0, done.output
    return f"```console\n$ {command}\n{done.output.rstrip()}\n```"


def layers() -> str:
    """Return the layering rule as a table."""
    rows = ["| layer | may import, beside itself |", "|---|---|"]
    for layer, allowed in ALLOWED.items():
        rows.append(f"| `{layer}` | {', '.join(f'`{one}`' for one in sorted(allowed)) or 'nothing'} |")
    return "\n".join(rows)


def commands() -> str:
    """Return every command with its line of help, as a table."""
    rows = ["| command | what it does |", "|---|---|"]
    return "\n".join(rows + [f"| `witnessmark {name}` | {line} |" for name, (_, line) in COMMANDS.items()])
