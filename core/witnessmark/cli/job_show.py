"""`witnessmark job show JOB`: every entry of a job, a line each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop
    from witnessmark.journal.entry import Entry


@click.command()
@click.argument("job")
@click.option("--json", "as_json", is_flag=True, help="The exact text of each entry.")
@click.option("--kind", default=None, help="Only entries of this kind.")
@shop_option
def show(job: str, as_json: bool, kind: str | None, shop: Shop) -> None:
    """Show every entry of a job."""
    from witnessmark.journal import entry as entries

    with shop.read() as journal:
        for text in journal.job_texts(job):
            one = entries.parse(text)
            if kind is None or one.kind == kind:
                click.echo(text.decode() if as_json else _line(one))


def _line(entry: Entry) -> str:
    from datetime import datetime

    from witnessmark.audit.assemble import body_of
    from witnessmark.clock import NS
    from witnessmark.report.lines import line

    start, end = entry.occurred.from_ns, entry.occurred.to_ns
    at = datetime.fromtimestamp((start + end) // 2 // NS).astimezone().strftime("%H:%M:%S")
    spread = f"±{(end - start) / 2 / NS:.1f} s" if end > start else ""
    who = entry.done_by.partition(":")[2]
    return f"{entry.seq:>5}  {at} {spread:<8} {who:<10} {entry.kind:<11} {line(entry.kind, body_of(entry))}"
