"""`witnessmark verify FILE`: was the record altered? Needs no journal and no network."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import earlier_option

if TYPE_CHECKING:
    from witnessmark.audit.verify import Verification


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--anchor", metavar="TEXT|FILE", help="What you hold: a checkpoint, a QR text, or `COUNT HEAD` of a sheet."
)
@click.option("--key", metavar="TEXT|FILE", help="The shop's public key as it was posted.")
@earlier_option
@click.option("--json", "as_json", is_flag=True, help="The same as JSON.")
def verify(file: Path, anchor: str | None, key: str | None, earlier: tuple[Path, ...], as_json: bool) -> None:
    """Say whether an evidence file was altered. Needs no journal."""
    from witnessmark.audit import verify as verifying
    from witnessmark.cli.anchor import anchor as held
    from witnessmark.cli.anchor import key as posted
    from witnessmark.cli.plainly import plain
    from witnessmark.host.verifying import verify_parts

    known = held(anchor) if anchor is not None else None
    posted_key = posted(key) if key is not None else None
    if earlier:
        whole = verify_parts([(one.name, _read(one)) for one in (*earlier, file)], known, posted_key)
        found, parts = whole.found, whole.parts
    else:
        found, parts = verifying.verify(_read(file), known, posted_key, name=file.name), ()
    if as_json:
        import json

        shown = {
            "verdict": found.verdict, "text": found.text, "job": found.job, "count": len(found.entries),
            "head": found.head, "entry": found.seq, "place": found.place, "anchor_only": found.anchor_only,
            "anchor_size": found.anchor_size, "remarks": list(found.remarks),
            "parts": [
                {"name": one.name, "origin": one.origin, "verdict": one.found.verdict, "text": one.found.text,
                 "count": len(one.found.entries), "head": one.found.head, "anchor_size": one.found.anchor_size}
                for one in parts
            ],
        }  # fmt: skip
        click.echo(json.dumps(shown, indent=2))
    else:
        click.echo(f"{found.verdict.upper()}: {plain(found.text)}")
        where = [] if found.seq is None else [f"entry {found.seq}"]
        where += [found.place] if found.place and found.place not in where else []
        if where:
            click.echo(f"  at {plain(', '.join(where))}")
        if found.anchor_only:
            click.echo("  only what somebody holds elsewhere shows this; the file alone does not")
        for remark in found.remarks:
            click.echo(f"  {plain(remark)}")
        for number, part in enumerate(parts, 1):
            of = f" of {plain(part.origin)}" if part.origin else ""
            click.echo(f"  bay {number}, {plain(part.name)}{of}: {part.found.verdict}: {plain(part.found.text)}")
            click.echo(f"    its own record: {_count(part.found)}")
        every = f" (the last bay's record; {sum(len(one.found.entries) for one in parts)} entries in all bays)"
        click.echo(f"  job {found.job or 'not known'}, {_count(found)}{every if parts else ''}")
    if found.verdict not in ("intact", "consistent, unanchored"):
        raise click.exceptions.Exit(1)


def _count(found: Verification) -> str:
    return f"{len(found.entries)} entries, head {found.head or 'none'}"


def _read(path: Path) -> bytes:
    from witnessmark.errors import InputError

    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", place=str(path), hint="give an evidence file") from error
