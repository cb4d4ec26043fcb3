"""Writes a new adapter plugin: a distribution of its own that passes its contract before a line of it is changed.

In: a name, which becomes the address scheme. Out: a folder with pyproject.toml, one module, its contract test and a
README. Rules: nothing is overwritten; the module and the test are the kit's own example, which the project's tests run,
under the new name.
"""

from __future__ import annotations

import re
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

from witnessmark.errors import InputError
from witnessmark.host import plugins
from witnessmark.plugin import API_VERSION, CONTRACT_VERSION

_NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*\Z")

PYPROJECT = """[build-system]
requires = ["setuptools>=64"]
build-backend = "setuptools.build_meta"

[project]
name = "witnessmark-{name}"
version = "0.1.0"
description = "A Witnessmark adapter for {name}."
readme = "README.md"
requires-python = ">=3.11"
dependencies = ["witnessmark>={witnessmark}", "pyserial>=3.5"]

[project.optional-dependencies]
dev = ["pytest>=8", "mypy>=1.11", "types-pyserial>=3.5"]

[project.entry-points."witnessmark.adapters"]
{name} = "{module}"

[tool.setuptools]
py-modules = ["{module}"]

[tool.mypy]
strict = true
files = ["{module}.py", "test_contract.py"]

[tool.pytest.ini_options]
filterwarnings = ["error"]
"""

README = """# witnessmark-{name}

An adapter for Witnessmark: `{name}:PORT`. Written for plugin interface {api} (`API_VERSION`) and proven
against contract {contract} (`CONTRACT_VERSION`); `witnessmark doctor` tells when this host has another.

    pip install -e '.[dev]' && pytest && mypy

All of it passes as it is. Now make it yours:

1. `{module}.py`: replace how lines are read and written with what your interface speaks. Keep the comments' promises.
2. `test_contract.py`: let the far end speak the same. Every rule of the contract runs against it.
3. With the interface plugged in: `witnessmark adapters check {name}:PORT`, then the same with `--contract`.

An interface that hands over whole diagnostic messages instead of frames offers `wake`, `send(peer, payload)` and
`receive`, and runs `MessageLinkContract`.
"""


def write_plugin(name: str, folder: Path) -> list[Path]:
    """Write the plugin `name` to `folder` / witnessmark-`name`; return the files written.

    Raises InputError for a name that is no scheme or is taken and for a folder that exists, writing nothing; and for
    a folder that cannot be written to.
    """
    if not _NAME.match(name):
        raise InputError(f"{name!r} is no scheme", place="name", hint="use small letters, digits and single hyphens")
    if name in {one.scheme for one in plugins.installed()}:
        raise InputError(f"an adapter called {name} is installed", place="name", hint="choose another name")
    target = folder / f"witnessmark-{name}"
    if target.exists():
        raise InputError("it exists already", place=str(target), hint="choose another name or folder")
    module = f"witnessmark_{name.replace('-', '_')}"
    texts = {
        "pyproject.toml": PYPROJECT.format(name=name, module=module, witnessmark=version("witnessmark")),
        f"{module}.py": _example("example_adapter.py", name, module),
        "test_contract.py": _example("example_contract.py", name, module),
        "README.md": README.format(name=name, module=module, api=API_VERSION, contract=CONTRACT_VERSION),
    }
    written = [target / file_name for file_name in texts]
    try:
        target.mkdir(parents=True)
        for path, text in zip(written, texts.values(), strict=True):
            path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"it cannot be written: {error.strerror}", place=str(target), hint="choose a folder that you may write to"
        ) from error
    return written


def _example(file_name: str, name: str, module: str) -> str:
    """Return the source of one of the kit's example files under the new name."""
    source = (files("witnessmark.testing") / file_name).read_text(encoding="utf-8")
    source = source.replace("witnessmark.testing.example_adapter", module)
    source = re.sub(r'"example(?=[":])', f'"{name}', source)
    return source.replace("Example", "".join(part.capitalize() for part in name.split("-")))
