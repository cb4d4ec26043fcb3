"""A group whose commands stand in a table and are imported one at a time."""

from __future__ import annotations

from importlib import import_module

import click


class LazyGroup(click.Group):
    """`table`: name -> where the command object is (`module:attribute`), and its line in the help."""

    def __init__(self, table: dict[str, tuple[str, str]], **settings: object) -> None:
        super().__init__(**settings)  # type: ignore[arg-type]
        self.table = table

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.table:
            return None
        target, _ = self.table[cmd_name]
        module, _, attribute = target.partition(":")
        command = getattr(import_module(module), attribute)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, help_line) for name, (_, help_line) in self.table.items()])
