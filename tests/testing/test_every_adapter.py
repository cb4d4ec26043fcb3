"""Every shipped adapter runs the contract: its entry point has a contract class in its own tests."""

from __future__ import annotations

from collections.abc import Iterable
from importlib import import_module

from tests.rules.source import ROOT

from witnessmark.host import plugins
from witnessmark.testing import FrameLinkContract, MessageLinkContract, contracts_of


def unproven(schemes: Iterable[str]) -> set[str]:
    """Return the schemes for which no collected contract class stands in tests/plugins/*/test_contract.py."""
    for path in sorted((ROOT / "tests" / "plugins").glob("*/test_contract.py")):
        import_module(f"tests.plugins.{path.parent.name}.test_contract")
    return {
        scheme
        for scheme in schemes
        if not any(
            one.__name__.startswith("Test") and issubclass(one, FrameLinkContract | MessageLinkContract)
            for one in contracts_of(scheme)
        )
    }


def test_every_installed_adapter_of_ours_runs_the_contract() -> None:
    ours = {one.scheme for one in plugins.installed() if one.distribution == "witnessmark"}
    assert {"canbus", "prompt", "replay"} <= ours
    assert unproven(ours) == set()


def test_an_adapter_without_a_contract_is_named() -> None:
    assert unproven(["canbus", "unheard-of"]) == {"unheard-of"}
