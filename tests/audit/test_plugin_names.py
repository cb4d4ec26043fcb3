"""A plugin's question is written with the names of `witnessmark.plugin` alone, and a link imports no audit for it."""

from __future__ import annotations

import subprocess
import sys

import pytest
from tests.audit.jobs import clean
from tests.audit.shipped import SHIPPED

from witnessmark import plugin
from witnessmark.audit.question import collect
from witnessmark.audit.run import find
from witnessmark.plugin import Case, Detail, Question, Verdict, hookimpl


class Own:
    @hookimpl
    def audit_questions(self) -> list[Question]:
        return [Question(1001, "own", "Own?", self.answer)]

    def answer(self, case: Case) -> Verdict:
        return Verdict("met", "seen", (Detail("all", "met", f"{len(case.entries)} entries", (case.entries[0].seq,)),))


def test_a_question_made_of_the_plugin_names_is_asked_like_any() -> None:
    question = collect([*SHIPPED, ("own", Own())])[-1]
    found = find(question, clean().case())
    assert (found.number, found.answer) == (1001, "met") and "entries" in found.details[0].text


def test_every_name_is_there_and_no_other() -> None:
    assert all(getattr(plugin, name) is not None for name in plugin.__all__)
    with pytest.raises(AttributeError, match="no attribute 'Nothing'"):
        _ = plugin.Nothing


def test_an_adapter_imports_no_audit() -> None:
    script = "import sys, witnessmark.plugin; print([m for m in sys.modules if m.startswith('witnessmark.audit')])"
    done = subprocess.run([sys.executable, "-W", "error", "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
