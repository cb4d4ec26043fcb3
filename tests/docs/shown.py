"""Texts for the documentation: command output as it is printed today, and tables written from the code.

The pages call these between cog markers; `make docs` writes them anew and a test fails when a page is out of date.
"""

from __future__ import annotations

import inspect
import shlex
from typing import Literal

from click.testing import CliRunner

from tests.rules.layers import ALLOWED
from witnessmark import hookspecs
from witnessmark.audit.policy import BOUNDS, DEFAULT, MEANS
from witnessmark.audit.question import GROUP as QUESTIONS
from witnessmark.audit.question import QuestionSpec
from witnessmark.cli.main import witnessmark
from witnessmark.cli.table import COMMANDS
from witnessmark.host.extending.decoders import DECODERS
from witnessmark.host.plugins import ADAPTERS
from witnessmark.job.sending.actuation import TABLE
from witnessmark.journal.kinds import KINDS
from witnessmark.plugin import API_VERSION, CONTRACT_VERSION
from witnessmark.procedure.words import AFFECTS, DIMENSIONS
from witnessmark.wire.isotp import diagram


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


def words() -> str:
    """Return the words that a step may say of a job, each with its meaning, as a table."""
    rows = ["| word | what it says |", "|---|---|"]
    return "\n".join(rows + [f"| `{word}` | {line} |" for word, line in AFFECTS.items()])


def tolerances() -> str:
    """Return what a shop's policy may set, the value that holds else, and within what, as a table."""
    rows = ["| key | what it sets | else | within |", "|---|---|---|---|"]
    for name, meaning in MEANS.items():
        least, most = BOUNDS[name]
        rows.append(f"| `{name}` | {meaning} | {getattr(DEFAULT, name)} | {least} to {most} |")
    return "\n".join(rows)


def units() -> str:
    """Return the units of each dimension, as a table."""
    rows = ["| of | units |", "|---|---|"]
    return "\n".join(rows + [f"| {of} | {', '.join(f'`{one}`' for one in many)} |" for of, many in DIMENSIONS.items()])


def isotp(role: Literal["receive", "send"]) -> str:
    """Return the transition table of ISO 15765-2 for one role, drawn."""
    return f"```mermaid\n{diagram(role).rstrip()}\n```"


def actuation() -> str:
    """Return the transition table of an actuation: what leads where, and what is done then."""
    rows = ["| state | event | next state | what is done |", "|---|---|---|---|"]
    for (state, event), (after, action) in TABLE.items():
        rows.append(f"| {state} | {event} | {after} | {action.replace('_', ' ') or '-'} |")
    return "\n".join(rows)


def kinds() -> str:
    """Return the kinds of entry with their meanings."""
    return "\n".join(["| kind | meaning |", "|---|---|"] + [f"| `{name}` | {text} |" for name, text in KINDS.items()])


def versions() -> str:
    """Return the versions of today."""
    return f"Today: plugin interface {API_VERSION}, contract {CONTRACT_VERSION}."


def hooks() -> str:
    """Return every hook with its exact signature and the first line of what it says."""
    groups = {ADAPTERS: hookspecs.AdapterSpec, DECODERS: hookspecs.DecoderSpec, QUESTIONS: QuestionSpec}
    rows = []
    for group, spec in groups.items():
        for name, hook in vars(spec).items():
            if not name.startswith("_"):
                said = (inspect.getdoc(hook) or "").partition("\n")[0]
                signature = str(inspect.signature(hook)).replace("self, ", "").replace("(self)", "()").replace("'", "")
                rows.append(f"- `{group}`: `{name}{signature}`. {said}")
    return "\n".join(rows)
