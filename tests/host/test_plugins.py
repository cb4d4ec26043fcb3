"""Plugins are found without an import, loaded one by one, and a broken one is named."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.host.installing import Install

from witnessmark.cli.main import witnessmark
from witnessmark.clock import ManualClock
from witnessmark.errors import InputError, PluginError
from witnessmark.host import plugins
from witnessmark.link.address import Address


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Install:
    return Install(tmp_path, monkeypatch)


GOOD = '''"""A wire to nowhere."""
from witnessmark.plugin import hookimpl, Address
ADDRESS = "nowhere:ANY"
@hookimpl
def open_link(address, clock, listen_only):
    return "not a link"
@hookimpl
def find_links():
    return [(Address("nowhere", "7"), "a wire")]
'''


def test_listing_reads_the_source_and_imports_nothing(install: Install) -> None:
    install("nowhere", '"""A wire to nowhere."""\nADDRESS = "nowhere:ANY"\nraise RuntimeError("imported")\n')
    (one,) = [one for one in plugins.installed() if one.scheme == "nowhere"]
    assert (one.usage, one.summary) == ("nowhere:ANY", "A wire to nowhere.")
    assert (one.distribution, one.version) == ("bay-things", "2.5")


def test_the_adapters_command_imports_no_plugin() -> None:
    code = (
        "import sys; from click.testing import CliRunner; from witnessmark.cli.main import witnessmark;"
        "r = CliRunner().invoke(witnessmark, ['adapters']); assert r.exit_code == 0, r.output;"
        "print([m for m in sys.modules if m.startswith('witnessmark_')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("source", "why"),
    [
        ("raise RuntimeError('no driver')", "cannot be imported: RuntimeError: no driver"),
        ("import sys; sys.exit(3)", "cannot be imported: SystemExit: 3"),
        ("def broken(:\n", "cannot be imported: SyntaxError"),
        ("import nothing_like_this\n", "No module named 'nothing_like_this'"),
        ("x = 1\n", "implements no open_link"),
        (
            "from witnessmark.plugin import hookimpl\n@hookimpl\ndef open_lnik(address): ...\n",
            "a hook does not fit: unknown hook 'open_lnik'",
        ),
        (
            "from witnessmark.plugin import hookimpl\n@hookimpl\ndef open_link(address, speed): ...\n",
            "a hook does not fit",
        ),
    ],
)
def test_a_broken_plugin_is_named_with_its_reason_and_harms_nothing(install: Install, source: str, why: str) -> None:
    install("nowhere", source)
    shown = CliRunner().invoke(witnessmark, ["doctor"])
    assert shown.exit_code == 1
    line = next(line for line in shown.output.splitlines() if "nowhere" in line)
    assert "bay-things 2.5" in line and why in shown.output
    assert next(line for line in shown.output.splitlines() if " prompt " in line).endswith("ok")
    with pytest.raises(PluginError, match="bay-things"):
        plugins.Adapter("nowhere")


def test_what_is_no_link_is_refused(install: Install) -> None:
    install("nowhere", GOOD)
    adapter = plugins.Adapter("nowhere")
    with pytest.raises(PluginError, match="neither a FrameLink nor a MessageLink"):
        adapter.open(Address("nowhere"), ManualClock())
    assert [str(address) for address, _ in adapter.find()] == ["nowhere:7"]
    assert adapter.practice(Address("nowhere")) is None


def test_a_hook_that_breaks_is_blamed_on_its_plugin(install: Install) -> None:
    install("nowhere", GOOD.replace('return "not a link"', "return 1 // 0"))
    with pytest.raises(PluginError, match="open_link broke with ZeroDivisionError"):
        plugins.open_link("nowhere:1", ManualClock())


def test_two_distributions_with_one_scheme_are_both_named(install: Install) -> None:
    install("nowhere", GOOD)
    install("nowhere", GOOD, distribution="other-things")
    with pytest.raises(PluginError, match="bay-things and other-things"):
        plugins.Adapter("nowhere")


def test_an_unknown_scheme_lists_the_known_ones() -> None:
    with pytest.raises(InputError) as caught:
        plugins.open_link("teapot:1", ManualClock())
    assert "prompt" in caught.value.hint
