"""`witnessmark compare JOB JOB`: two jobs side by side on one time axis."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("one")
@click.argument("other")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: compare.html here.")
@shop_option
def compare(one: str, other: str, output: Path | None, shop: Shop) -> None:
    """Write two jobs side by side on one time axis.

    Either may be an evidence file. Prints which is A and which is B, and the questions that they answer differently.
    """
    from witnessmark.cli.paper import told, write_paper
    from witnessmark.report.comparison import called, caution, comparison, scope

    both = [told(shop, target) for target in (one, other)]
    names = [called(facts, Path(target).name) for facts, target in zip(both, (one, other), strict=True)]
    if names[0] == names[1]:
        names = [f"{name} ({target})" for name, target in zip(names, (one, other), strict=True)]
    page = comparison(both[0], both[1], names)
    for letter, name, facts in zip("AB", names, both, strict=True):
        click.echo(f"{letter}: {name}, begun {facts['job']['date']} {facts['job']['first']}: {scope(facts)}")
    if said := caution(*both):
        click.echo(said)
    click.echo(f"tolerances: {both[0]['policy']['text']}")
    answers = [{found["number"]: found for found in facts["findings"]} for facts in both]
    for number, found in sorted(answers[0].items()):
        against = answers[1].get(number)
        if against is not None and against["answer"] != found["answer"]:
            click.echo(f"{number:>3} {found['title']}: A {found['answer']}, B {against['answer']}")
    write_paper("jobs", "compare", output or Path("compare.html"), page)
