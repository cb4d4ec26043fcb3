"""What a plugin says of itself in its source, read without importing it.

In: the name of its module. Out: how its address is written, its first line, the versions it was written for, and what
can be seen to be wrong with it. Rules that hold here: nothing of the plugin runs; what only an import can tell is left
to the doctor.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.machinery import ModuleSpec, PathFinder
from importlib.util import find_spec
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Told:
    """`usage`, `summary` are empty, the versions None where the source is silent; `wrong` is empty when it is fine."""

    usage: str = ""
    summary: str = ""
    api: object = None
    contract: object = None
    wrong: str = ""


def read(module: str) -> Told:
    """Return what the source of `module` says. Runs none of it."""
    if not all(part.isidentifier() for part in module.split(".")):
        return Told(wrong=f"its entry point names {module!r}, which is no name of a module")
    spec = _spec(module)
    if spec is None:
        return Told(wrong=f"there is no module {module}")
    if spec.origin is None or not spec.origin.endswith(".py"):
        return Told()
    try:
        tree = ast.parse(Path(spec.origin).read_text(encoding="utf-8"))
    except SyntaxError as error:
        return Told(wrong=f"{Path(spec.origin).name} line {error.lineno}: {error.msg}")
    except (OSError, ValueError) as error:
        return Told(wrong=f"its source cannot be read: {error}")
    constants = _constants(tree)
    usage = constants.get("ADDRESS")
    return Told(
        usage if isinstance(usage, str) else "",
        (ast.get_docstring(tree) or "").partition("\n")[0],
        constants.get("API_VERSION"),
        constants.get("CONTRACT_VERSION"),
        _missing(tree),
    )


def _constants(tree: ast.Module) -> Mapping[str, object]:
    found: dict[str, object] = {}
    for node in tree.body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and isinstance(node.value, ast.Constant):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            found.update({target.id: node.value.value for target in targets if isinstance(target, ast.Name)})
    return found


def _missing(tree: ast.Module) -> str:
    """Name what it imports at its top and is not installed."""
    names: list[str] = []
    for node in tree.body:
        if isinstance(node, ast.Import):
            names += [one.name for one in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.append(node.module)
    absent = [name for name in dict.fromkeys(one.partition(".")[0] for one in names) if _spec(name) is None]
    return f"it imports {', '.join(absent)}, which is not installed" if absent else ""


def _spec(module: str) -> ModuleSpec | None:
    """Find a module's spec without importing it or its parents."""
    first, *rest = module.split(".")
    try:
        spec = find_spec(first)
    except (ImportError, ValueError):
        return None
    name, places = first, None if spec is None else spec.submodule_search_locations
    for part in rest:
        if places is None:
            return None
        name = f"{name}.{part}"
        spec = PathFinder.find_spec(name, _plain(places))
        places = None if spec is None else spec.submodule_search_locations
    return spec


def _plain(places: Sequence[str]) -> list[str]:
    return list(places)
