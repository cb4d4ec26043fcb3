"""`witnessmark audit JOB`: answers the questions a dispute turns on, each citing its entries."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.audit.verdict import Finding
    from witnessmark.host.shop import Shop

STYLE = {"met": "green", "not met": "bold red", "no proof": "yellow", "does not apply": "dim"}
MARK = {"met": "=", "not met": "X", "no proof": "?", "does not apply": "-"}


@click.command()
@click.argument("job")
@click.option("--json", "as_json", is_flag=True, help="The findings as JSON.")
@click.option("--question", "numbers", type=int, multiple=True, help="Only this question; may stand again.")
@click.option("-v", "--details", is_flag=True, help="Every pass and nipple, not only what decides.")
@shop_option
def audit(job: str, as_json: bool, numbers: tuple[int, ...], details: bool, shop: Shop) -> None:
    """Answer the questions a dispute turns on, for a job or an evidence file."""
    from witnessmark.host.auditing import audit_evidence

    data, name = shop.evidence_or_file(job)
    outcome = audit_evidence(data, name=name)
    findings = [one for one in outcome.audit.findings if not numbers or one.number in numbers]
    if as_json:
        import json

        from witnessmark.report.facts import facts

        wanted = {one.number for one in findings}
        shown = [one for one in facts(outcome.audit)["findings"] if one["number"] in wanted]
        click.echo(json.dumps({"job": name, "record": outcome.integrity.verdict, "findings": shown}, indent=2))
    else:
        show(findings, name, outcome.integrity.verdict, details)
    for error in outcome.broken:
        click.echo(f"left out: {error}", err=True)
    if any(one.answer == "not met" for one in findings):
        raise click.exceptions.Exit(1)


def show(findings: list[Finding], name: str, integrity: str, details: bool) -> None:
    """Print findings as a table a person reads: number, question, answer, why, entries."""
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    table = Table(title=f"{name}: record {integrity}", title_justify="left", show_lines=details)
    for heading in ("#", "question", "answer", "why", "entries"):
        table.add_column(heading, overflow="fold", no_wrap=heading == "answer")
    for one in findings:
        style = STYLE[one.answer]
        table.add_row(
            str(one.number),
            escape(one.title),
            f"[{style}]{MARK[one.answer]} {one.answer}[/]",
            escape(one.text),
            _cites(one.cites),
        )
        for detail in one.details if details else ():
            table.add_row("", f"  {escape(detail.subject)}", detail.answer, escape(detail.text), _cites(detail.cites))
    console = Console()
    console.print(table)
    counts = {answer: sum(one.answer == answer for one in findings) for answer in STYLE}
    console.print(", ".join(f"{count} {answer}" for answer, count in counts.items()))


def _cites(cites: tuple[int, ...]) -> str:
    if len(cites) <= 6:
        return " ".join(map(str, cites))
    return f"{' '.join(map(str, cites[:5]))} +{len(cites) - 5}"
