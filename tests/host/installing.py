"""Lays invented distributions on the path, as an installation would: a module, and metadata with its entry point."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest

from witnessmark.host import plugins

numbers = count()


class Install:
    """Call it with a name, the source of the module and, where it matters, the distribution and the group."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self._folder = folder
        monkeypatch.syspath_prepend(str(folder))

    def __call__(
        self,
        name: str,
        source: str | None,
        distribution: str = "bay-things",
        group: str = plugins.ADAPTERS,
        points_at: str = "",
    ) -> None:
        module = f"{distribution}_{name}_{next(numbers)}".replace("-", "_")  # each test imports afresh
        if source is not None:
            (self._folder / f"{module}.py").write_text(source, encoding="utf-8")
        info = self._folder / f"{module}-2.5.dist-info"
        info.mkdir()
        metadata = f"Metadata-Version: 2.1\nName: {distribution}\nVersion: 2.5\n"
        (info / "METADATA").write_text(metadata, encoding="utf-8")
        (info / "entry_points.txt").write_text(f"[{group}]\n{name} = {points_at or module}\n", encoding="utf-8")
