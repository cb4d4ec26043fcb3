"""A new plugin installs, passes its contract, type-checks and is found, before a line of it is changed."""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from witnessmark.cli.plugin import plugin
from witnessmark.errors import InputError
from witnessmark.host.extending.newplugin import write_plugin
from witnessmark.plugin import API_VERSION, CONTRACT_VERSION


def run(*command: str, at: Path) -> str:
    """Run Python in the folder of the plugin, with it on the path as an editable install puts it there."""
    done = subprocess.run(
        [sys.executable, *command],
        cwd=at,
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join([str(at), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_a_new_plugin_passes_its_contract_and_is_listed_once_installed(tmp_path: Path) -> None:
    shown = CliRunner().invoke(plugin, ["new", "bench-wire", "--in", str(tmp_path)])
    assert shown.exit_code == 0, shown.output
    folder = tmp_path / "witnessmark-bench-wire"
    assert sorted(one.name for one in folder.iterdir()) == [
        "README.md", "pyproject.toml", "test_contract.py", "witnessmark_bench_wire.py",
    ]  # fmt: skip
    run("-c", "import setuptools; setuptools.setup()", "-q", "egg_info", at=folder)  # what an editable install reads
    tested = run("-m", "pytest", "-q", "-p", "no:cacheprovider", at=folder)
    assert "41 passed" in tested and "skipped" not in tested, tested
    listed = run("-c", "from witnessmark.cli.main import main; main()", "adapters", at=folder)
    assert "bench-wire:PORT?baud=115200" in listed and "[witnessmark-bench-wire 0.1.0]" in listed


def test_a_new_plugin_type_checks_where_this_project_is_installed_as_the_makefile_installs_it(tmp_path: Path) -> None:
    """An editable install that only an import hook can follow would leave every name of the core untyped."""
    write_plugin("wire", tmp_path)
    checked = run("-m", "mypy", "--cache-dir", str(tmp_path / "cache"), at=tmp_path / "witnessmark-wire")
    assert "no issues found in 2 source files" in checked


def test_a_new_plugin_is_the_checked_example_under_another_name(tmp_path: Path) -> None:
    """The gate type-checks the example strictly; the plugin differs from it in its names alone."""
    written = {path.name: path for path in write_plugin("wire", tmp_path)}
    module = written["witnessmark_wire.py"].read_text(encoding="utf-8")
    test = written["test_contract.py"].read_text(encoding="utf-8")
    assert "xample" not in module + test
    assert "class WireLink" in module and 'ADDRESS = "wire:PORT' in module
    assert "from witnessmark_wire import read_line, write_line" in test
    project = tomllib.loads(written["pyproject.toml"].read_text(encoding="utf-8"))
    assert project["project"]["entry-points"]["witnessmark.adapters"] == {"wire": "witnessmark_wire"}
    assert project["tool"]["mypy"]["strict"] is True
    assert f"API_VERSION = {API_VERSION} " in module and f"CONTRACT_VERSION = {CONTRACT_VERSION} " in module


@pytest.mark.parametrize("name", ["", "Wire", "9wire", "wire_", "a--b", "../up"])
def test_a_name_that_is_no_scheme_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="is no scheme"):
        write_plugin(name, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_overwritten_and_a_taken_scheme_is_refused(tmp_path: Path) -> None:
    write_plugin("wire", tmp_path)
    with pytest.raises(InputError, match="exists already"):
        write_plugin("wire", tmp_path)
    with pytest.raises(InputError, match="is installed"):
        write_plugin("prompt", tmp_path)


def test_a_folder_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(InputError, match="cannot be written") as caught:
        write_plugin("wire", tmp_path / "file")
    assert caught.value.place.endswith("witnessmark-wire") and caught.value.hint
