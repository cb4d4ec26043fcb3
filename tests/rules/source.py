"""Reads the imports of the project's own modules from their source."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CORE = ROOT / "core" / "witnessmark"
PLUGINS = ROOT / "plugins"


def modules(root: Path) -> Iterator[tuple[str, Path]]:
    """Yield the dotted name and path of every module below `root`, a package folder."""
    for path in sorted(root.rglob("*.py")):
        parts = list(path.relative_to(root.parent).with_suffix("").parts)
        if parts[-1] == "__init__":
            parts.pop()
        yield ".".join(parts), path


def imports(path: Path, *, top_only: bool = False) -> set[str]:
    """Return the dotted names a module imports; `from a import b` gives `a.b`. Type-checking-only ones count too."""
    tree = parsed(path)
    nodes: Iterator[ast.AST] = iter(tree.body) if top_only else ast.walk(tree)
    found: set[str] = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


@cache
def parsed(path: Path) -> ast.Module:
    """Return the tree of a module's source, which is read once."""
    return ast.parse(path.read_text(encoding="utf-8"))
