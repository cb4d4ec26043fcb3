"""`witnessmark audit JOB`: answers the questions a dispute turns on, each citing its entries."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import earlier_option, shop_option

if TYPE_CHECKING:
    from witnessmark.audit.case import Case
    from witnessmark.audit.verdict import Finding
    from witnessmark.host.shop import Shop

STYLE = {"met": "green", "not met": "bold red", "no proof": "yellow", "does not apply": "dim"}
INDENT = 21
MARK = {"met": "=", "not met": "X", "no proof": "?", "does not apply": "-"}


@click.command()
@click.argument("job")
@earlier_option
@click.option("--json", "as_json", is_flag=True, help="The findings as JSON.")
@click.option("--question", "numbers", type=int, multiple=True, help="Only this question; may stand again.")
@click.option("-v", "--details", is_flag=True, help="Why for every answer, and every pass and nipple.")
@shop_option
def audit(
    job: str, earlier: tuple[Path, ...], as_json: bool, numbers: tuple[int, ...], details: bool, shop: Shop
) -> None:  # fmt: skip
    """Answer the questions a dispute turns on, for a job or an evidence file."""
    from witnessmark.host import dossier

    found = dossier.of_target(shop, job, earlier)
    name, missing = found.name, dossier.missing(found)
    outcome = found.audited()
    check_numbers(numbers, [one.number for one in outcome.audit.findings])
    findings = [found.said(one) for one in outcome.audit.findings if not numbers or one.number in numbers]
    if as_json:
        import json

        from witnessmark.report.facts import facts

        told = facts(outcome.audit, beside=found.beside)
        wanted = {one.number for one in findings}
        shown = [one for one in told["findings"] if one["number"] in wanted]
        record = outcome.integrity.verdict
        told = {"job": name, "record": record, "policy": told["policy"], "findings": shown, "files": missing}
        click.echo(json.dumps(told, indent=2))
    else:
        graded = outcome.audit.case.witnessed_otherwise
        show(findings, name, outcome.integrity.verdict, details, graded=graded, missing=missing)
        click.echo(tolerances(outcome.audit.case))
    for error in outcome.broken:
        click.echo(f"left out: {error}", err=True)
    if any(one.answer == "not met" for one in findings):
        raise click.exceptions.Exit(1)


def check_numbers(wanted: tuple[int, ...], known: list[int]) -> None:
    """Raise InputError for a number that no question has."""
    from witnessmark.errors import InputError

    unknown = [number for number in wanted if number not in known]
    if unknown:
        raise InputError(f"there is no question {unknown[0]}", place="--question", hint=f"ask one of {_runs(known)}")


def _runs(numbers: list[int]) -> str:
    """Return `1 to 37, 1001`."""
    found: list[list[int]] = []
    for number in sorted(numbers):
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in found)


def show(
    findings: list[Finding], name: str, integrity: str, details: bool, *, graded: bool, missing: Sequence[str] = ()
) -> None:
    """Print findings: answer, number and question; the reason and its entries where the answer is not plainly met.

    `graded`: not every run was sent by us, so that each says of which grade the runs are that it rests on; where the
    reason is printed, that says so. `missing` names the attached files that are not as they entered.
    """
    from rich.console import Console
    from rich.markup import escape
    from rich.padding import Padding

    from witnessmark.audit.run import LEAVES_OUT
    from witnessmark.audit.say import listing
    from witnessmark.cli.plainly import plain
    from witnessmark.quantity import printed

    console = Console(highlight=False)
    console.print(f"[bold]{escape(plain(name))}[/]: the record is {integrity}")
    for line in missing:
        console.print(f"[bold red]! {escape(plain(line))}[/]")
    for one in findings:
        unasked = one.text.startswith(LEAVES_OUT)
        style, reason = STYLE[one.answer], details or unasked or one.answer in ("not met", "no proof")
        rests = f" ({listing(one.grades)})" if graded and one.grades and not reason else ""
        title = escape(plain(f"{one.title}{rests}"))
        console.print(f"[{style}]{MARK[one.answer]} {one.answer:<14}[/] {one.number:>2}  {title}")
        if reason:
            console.print(Padding(escape(plain(printed(f"{one.text}{_cites(one.cites)}"))), (0, 0, 0, INDENT)))
        for detail in one.details if details else ():
            line = f"{detail.answer}: {detail.subject}: {detail.text}{_cites(detail.cites)}"
            console.print(Padding(escape(plain(printed(line))), (0, 0, 0, INDENT + 2)))
    counts = {answer: sum(one.answer == answer for one in findings) for answer in STYLE}
    console.print(", ".join(f"{count} {answer}" for answer, count in counts.items()))


def tolerances(case: Case) -> str:
    """Return by whose policy the questions were answered."""
    return f"tolerances: {case.policy.said}"


def _cites(cites: tuple[int, ...]) -> str:
    """Return the entries an answer rests on, the first few of them."""
    from witnessmark.audit import cited

    said = cited.spell(cites)
    return f" [{said}]" if said else ""
