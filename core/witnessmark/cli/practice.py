"""`witnessmark practice`: an invented vehicle to practise on, and hands to turn its nipples."""

from __future__ import annotations

import sys

import click


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
def practice() -> None:
    """Run a practice vehicle, or do something to it by hand."""


@practice.command(context_settings={"ignore_unknown_options": True, "allow_extra_args": True, "help_option_names": []})
@click.pass_context
def start(context: click.Context) -> None:
    """Run a practice vehicle in the foreground: `start FOLDER`, `start --help` for the rest."""
    import subprocess

    command = [sys.executable, "-m", "witnessmark_practice", *context.args]
    truck = subprocess.Popen(command)
    while True:
        try:
            code = truck.wait()
        except KeyboardInterrupt:  # the truck got it too, and ends by itself
            continue
        raise click.exceptions.Exit(code)


class _Hand(click.Command):
    """A command whose help ends with the acts, as the plugin that does them lists them."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        import subprocess

        told = subprocess.run([sys.executable, "-m", "witnessmark_practice.acts"], capture_output=True, text=True)
        formatter.write(
            f"\nActs:\n{told.stdout}" if told.returncode == 0 else "\nActs: the practice plugin is broken\n"
        )


@practice.command(cls=_Hand)
@click.argument("folder")
@click.argument("act")
@click.argument("item", default="")
@click.argument("amount", default="")
def hand(folder: str, act: str, item: str, amount: str) -> None:
    """Do one thing by hand to the vehicle in FOLDER, and print what is seen.

    As in `hand yard open rear-left`, `hand yard supply on`, `hand yard read level`. Words with a blank in quotes:
    `hand yard elsewhere pump-rear "10 s"` lets another tester run the rear pump, to practise listening.
    """
    from witnessmark.host import plugins

    workshop = plugins.practice(f"practice:{folder}")
    if workshop is None:
        raise click.UsageError(f"there is no practice vehicle in {folder}")
    click.echo(workshop.do(act, item, amount))
