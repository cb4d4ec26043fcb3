"""The command `witnessmark`: finds the subcommand, runs it, and turns errors into text and an exit code.

Rules that hold here: a command's module is imported only when it runs, so that `--help` starts fast; no traceback
reaches a user. Exit codes: 0 done; 1 done, and something is wrong with what was looked at; 2 the request is wrong;
3 link, vehicle or journal failed; 70 our own mistake; 130 interrupted.
"""

from __future__ import annotations

import sys

import click

from witnessmark.cli.lazy import LazyGroup
from witnessmark.cli.table import COMMANDS


@click.command(
    cls=LazyGroup,
    table=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Brakes can hurt: the maker's procedure and local codes come first. This tool records; it releases nothing.",
)
@click.version_option(package_name="witnessmark", message="%(prog)s %(version)s")
def witnessmark() -> None:
    """Log a brake job: what ran, for how long, with which nipple open, and who says so."""


def main() -> None:
    """Run the command line and exit."""
    try:
        code = witnessmark.main(prog_name="witnessmark", standalone_mode=False)
    except click.exceptions.Exit as stop:
        code = stop.exit_code
    except click.exceptions.Abort:
        from witnessmark.cli.failure import tell_unanswered

        code = tell_unanswered()
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()
        code = error.exit_code
    except click.ClickException as error:
        from witnessmark.cli.failure import tell_usage

        code = tell_usage(error)
    except BrokenPipeError:
        _silence_stdout()
        code = 0
    except KeyboardInterrupt:
        click.echo("ended by Ctrl-C", err=True)
        code = 130
    except Exception as error:  # noqa: BLE001 - the one boundary where an error becomes text
        from witnessmark.cli.failure import tell

        code = tell(error)
    sys.exit(code if isinstance(code, int) else 0)


def _silence_stdout() -> None:
    """Point standard output nowhere, so that the interpreter's last flush does not complain about a closed pipe."""
    import os

    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
