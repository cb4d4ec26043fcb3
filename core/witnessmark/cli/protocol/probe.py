"""`witnessmark protocol probe`: finds out what a parked vehicle answers, and changes nothing in it.

Exit codes: 0 all was asked, now or before; 1 it ended early, and the map holds what came until then, if anything did;
3 nobody answered, no map.
"""

from __future__ import annotations

import math
import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, keep_map, write_file
from witnessmark.cli.stopping import stoppable

if TYPE_CHECKING:
    from witnessmark.mapping.probe import ProbePlan, Progress
    from witnessmark.mapping.probe_log import ProbeLog
    from witnessmark.mapping.reader import ProbeStopped

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("probe")
@click.option("--link", required=True, metavar="ADDRESS", help="The interface; see `witnessmark adapters`.")
@click.option("-o", "--output", required=True, type=FILE, help="The map to write. Its log stands beside it.")
@click.option("--id", "id_", default="vehicle", show_default=True, help="What the shop calls this vehicle. No plate.")
@click.option("--title", default="", help="What it is, in words.")
@click.option("--address", "addresses", multiple=True, metavar="HEX",
              help="Also try 6B3:6BB, or 600-6FF (answers 8 above); two digits: a K-line. Repeatable.")  # fmt: skip
@click.option("--29bit", "wide", is_flag=True, help="Also try the 256 addresses 18DAxxF1.")
@click.option("--no-standard", is_flag=True, help="Leave out 7E0 to 7E7. A K-line has none.")
@click.option("--identifiers", multiple=True, metavar="RANGE",
              help="Also read these by 22, like 0100-01FF. F180-F19F always are. Repeatable.")  # fmt: skip
@click.option("--local", multiple=True, metavar="RANGE", help="Also read these by 21, like 00-FF. Repeatable.")
@click.option("--extended", is_flag=True, help="Also ask for the extended session (10 03): read the caution first.")
@click.option("--map", "known_path", type=FILE, help="A map that tells how speed, gear and voltage are read.")
@click.option("--afresh", is_flag=True, help="Ask all of it again, and forget what was read before.")
@click.option("--force", is_flag=True, help="Write over a map that is there, and what people named in it.")
@by_option
def probe(
    link: str, output: Path, id_: str, title: str, addresses: tuple[str, ...], wide: bool, no_standard: bool,
    identifiers: tuple[str, ...], local: tuple[str, ...], extended: bool, known_path: Path | None, afresh: bool,
    force: bool, by: str,
) -> None:  # fmt: skip
    """Find out what a parked vehicle answers.

    Only reads (10 01, 3E, 22, 19, 1A, 21 and OBD 01-03, 07, 09, 0A). Ctrl-C stops; the same command goes on, at the
    same vehicle alone.
    """
    from witnessmark.errors import LinkError
    from witnessmark.host import learning
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.probe_log import ProbeLog
    from witnessmark.mapping.resumed import OtherVehicle

    log_path = output.with_name(output.name + ".probe.jsonl")
    if not (log_path.exists() or afresh) or _named(output):
        keep_map((output,), force)
    plan = _plan(addresses, wide, no_standard, identifiers, local, by if extended and _accept() else "")
    known = maps.load(known_path) if known_path else None
    asked_before = None if afresh else ProbeLog.finished(log_path, str(plan))
    if asked_before is not None:
        _write(asked_before, output, id_, title)
        _tell_finished(asked_before, log_path)
        return
    line = _Line()
    with stoppable() as stop, _set_aside(log_path, afresh):
        log, early = learning.probe(
            link, plan, log_path, known=known, confirm=_confirm, tell=line.tell, stop=stop, note=line.note,
        )  # fmt: skip
    click.echo(err=True)
    if early is None and log.empty:
        raise LinkError(
            "nobody answered at any address that was tried",
            kind="silent",
            hint="ignition on, as the maker says? the right bus and addresses? The same command then asks anew",
            reached="all",
        )
    if early is not None and (log.empty or isinstance(early, OtherVehicle)):
        _tell(early, link)
        nothing = "Nothing was learned yet, and nothing is written: the same command begins anew."
        click.echo(nothing if log.empty else "Nothing is written.", err=True)
        raise click.exceptions.Exit(1)
    _write(log, output, id_, title)
    if early is not None:
        _tell(early, link)
        click.echo("The same command goes on where it was.", err=True)
        raise click.exceptions.Exit(1)


@contextmanager
def _set_aside(path: Path, afresh: bool) -> Iterator[None]:
    """Begin without the log that is there; it comes back where nothing new was learned."""
    aside = path.with_name(path.name + ".before")
    if afresh and path.exists():
        os.replace(path, aside)
    try:
        yield
    finally:
        if path.exists():
            aside.unlink(missing_ok=True)
        elif aside.exists():
            os.replace(aside, path)


def _write(log: ProbeLog, output: Path, id_: str, title: str) -> None:
    """Write the map that a log teaches. It is practice data where the practice vehicle was asked."""
    from witnessmark.host.extending.decoders import Decoders
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.probe import learn

    decoders = Decoders()
    vehicle = learn(log, decoders.name).vehicle(id_, title or id_, invented=log.header.link.startswith("practice:"))
    write_file(output, maps.to_text(vehicle).encode())
    for problem in decoders.problems:
        click.echo(f"decoder left out: {problem}", err=True)
    units = len(vehicle.units)
    click.echo(f"{units} control unit{'' if units == 1 else 's'}, map written to {output}")


