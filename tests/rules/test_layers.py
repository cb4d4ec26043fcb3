"""The layering rule, held."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.rules.layers import ALLOWED, HEAVY, PLUGINS_MAY_BUILD_ON, PLUGINS_MAY_IMPORT, TIME_MODULES
from tests.rules.source import CORE, PLUGINS, imports, modules

CORE_MODULES = dict(modules(CORE))
PLUGIN_MODULES = {
    name: path for folder in sorted(PLUGINS.iterdir()) if folder.is_dir() for name, path in modules(folder)
}


def forbidden(name: str, imported: set[str]) -> set[str]:
    """Return the imports of core module `name` that the table does not allow."""
    layer = name.split(".")[1]
    allowed = ALLOWED[layer] | {layer}
    wrong = set()
    for one in imported:
        first, _, rest = one.partition(".")
        if first != "witnessmark" or rest == "__version__":
            continue
        parts = rest.split(".")
        if parts[0] not in allowed and ".".join(parts[:2]) not in allowed:
            wrong.add(one)
    return wrong


@pytest.mark.parametrize("name", [name for name in CORE_MODULES if name != "witnessmark"])
def test_a_core_module_imports_only_what_its_layer_may(name: str) -> None:
    assert forbidden(name, imports(CORE_MODULES[name])) == set()


def test_the_check_sees_a_forbidden_import() -> None:
    assert forbidden("witnessmark.wire.dtc", {"witnessmark.link.frame.Frame"}) == {"witnessmark.link.frame.Frame"}
    assert forbidden("witnessmark.recording.x", {"witnessmark.link.port.Link"}) == {"witnessmark.link.port.Link"}
    assert forbidden("witnessmark.recording.x", {"witnessmark.link.frame.Frame"}) == set()


def test_every_part_of_the_core_has_its_row() -> None:
    parts = {name.split(".")[1] for name in CORE_MODULES if name != "witnessmark"}
    assert parts - set(ALLOWED) == set()


@pytest.mark.parametrize("name", sorted(PLUGIN_MODULES))
def test_a_plugin_imports_only_the_plugin_names_and_pure_parts(name: str) -> None:
    own = name.split(".")[0]
    friends = {own} | PLUGINS_MAY_BUILD_ON.get(own, set())
    wrong = set()
    for one in imports(PLUGIN_MODULES[name]):
        parts = one.split(".")
        core = parts[0] == "witnessmark" and parts[1] not in PLUGINS_MAY_IMPORT
        other = parts[0].startswith("witnessmark_") and parts[0] not in friends
        if core or other:
            wrong.add(one)
    assert wrong == set()


@pytest.mark.parametrize("name", sorted(CORE_MODULES))
def test_slow_libraries_are_imported_inside_functions(name: str) -> None:
    top = {one.split(".")[0] for one in imports(CORE_MODULES[name], top_only=True)}
    assert top & HEAVY == set()


@pytest.mark.parametrize("name", [name for name in CORE_MODULES if name != "witnessmark.clock"])
def test_only_the_clock_reads_the_time(name: str) -> None:
    modules_read = {one.split(".")[0] for one in imports(CORE_MODULES[name])}
    assert "time" not in modules_read
    text = CORE_MODULES[name].read_text(encoding="utf-8")
    for call in ("datetime.now(", "datetime.utcnow(", "date.today("):
        assert call not in text
    assert "time" in TIME_MODULES


def test_each_module_can_be_imported_alone_with_warnings_as_errors(tmp_path: Path) -> None:
    """One interpreter that forks for each module: each child imports that module, and nothing else of ours, alone.

    Libraries that most modules need are read once, before the first.
    """
    script = tmp_path / "alone.py"
    script.write_text(FORK_AND_IMPORT, encoding="utf-8")
    names = [name for name in (*CORE_MODULES, *PLUGIN_MODULES) if not name.endswith("__main__")]
    done = subprocess.run(
        [sys.executable, "-W", "error", str(script), *names], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{len(names)} imported" in done.stdout


FORK_AND_IMPORT = """
import importlib, os, sys, traceback
for library in ("click", "construct", "msgspec.json", "pluggy", "sqlite3", "socket", "typing"):
    importlib.import_module(library)
failed = 0
for name in sys.argv[1:]:
    child = os.fork()
    if child == 0:
        try:
            importlib.import_module(name)
        except BaseException:
            print(name); traceback.print_exc(); sys.stdout.flush(); os._exit(1)
        os._exit(0)
    failed += os.waitpid(child, 0)[1] != 0
print(len(sys.argv) - 1 - failed, "imported")
sys.exit(failed != 0)
"""


def test_the_command_line_starts_without_the_slow_libraries() -> None:
    code = "import sys; import witnessmark.cli.main; print(*{name.partition('.')[0] for name in sys.modules})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert loaded & (HEAVY | {"construct", "cryptography", "sqlite3", "msgspec", "serial", "pluggy"}) == set()
