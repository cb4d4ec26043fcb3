"""An audit does not take longer than a job is long: what is counted here is the same on every machine."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.audit.long_jobs import SHAPES
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.journal import bodies


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
