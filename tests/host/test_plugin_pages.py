"""The page on decoders and questions: its modules are installed and used, and every name it speaks of is there."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from dataclasses import fields
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.audit.jobs import clean
from tests.host.installing import Install
from tests.rules.source import ROOT

from witnessmark.audit.case import Case
from witnessmark.audit.question import GROUP as QUESTIONS
from witnessmark.audit.question import Question
from witnessmark.audit.run import find
from witnessmark.audit.timeline import Timeline
from witnessmark.audit.verdict import Detail, Verdict
from witnessmark.cli.main import witnessmark
from witnessmark.host.auditing import audit_evidence
from witnessmark.host.extending.decoders import DECODERS, Decoders
from witnessmark.mapping.naming import Told
from witnessmark.mapping.unit import BINDING
from witnessmark.range import Range, Span

PAGE = (ROOT / "docs" / "decoders-and-questions.md").read_text(encoding="utf-8")
DECODER, QUESTION, VERDICTS = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Install:
    return Install(tmp_path, monkeypatch)


def test_the_decoder_of_the_page_names_what_it_says(install: Install) -> None:
    install("depot", DECODER, "depot-things", DECODERS)
    found = Decoders()
    assert found.name({"F187": "0D4E31"}, 0x22, 0x0141, b"\x00\x7b") == Told("pedal travel", "12.3", "mm")
    assert found.name({"F187": "0D4E31"}, 0x22, 0x0141, b"") == Told("pedal travel", "", "mm")
    assert found.name({"F187": "00"}, 0x22, 0x0141, b"\x00\x7b") is None
    assert found.problems == []


def test_the_page_names_what_a_decoder_can_know_a_unit_by_and_the_whole_distribution() -> None:
    names = ["F187", "F188", "F189", *(f"F19{number}" for number in range(1, 6))]
    assert list(BINDING) == names and "It holds F187, F188, F189 and F191 to F195" in PAGE
    whole = tomllib.loads(re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)[0])
    (module,) = whole["project"]["entry-points"][DECODERS].values()
    assert whole["tool"]["setuptools"]["py-modules"] == [module] and f"`{module}.py`" in PAGE


def test_the_question_of_the_page_is_asked_of_a_recorded_job_and_cites_its_entries(install: Install) -> None:
    install("open-long", QUESTION, "depot-things", QUESTIONS)
    evidence = ROOT / "recordings_demo" / "eight-passes-clean" / "evidence.json"
    shown = CliRunner().invoke(witnessmark, ["audit", str(evidence)])
    assert shown.exit_code == 0, shown.output
    asked = next(line.split() for line in shown.output.splitlines() if " 1001 " in line)
    assert asked[1] == "met" and " ".join(asked[3:]) == "Was any nipple open for longer than ten minutes?"
    (finding,) = [one for one in audit_evidence(evidence.read_bytes()).audit.findings if one.number == 1001]
    assert len(finding.details) == 9 and all(len(one.cites) == 2 for one in finding.details), "an opening, a closing"


def test_the_verdicts_of_the_page_are_taken_as_they_stand() -> None:
    case = clean().case()
    reading = case.of_kind("reading")[0]
    for line in VERDICTS.splitlines():
        one = eval(line, {"Verdict": Verdict, "Detail": Detail, "reading": reading})
        found = find(Question(1001, "one", "One?", lambda _, one=one: one), case)
        assert (found.answer, found.text) == (one.answer, one.text)


def test_a_question_that_changes_its_case_is_named_with_its_plugin(install: Install) -> None:
    changes = "    openings = case.timeline.openings\n"
    install(
        "slips", QUESTION.replace(changes, f"    case.entries[3].body.clear()\n{changes}"), "depot-things", QUESTIONS
    )
    evidence = ROOT / "recordings_demo" / "eight-passes-clean" / "evidence.json"
    *_, slipped = audit_evidence(evidence.read_bytes()).audit.findings
    assert (slipped.number, slipped.answer) == (1001, "no proof")
    assert "of plugin slips (depot-things 2.5)" in slipped.text and "changes what it is given" in slipped.text


def test_both_are_told_by_the_doctor(install: Install) -> None:
    install("depot", DECODER, "depot-things", DECODERS)
    install("open-long", QUESTION, "depot-things", QUESTIONS)
    shown = CliRunner().invoke(witnessmark, ["doctor"])
    assert shown.exit_code == 0, shown.output
    assert "depot        depot-things 2.5  ok" in shown.output and "1 ok: open-long" in shown.output


def test_both_type_check_strictly_as_they_stand(tmp_path: Path) -> None:
    (tmp_path / "depot_decoder.py").write_text(DECODER, encoding="utf-8")
    (tmp_path / "depot_question.py").write_text(QUESTION, encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "mypy",
        "--strict",
        "--cache-dir",
        "cache",
        "depot_decoder.py",
        "depot_question.py",
    ]
    checked = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert checked.returncode == 0, checked.stdout + checked.stderr


def names(prefix: str) -> set[str]:
    return set(re.findall(rf"`{prefix}\.(\w+)", PAGE))


def test_every_name_of_the_case_and_its_timeline_is_there() -> None:
    spoken, timeline = names("case"), names("timeline")
    assert len(spoken) >= 10 and len(timeline) >= 6
    assert {name for name in spoken if name not in {one.name for one in fields(Case)} | set(dir(Case))} == set()
    assert {
        name for name in timeline if name not in {one.name for one in fields(Timeline)} | set(dir(Timeline))
    } == set()
    asked = {"at_most", "at_least", "before", "inside", "length"}
    assert asked <= set(dir(Range)) | set(dir(Span))
