"""The page on writing an adapter shows what is there, and its commands run."""

from __future__ import annotations

import re
import shlex
from importlib.resources import files
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.rules.source import ROOT

from witnessmark.cli.main import witnessmark
from witnessmark.testing import FrameLinkContract, MessageLinkContract

PAGE = (ROOT / "docs" / "write-an-adapter.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```(\w+)\n(.*?)```", PAGE, re.DOTALL)
CODE = [text for language, text in BLOCKS if language == "python"]
COMMANDS = [line[2:] for language, text in BLOCKS if language == "console" for line in text.splitlines()]
OURS = [command for command in COMMANDS if command.startswith("witnessmark ")]


def test_the_page_has_code_and_commands() -> None:
    assert len(CODE) >= 8 and len(OURS) == 4


@pytest.mark.parametrize("text", CODE)
def test_each_piece_of_code_stands_in_the_example(text: str) -> None:
    folder = files("witnessmark.testing")
    sources = [(folder / name).read_text(encoding="utf-8") for name in ("example_adapter.py", "example_contract.py")]
    assert any(text in source for source in sources)


@pytest.mark.parametrize("command", OURS)
def test_each_command_runs(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(FrameLinkContract, "patience_s", 0.2)
    shown = CliRunner().invoke(witnessmark, shlex.split(command)[1:])
    assert shown.exit_code == 0, shown.output
    if "plugin new" in command:
        assert (tmp_path / "witnessmark-bench-wire" / "pyproject.toml").exists()


def test_every_attribute_of_the_contract_stands_on_the_page_with_its_value() -> None:
    told = dict(re.findall(r"^\| `(\w+)`(?: \((?:frames|messages)\))? \| (.*?) \|", PAGE, re.MULTILINE))
    for kind in (FrameLinkContract, MessageLinkContract):
        settings = {name for one in kind.__mro__ for name, text in vars(one).get("__annotations__", {}).items()
                    if "ClassVar" in str(text)}  # fmt: skip
        assert settings - set(told) == set(), "an attribute of the contract is not on the page"
        for name in settings & {
            "missing",
            "recorded",
            "patience_s",
            "sends",
            "full_rate_s",
            "paced",
            "exchanges",
            "quiet_s",
        }:
            assert told[name].strip("`") == str(getattr(kind, name)), name


def test_every_name_of_the_ports_that_the_page_speaks_of_exists() -> None:
    import witnessmark.plugin
    import witnessmark.testing

    names = set(re.findall(r"`([A-Z][A-Za-z_]+)[`(:]", PAGE))
    there = set(witnessmark.plugin.__all__) | set(witnessmark.testing.__all__) | {"ADDRESS", "False", "True", "None"}
    assert names - there == set()
