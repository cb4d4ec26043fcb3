"""`witnessmark job show JOB`: every entry of a job, a line each, and what was corrected under what was written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option
from witnessmark.journal.kinds import KINDS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from witnessmark.host.shop import Shop
    from witnessmark.journal.entry import Entry
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
    for number, part in enumerate(map(parsed, found.parts), 1):
        if len(found.parts) > 1:
            click.echo(f"bay {number} of {len(found.parts)}, job {part[0].job}")
        corrected = corrections(part, beside.say)
        told = _told(part)
        shown = ""
        for one in part:
            if kind is None or one.kind == kind:
                if (day := f"{_middle(one):%Y-%m-%d}") != shown:
                    click.echo(day)
                shown = day
                click.echo(plain(printed(_line(one, beside, *told) + another_clock(one, part[0]))))
                for correction in corrected.get(one.seq, ()):
                    click.echo(plain(printed(_correction(correction))))


def taken_back(shop: Shop, job: str, since: int) -> list[str]:
    """Return a line for each entry of a job that was taken back after entry `since`, in the order they were written."""
    from witnessmark.cli.plainly import plain
    from witnessmark.host import dossier
    from witnessmark.host.history import parsed
    from witnessmark.quantity import printed

    found = dossier.of_job(shop, job)
    part = parsed(found.parts[-1])
    gone = {one.body["target"] for one in part if one.kind == "amendment" and one.seq > since}
    return [plain(printed(_line(one, found.beside, *_told(part)))) for one in part if one.seq in gone]


def another_clock(entry: Entry, first: Entry) -> str:
    """Return in words that an entry has its time from another clock than the job began with."""
    if entry.recorded.rate == first.recorded.rate:
        return ""
    return " [the system's clock]" if entry.recorded.rate == 1 else " [a practice clock]"


def _correction(one: Correction) -> str:
    return f"{'':>7}corrected in entry {one.seq}: {one.text} ({one.reason})"


def _told(part: Sequence[Entry]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return what the job before left open, and the steps whose no says how the fluid ran, as the opening has them."""
    from witnessmark.audit.asked import looks_how_it_ran
    from witnessmark.errors import InputError
    from witnessmark.procedure.load import from_document

    opened = next((one.body for one in part if one.kind in ("job-opened", "moved")), {})
    try:
        ran = looks_how_it_ran(from_document(opened["procedure"])) if "procedure" in opened else frozenset()
    except InputError:
        ran = frozenset()  # the audit says what is wrong with it
    return tuple(opened.get("earlier", ())), ran


def _line(entry: Entry, beside: Beside, earlier: tuple[str, ...], ran: frozenset[str]) -> str:
    from witnessmark.audit.assemble import body_of
    from witnessmark.audit.range import Range
    from witnessmark.clock import NS
    from witnessmark.report import kept
    from witnessmark.report.lines import line
    from witnessmark.report.times import vague

    start, end = entry.occurred.from_ns, entry.occurred.to_ns
    at = f"{_middle(entry):%H:%M:%S}"
    spread = f"±{(end - start) / 2 / NS:.1f} s" if end > start else ""
    if entry.occurred.basis == "typed" and vague(Range(start, end)):
        at, spread = "not known", ""
    who = entry.done_by.partition(":")[2]
    text = kept.line(entry, beside) or str(beside.say(line(entry.kind, body_of(entry), entry.done_by, earlier, ran)))
    if entry.kind in ("job-opened", "moved"):
        text += _whose(entry, beside)
    by = entry.entered_by.partition(":")[2]
    if entry.occurred.basis != "typed" and entry.done_by.startswith("person:") and entry.entered_by != entry.done_by:
        text += f" [entered by {by}]"
    elif entry.occurred.basis == "typed":
        text += f" [entered afterwards, {_local(entry.recorded.wall_ns):%Y-%m-%d %H:%M}, by {by}]"
    return f"{entry.seq:>5}  {at:<8} {spread:<8} {who:<10} {entry.kind:<11} {text}"


def _middle(entry: Entry) -> datetime:
    """Return when it was: the middle of what is known, here."""
    return _local((entry.occurred.from_ns + entry.occurred.to_ns) // 2)


def _local(ns: int) -> datetime:
    from datetime import datetime

    return datetime.fromtimestamp(ns // 1_000_000_000).astimezone()


def _whose(entry: Entry, beside: Beside) -> str:
    """Return vehicle and customer, as far as they are kept here."""
    from witnessmark.report.kept import value_text

    told = beside.say(entry.body)
    named = {**told.get("vehicle", {}), **{key: told[key] for key in ("registration", "customer") if told.get(key)}}
    return f"; {value_text(named)}" if named else ""
