"""`witnessmark job list`: the jobs of this bay, the last one first; all, or those that every option given fits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from datetime import datetime

    from witnessmark.host.shop import Shop
    from witnessmark.journal.check import Check
    from witnessmark.journal.entry import Entry
    from witnessmark.journal.store import Journal

DAY = click.DateTime(["%Y-%m-%d", "%Y-%m-%d %H:%M"])


@click.command("list")
@click.option("--vin", default="", help="Jobs on the vehicle with this VIN.")
@click.option("--plate", default="", help="Jobs on the vehicle with this plate, however it is spaced.")
@click.option("--vehicle", default="", metavar="ID", help="Jobs whose vehicle the shop called so.")
@click.option("--since", type=DAY, metavar="DAY", help="Jobs opened on this day (2026-03-31) or later.")
@click.option("--until", type=DAY, metavar="DAY", help="Jobs opened before this day.")
@click.option("--by", default="", metavar="ID", help="Jobs in which this person did or entered anything.")
@click.option("--finding", default="", metavar="WHAT",
              help="Jobs whose audit leaves it open: a question's number or id, `not met`, or `no proof`.")  # fmt: skip
@shop_option
def list_(
    vin: str, plate: str, vehicle: str, since: datetime | None, until: datetime | None, by: str, finding: str,
    shop: Shop,
) -> None:  # fmt: skip
    """List the jobs of this bay, the last one first; under each what it left open on the vehicle.

    Under one that is not released also what is not as asked and what the job that it comes back to left open, under a
    released one what was accepted as open, and what a correction opened since: each question by its number and the
    short name that --finding takes; `audit JOB` tells it whole. The whole journal is checked: a job whose record is not
    as it was written says so, and one that cannot be read stands in the list whatever is asked for.

    With options, those that all of them fit.
    """
    from functools import cache, lru_cache

    from witnessmark.audit import say
    from witnessmark.errors import JournalError
    from witnessmark.host.extending import questions
    from witnessmark.host.folded import folded
    from witnessmark.host.history import history
    from witnessmark.host.listed import Listed
    from witnessmark.host.looking import left_open, worked_on
    from witnessmark.host.other_jobs import Openings
    from witnessmark.job.walk.state import JobState
    from witnessmark.journal import moving

    found = 0
    checked = _checked(shop)
    for damage in checked.damage[:1]:
        click.echo(f"! RECORD {damage.verdict.upper()}: the check of the whole journal finds: {damage.text}")
    with shop.read() as journal:
        lines = journal.jobs()
        last = {line.job: line.last_seq for line in lines}
        asked = _asked(journal, vin, plate, vehicle, since, until)

        @lru_cache(KEPT)
        def stands(job: str) -> JobState | JournalError:
            try:
                return folded(journal, job)
            except JournalError as error:
                return error

        def known(job: str) -> JobState | None:
            return one if isinstance(one := stands(job), JobState) else None

        asks, opened = cache(questions.load), Openings(journal)
        for line in lines:
            if not all(line.job in jobs for jobs in asked):
                continue
            size = say.counted(line.count, "entry", "entries")
            state = stands(line.job)
            if isinstance(state, JournalError):  # whatever is looked for: what cannot be read rules it out of nothing
                found += 1
                verdict = checked.damage[0].verdict.upper() if checked.damage else "NOT READABLE"
                click.echo(f"{line.job:<10} {'?':<9} {'NOT RELEASED':<12} {'step ?':<14} {size:>12}")
                click.echo(f"    ! RECORD {verdict}: {state}; what it left open on the vehicle is not known")
                continue
            entries = list(history(journal, line.job))
            if by and not worked_on(entries, by):
                continue
            listed = Listed(shop, journal, entries, state, checked, known, last, asks, opened)
            why = left_open(listed.findings, finding) if finding else []
            if finding and not why:
                continue
            found += 1
            where = f"step {min(state.cursor + 1, len(state.points))} of {len(state.points)}"
            well = f"{len(listed.accepted)} accepted" if listed.accepted else ""
            open_ = "OPEN AGAIN" if listed.again else well if state.status == "released" else "NOT RELEASED"
            gone = moving.handed_over(journal, line.job)
            open_ += "" if gone is None else f", went to {gone.body['to']} "
            what = f"{_vehicle(entries)}{state.procedure.title}"
            head = f"{line.job:<10} {state.status:<9} {open_:<12} {where:<14} {size:>12}"
            click.echo(f"{head}  {_scope(entries):<{SCOPE}}  {what}")
            named = [f"left open: {'; '.join(map(listed.brief, why))}"] if why else []
            for text in (*listed.lines, *named):
                click.echo(f"    {text}")
    if not lines:
        click.echo("no job yet; open one with `witnessmark job open`")
    elif not found:
        erased = "; a plate that was erased finds nothing" if plate else ""
        click.echo(f"no job fits{erased}", err=True)
        raise click.exceptions.Exit(1)


KEPT = 256
"""Of so many jobs listed last it is kept where they stand: those on the same vehicle are often near each other."""
SCOPE = 8
"""How wide a scope of one word is."""


def _scope(entries: list[Entry]) -> str:
    """Return what part of the procedure the job does: full, the corners by their nipples, or the job it comes back to.

    The entry says it as it was opened: `full`, `nipples ID,ID`, `follows JOB PASS,PASS`.
    """
    kind, *rest = str(entries[0].body.get("scope", "full")).split() or ["full"]
    if kind == "nipples" and rest:
        return f"corners {rest[0]}"
    return f"comeback to {' '.join(rest)}" if kind == "follows" and rest else kind


def _vehicle(entries: list[Entry]) -> str:
    """Return what the shop calls the vehicle, before the title."""
    known = entries[0].body.get("vehicle", {}).get("id", "")
    return f"{known}: " if known else ""


def _asked(
    journal: Journal, vin: str, plate: str, vehicle: str, since: datetime | None, until: datetime | None
) -> list[list[str]]:
    """Return the jobs of each thing that is looked for in the journal."""
    from witnessmark.clock import NS
    from witnessmark.journal import finding

    found = []
    if plate:
        found.append(finding.by_registration(journal, plate))
    if vin:
        found.append(finding.by_vin(journal, vin))
    if vehicle:
        found.append(finding.by_name(journal, vehicle))
    if since or until:
        low, high = (round(day.timestamp()) * NS if day else None for day in (since, until))
        found.append(finding.by_time(journal, low or 0, 10**19 - 1 if high is None else high))
    return found


def _checked(shop: Shop) -> Check:
    """Check the journal once for all of its jobs."""
    from witnessmark.journal.check import check

    shop.need_journal()
    return check(shop.journal_path, shop.clock, database=False)