def _tell_finished(log: ProbeLog, path: Path) -> None:
    from datetime import datetime

    from witnessmark.clock import NS

    at = datetime.fromtimestamp((log.finished_ns or 0) // NS).strftime("%Y-%m-%d %H:%M")
    click.echo(
        f"nothing was asked: this probe went through on {at} over {log.header.link}, and the map is what its log tells "
        f"({path})\n  do:  --afresh asks all of it again; another vehicle needs another --output",
        err=True,
    )


def _tell(early: ProbeStopped, link: str) -> None:
    """Say why it ended early and what to do, on the practice vehicle also how."""
    click.echo(f"it ended early: {early.why}", err=True)
    folder = link.partition(":")[2].partition("?")[0]
    by_hand = f"; `witnessmark practice hand {folder} {early.wants}`"
    practice = early.wants and link.startswith("practice:")
    if early.hint:
        click.echo(f"  do:  {early.hint}" + (by_hand if practice else ""), err=True)


def _named(path: Path) -> bool:
    """Whether a map holds what people put into it, or what listening learned: the log of a probe gives none of it."""
    from witnessmark.errors import InputError
    from witnessmark.mapping import load as maps

    if not path.exists():
        return False
    try:
        units = maps.load_vehicle(path).units
    except InputError:
        return True
    return any(one.wire_commands or one.conditions or one.candidates for one in units)


def _plan(
    addresses: tuple[str, ...], wide: bool, no_standard: bool, identifiers: tuple[str, ...], local: tuple[str, ...],
    accepted_by: str,
) -> ProbePlan:  # fmt: skip
    from witnessmark.mapping.peers import bits, parse_peers, parse_range, standard_peers
    from witnessmark.mapping.probe import ProbePlan
    from witnessmark.mapping.read_request import Accepted

    peers = [peer for text in addresses for peer in parse_peers(text)]
    kline = bool(peers) and all(bits(peer) == 8 for peer in peers)
    if not no_standard and not kline:
        peers = [*standard_peers(), *peers]
    peers += standard_peers(extended=True) if wide else ()
    if len({bits(peer) == 8 for peer in peers}) > 1:
        raise click.UsageError("addresses of a K-line (two digits) and of CAN cannot be tried over one link")
    if not peers:
        raise click.UsageError("nothing to try: give --address, or leave --no-standard out")
    return ProbePlan(
        tuple(dict.fromkeys(peers)),
        tuple(parse_range(text, 0xFFFF) for text in identifiers),
        tuple(parse_range(text, 0xFF) for text in local),
        Accepted(accepted_by) if accepted_by else None,
    )


def _accept() -> bool:
    from witnessmark.mapping.read_request import CAUTION

    click.echo(CAUTION, err=True)
    return click.confirm("Ask for it all the same?", default=False, abort=True, err=True)


def _confirm(question: str) -> bool:
    """Ask a person. Ctrl-C, or being told to end, ends the probe here as it does everywhere else, at once."""
    from witnessmark.mapping.reader import ProbeStopped

    pressed: list[int] = []

    def end(number: int, frame: FrameType | None) -> None:
        pressed.append(number)
        raise KeyboardInterrupt

    before = {number: signal.signal(number, end) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        return click.confirm(question, default=False, err=True)
    except click.Abort:
        if pressed:
            raise ProbeStopped("stopped as asked, with the question not answered") from None
        click.echo(err=True)
        return False  # nobody is there to answer, and no answer is a no
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


class _Line:
    """The progress line on standard error: on a terminal one line that changes, else one a tenth of the way."""

    def __init__(self) -> None:
        self._shown = -1
        self._live = os.isatty(2)

    def tell(self, progress: Progress) -> None:
        tenth = 10 * progress.done // max(1, progress.total)
        if not self._live and tenth == self._shown:
            return
        self._shown = tenth
        text = f"{_how_far(progress)}: {progress.doing}"
        click.echo(f"\r\x1b[K{text}" if self._live else text, err=True, nl=not self._live)

    def note(self, text: str) -> None:
        """Say what stays readable: a line of its own above the progress."""
        click.echo(f"\r\x1b[K{text}" if self._live else text, err=True)


def _how_far(progress: Progress) -> str:
    """Say how far it is, and how long it still takes, as far as that is known."""
    if progress.finding:
        left = "" if progress.left_s is None else f" in about {_span(progress.left_s)}"
        known = f", who answers is known{left}" if left else f", {_NOT_KNOWN}"
        return f"address {progress.done} of {progress.total}{known if progress.left_s != 0 else ''}"
    if progress.left_s == 0:
        return f"{progress.done} of {progress.total}"
    left = _NOT_KNOWN if progress.left_s is None else f"about {_span(progress.left_s)} left"
    return f"{progress.done} of {progress.total}, {left}"


_NOT_KNOWN = "time left not known yet"


def _span(seconds: float) -> str:
    minutes, left = divmod(math.ceil(seconds), 60)
    return f"{minutes} min {left} s" if minutes else f"{left} s"
