"""The layering rule, held."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter
from itertools import islice
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


def needs(name: str, known: Mapping[str, Path]) -> set[str]:
    """Return the modules among the `known` whose own lines have to have run before those of module `name` can."""
    found = set()
    for one in imports(known[name], top_only=True):
        parts = one.split(".")
        tried = (".".join(parts[:size]) for size in range(len(parts), 0, -1))
        found |= set(islice((each for each in tried if each in known), 1))
    return found


def test_each_module_can_be_imported_before_any_other() -> None:
    """No circle of imports at the top of modules: then whichever of them comes first, each finds what it needs."""
    known = {**CORE_MODULES, **PLUGIN_MODULES}
    order = list(TopologicalSorter({name: needs(name, known) for name in known}).static_order())
    assert set(order) == set(known)
    assert order.index("witnessmark.errors") < order.index("witnessmark.wire.isotp.receiver")


def test_the_check_sees_a_circle_also_through_the_package_that_a_module_is_in(tmp_path: Path) -> None:
    package, inner = tmp_path / "__init__.py", tmp_path / "inner.py"
    package.write_text("from a.inner import one\n", encoding="utf-8")
    inner.write_text("from a import two\n", encoding="utf-8")
    known = {"a": package, "a.inner": inner}
    with pytest.raises(CycleError):
        TopologicalSorter({name: needs(name, known) for name in known}).prepare()


def test_every_module_is_imported_with_warnings_as_errors() -> None:
    names = [name for name in (*CORE_MODULES, *PLUGIN_MODULES) if not name.endswith("__main__")]
    code = "import importlib, sys; [importlib.import_module(name) for name in sys.argv[1:]]"
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code, *names], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_the_command_line_starts_without_the_slow_libraries() -> None:
    code = "import sys; import witnessmark.cli.main; print(*{name.partition('.')[0] for name in sys.modules})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert loaded & (HEAVY | {"construct", "cryptography", "sqlite3", "msgspec", "serial", "pluggy"}) == set()
