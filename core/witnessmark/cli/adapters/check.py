"""`witnessmark adapters check ADDRESS`: whether a link works, in plain words; `--contract` proves the adapter on it."""

from __future__ import annotations

from collections import defaultdict

import click


@click.command()
@click.argument("address")
@click.option("--listen", is_flag=True, help="Send nothing at all.")
@click.option("--ask", metavar="TARGET:SOURCE", help="Whom to ask, in hex, where it is not a standard address.")
@click.option("--contract", is_flag=True, help="Run the rules of the contract instead. Sends nothing without --peer.")
@click.option("--peer", metavar="ADDRESS", help="A second interface on the same bench bus, for --contract.")
def check(address: str, listen: bool, ask: str | None, contract: bool, peer: str | None) -> None:
    """Try a link with requests that only read, and say what is wrong."""
    if peer is not None and not contract:
        raise click.UsageError("--peer belongs to --contract: add it, or leave --peer out.")
    if contract and (listen or ask is not None):
        raise click.UsageError("--contract takes neither --listen nor --ask: without --peer it sends nothing.")
    if contract:
        _contract(address, peer)
        return
    from witnessmark.clock import SystemClock
    from witnessmark.host.linkcheck import check_link, parse_peer

    whom = None if ask is None else parse_peer(ask)
    wrong = 0
    click.echo(address)
    for finding in check_link(address, SystemClock(), peer=whom, listen_only=listen):
        click.echo(f"  {'WRONG' if finding.wrong else 'ok':<5}  {finding.what}")
        if finding.wrong:
            wrong += 1
            click.echo(f"  {'do:':<5}  {finding.do}")
    if wrong:
        raise click.exceptions.Exit(1)


def _contract(address: str, peer: str | None) -> None:
    from witnessmark.plugin import CONTRACT_VERSION
    from witnessmark.testing.page import run_page

    if peer is not None:
        click.confirm(
            f"This sends thousands of frames between {address} and {peer}. Is the bus a bench, with no vehicle on it?",
            abort=True,
        )
    click.echo(f"contract {CONTRACT_VERSION} at {address}" + (f", the other end {peer}" if peer else ""))
    counts = {"kept": 0, "broken": 0, "not tried": 0}
    untried: dict[str, list[str]] = defaultdict(list)
    for line in run_page(address, peer):
        counts[line.verdict] += 1
        if line.verdict == "not tried":
            untried[line.why].append(line.rule)
            continue
        click.echo(f"  {line.verdict:<9}  {line.rule}" + (f": {line.why}" if line.why else ""))
    for why, rules in untried.items():
        click.echo(f"  not tried, {why}")
        for rule in rules:
            click.echo(f"             {rule}")
    click.echo(", ".join(f"{count} {verdict}" for verdict, count in counts.items()))
    if counts["broken"]:
        raise click.exceptions.Exit(1)
