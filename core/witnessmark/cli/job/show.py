"""`witnessmark job show JOB`: every entry of a job, a line each, and what was corrected under what was written.

Rules that hold here: an entry has the number by which audit and papers cite it, and the time that they give it, on the
one clock of the job; one that a practice job has from the system's clock has that time, and says so.
"""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option
from witnessmark.journal.kinds import KINDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from witnessmark.audit.reconcile import Reconciled
    from witnessmark.host.shop import Shop
    from witnessmark.journal.entry import Entry
    from witnessmark.range import Range
    from witnessmark.report.kept import Beside, Correction


@click.command()
@click.argument("job")
@click.option("--json", "as_json", is_flag=True, help="The exact text of each entry.")
@click.option("--kind", default=None, help="Only entries of this kind.")
@shop_option
def show(job: str, as_json: bool, kind: str | None, shop: Shop) -> None:
    """Show every entry of a job."""
    if kind is not None and kind not in KINDS:
        raise click.UsageError(f"no entry is of kind {kind!r}; use one of: {', '.join(KINDS)}")
    if as_json:
        from witnessmark.journal import entry as entries

        with shop.read() as journal:
            for text in journal.job_texts(job):
                if kind is None or entries.parse(text).kind == kind:
                    click.echo(text.decode())
        return
    from witnessmark.cli.plainly import plain
    from witnessmark.host import dossier
    from witnessmark.host.history import parsed
    from witnessmark.quantity import printed
    from witnessmark.report.kept import corrections

    found = dossier.of_job(shop, job)
    beside = found.beside
    parts = [parsed(one) for one in found.parts]
    for line in beside.bays[1:]:
        click.echo(plain(line))
    for number, (part, row) in enumerate(zip(parts, _rows(parts), strict=True), 1):
        if len(parts) > 1:
            click.echo(f"bay {number} of {len(parts)}, job {part[0].job}")
        corrected = corrections([one for one, _, _ in row], beside.say)
        told = _told(part)
        shown = ""
        for one, at, clock in row:
            if kind is None or one.kind == kind:
                if (day := _printed(_middle(at), "%Y-%m-%d")) != shown:
                    click.echo(day)
                shown = day
                click.echo(plain(printed(_line(one, at, beside, *told) + clock)))
                for correction in corrected.get(one.seq, ()):
                    click.echo(plain(printed(_correction(correction))))


def taken_back(shop: Shop, job: str, since: int) -> list[str]:
    """Return a line for each entry of a job that was taken back after entry `since`, in the order they were written."""
    from witnessmark.cli.plainly import plain
    from witnessmark.host import dossier
    from witnessmark.host.history import parsed
    from witnessmark.quantity import printed

    found = dossier.of_job(shop, job)
    parts = [parsed(one) for one in found.parts]
    part, told = parts[-1], _told(parts[-1])
    gone = {one.body["target"] for one in part if one.kind == "amendment" and one.seq > since}
    both = zip(part, _rows(parts)[-1], strict=True)
    return [plain(printed(_line(one, at, found.beside, *told))) for was, (one, at, _) in both if was.seq in gone]


def _correction(one: Correction) -> str:
    return f"{'':>7}corrected in entry {one.seq}: {one.text} ({one.reason})"


def _told(part: Sequence[Entry]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return what the job before left open, and the steps whose no says how the fluid ran, as the opening has them."""
    from witnessmark.audit.grounds.asked import looks_how_it_ran
    from witnessmark.errors import InputError
    from witnessmark.procedure.load import from_document

    opened = next((one.body for one in part if one.kind in ("job-opened", "moved")), {})
    try:
        ran = looks_how_it_ran(from_document(opened["procedure"])) if "procedure" in opened else frozenset()
    except InputError:
        ran = frozenset()  # the audit says what is wrong with it
    return tuple(opened.get("earlier", ())), ran


def _rows(parts: Sequence[Sequence[Entry]]) -> list[list[tuple[Entry, Range, str]]]:
    """Return each entry of each bay's part as audit and papers number it, when it was, and by which clock if another.

    That is told of one that has its time from another clock than the entries before it.
    """
    from witnessmark.audit.reconcile import Reconciled
    from witnessmark.journal import joining

    row = joining.after_first(parts)
    clock = Reconciled(row)
    each = iter(row)
    return [[(one, clock.told(one), _clock(clock, one, part[0])) for one in islice(each, len(part))] for part in parts]


def _clock(clock: Reconciled, entry: Entry, first: Entry) -> str:
    if clock.beside(entry):
        return " [the system's clock]"
    return "" if entry.recorded.rate == first.recorded.rate else " [a practice clock]"


def _line(entry: Entry, at: Range, beside: Beside, earlier: tuple[str, ...], ran: frozenset[str]) -> str:
    from witnessmark.audit.assemble import body_of
    from witnessmark.audit.say import seconds
    from witnessmark.report import kept
    from witnessmark.report.lines import line
    from witnessmark.report.times import uncertain, vague

    clock = _printed(_middle(at), "%H:%M:%S")
    spread = f"±{seconds(half)}" if (half := uncertain(at)) else ""
    if entry.occurred.basis == "typed" and vague(at):
        clock, spread = "not known", ""
    who = entry.done_by.partition(":")[2]
    text = kept.line(entry, beside) or str(beside.say(line(entry.kind, body_of(entry), entry.done_by, earlier, ran)))
    if entry.kind in ("job-opened", "moved"):
        text += _whose(entry, beside)
    by = entry.entered_by.partition(":")[2]
    if entry.occurred.basis != "typed" and entry.done_by.startswith("person:") and entry.entered_by != entry.done_by:
        text += f" [entered by {by}]"
    elif entry.occurred.basis == "typed":
        text += f" [entered afterwards, {_printed(entry.recorded.wall_ns, '%Y-%m-%d %H:%M')}, by {by}]"
    return f"{entry.seq:>5}  {clock:<8} {spread:<8} {who:<10} {entry.kind:<11} {text}"


def _middle(at: Range) -> int:
    return (at.low + at.high) // 2


def _printed(ns: int, form: str) -> str:
    """Return a moment on the clock of the machine at hand."""
    from witnessmark.audit import say

    moment = say.moment(ns, None)
    return say.NO_CALENDAR if moment is None else moment.strftime(form)


def _whose(entry: Entry, beside: Beside) -> str:
    """Return vehicle and customer, as far as they are kept here."""
    from witnessmark.report.kept import value_text

    told = beside.say(entry.body)
    named = {**told.get("vehicle", {}), **{key: told[key] for key in ("registration", "customer") if told.get(key)}}
    return f"; {value_text(named)}" if named else ""
