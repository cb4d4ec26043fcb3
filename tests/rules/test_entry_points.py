"""What is shipped is registered, through the same entry points as anybody's."""

from __future__ import annotations

import tomllib

from tests.rules.source import CORE, PLUGINS, ROOT

POINTS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["entry-points"]


def test_every_question_module_is_registered() -> None:
    folder = CORE / "audit" / "questions"
    modules = {f"witnessmark.audit.questions.{path.stem}" for path in folder.glob("*.py") if path.stem != "__init__"}
    texts = {name: (folder / f"{name.rpartition('.')[2]}.py").read_text(encoding="utf-8") for name in modules}
    asking = {name for name, text in texts.items() if "def audit_questions" in text}
    assert asking == set(POINTS["witnessmark.questions"].values())


def test_every_adapter_package_is_registered_under_its_scheme() -> None:
    packages = {path.parent.name for path in PLUGINS.glob("*/__init__.py") if "def open_link" in _all_source(path)}
    assert packages == set(POINTS["witnessmark.adapters"].values())
    assert all(module == f"witnessmark_{scheme}" for scheme, module in POINTS["witnessmark.adapters"].items())


def _all_source(init: object) -> str:
    from pathlib import Path

    assert isinstance(init, Path)
    return init.read_text(encoding="utf-8")
