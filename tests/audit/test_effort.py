"""An audit does not take longer than a job is long: what is counted here is the same on every machine."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from types import FrameType

import pytest
from tests.audit.long_jobs import SHAPES
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.case import open_case
from witnessmark.audit.question import Question
from witnessmark.audit.run import audit, find
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry


def counted(monkeypatch: pytest.MonkeyPatch, module: object, name: str) -> list[object]:
    """Return a list that grows by one with each call of a function."""
    calls: list[object] = []
    real: Callable[..., object] = getattr(module, name)

    def call(*given: object) -> object:
        calls.append(given)
        return real(*given)

    monkeypatch.setattr(module, name, call)
    return calls


def test_no_body_of_an_entry_is_read_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    entries = SHAPES["each planned pass once"](3)
    read = counted(monkeypatch, bodies, "from_body")
    audit(entries, list(QUESTIONS.values()))
    assert 0 < len(read) <= len(entries)


def test_only_what_was_corrected_is_read_again(monkeypatch: pytest.MonkeyPatch) -> None:
    entries = SHAPES["a correction at each visit"](3)
    made = sum(one.kind == "amendment" for one in entries)
    read = counted(monkeypatch, bodies, "from_body")
    audit(entries, list(QUESTIONS.values()))
    assert 0 < len(read) <= len(entries) + made


def lines_run(question: Question, entries: Sequence[Entry]) -> int:
    """Return how many lines of code answer a question: a loop counts each of its rounds, also one within a line."""
    case, lines = open_case(entries), 0

    def trace(frame: FrameType, event: str, arg: object) -> object:
        nonlocal lines
        lines += event == "line"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        find(question, case)
    finally:
        sys.settrace(before)
    return lines


ROUNDS = 3
MOST = 2.6
"""How many times as much a part twice as long may cost: 2 where each entry is looked at, 4 where each with each."""


AGAIN = ("the same passes again and again", "runs of another tester", "ends that nobody saw")
"""In these each filling rests on every volume of the job and cites them all: that answer itself is as long."""


@pytest.mark.parametrize("shape", SHAPES)
def test_no_question_costs_more_than_in_proportion_to_what_there_is(shape: str) -> None:
    jobs = [SHAPES[shape](ROUNDS * times) for times in (1, 2, 4)]
    grown = {}
    for number, question in QUESTIONS.items():
        if number == 15 and shape in AGAIN:
            continue
        find(question, open_case(jobs[-1]))  # what a process reads once, as the units, is no part of a job
        short, middle, long = (lines_run(question, entries) for entries in jobs)
        grown[number] = (long - middle) / max(middle - short, 100)
    assert {number: round(by, 1) for number, by in grown.items() if by > MOST} == {}
