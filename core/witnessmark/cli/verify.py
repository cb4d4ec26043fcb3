"""`witnessmark verify FILE`: was the record altered? Needs no journal and no network."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--anchor", metavar="TEXT|FILE", help="What you hold: a checkpoint, a QR text, or `COUNT HEAD` of a sheet."
)
@click.option("--key", metavar="TEXT|FILE", help="The shop's public key as it was posted.")
@click.option("--json", "as_json", is_flag=True, help="The same as JSON.")
def verify(file: Path, anchor: str | None, key: str | None, as_json: bool) -> None:
    """Say whether an evidence file was altered. Needs no journal."""
    from witnessmark.audit import verify as verifying
    from witnessmark.cli.anchor import anchor as held
    from witnessmark.cli.anchor import key as posted
    from witnessmark.cli.plainly import plain

    found = verifying.verify(
        _read(file),
        held(anchor) if anchor is not None else None,
        posted(key) if key is not None else None,
        name=file.name,
    )
    if as_json:
        import json

        shown = {
            "verdict": found.verdict, "text": found.text, "job": found.job, "count": len(found.entries),
            "head": found.head, "entry": found.seq, "place": found.place, "anchor_only": found.anchor_only,
            "anchor_size": found.anchor_size, "remarks": list(found.remarks),
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
        click.echo(f"  job {found.job or 'not known'}, {len(found.entries)} entries, head {found.head or 'none'}")
    if found.verdict not in ("intact", "consistent, unanchored"):
        raise click.exceptions.Exit(1)


def _read(path: Path) -> bytes:
    from witnessmark.errors import InputError

    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", place=str(path), hint="give an evidence file") from error
