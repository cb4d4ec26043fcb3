"""`witnessmark attach JOB FILE`: a photo of a gauge, a level or a torque wrench enters by its hash."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, say_clock, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("job")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--shows", required=True, help="What is seen on it: gauge, level, torque wrench.")
@click.option("--entry", type=click.IntRange(0), default=None, help="The entry that it belongs to.")
@by_option
@shop_option
def attach(job: str, file: Path, shows: str, entry: int | None, by: str, shop: Shop) -> None:
    """Keep a photo or another file with a job, by its hash."""
    from witnessmark.errors import InputError
    from witnessmark.host.job_clock import on_its_clock
    from witnessmark.journal import attachment
    from witnessmark.people.person import Person

    actor = Person(by).actor
    if not shows.strip():
        raise InputError("nothing is said", place="--shows", hint="say what is seen on it, like `feed gauge`")
    shop.need_journal()
    shop, clock = on_its_clock(shop, job)
    with shop.write() as journal:
        made = attachment.attach(journal, job, file, actor, shows=shows.strip(), target=entry)
        folder = attachment.folder_of(journal.path)
    click.echo(f"Entry {made.seq}: {file.name}, {made.body['size']} bytes, SHA-256 {made.body['sha256']}")
    say_clock(clock)
    click.echo(f"A copy is in {folder}. Keep it there: a missing or changed one shows on the sheet.")
