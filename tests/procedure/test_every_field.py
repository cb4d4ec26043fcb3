"""Whatever one spoils in a procedure file, in whichever key, is named with its line and its key."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.procedure.mutations import changes

import witnessmark_practice
from witnessmark.document.mistake import Mistakes, spell
from witnessmark.procedure import load

DATA = Path(witnessmark_practice.__file__).parent / "data"


@pytest.mark.parametrize("name", ["procedure", "stored_pressure", "vacuum"])
def test_each_key_of_a_shipped_procedure_is_missed_where_it_is_spoilt(name: str) -> None:
    text = (DATA / f"{name}.toml").read_text(encoding="utf-8")
    assert load.from_text(text)
    each = {change.what: change for change in changes(text)}
    assert len(each) > 300
    unnoticed = [str(change) for change in each.values() if not named(change.text, change.line, change.key)]
    assert unnoticed == []


def named(text: str, line: int, key: str) -> bool:
    """Whether the text is refused with a mistake that names the key, at that line (0: at any)."""
    try:
        load.from_text(text)
    except Mistakes as found:
        assert all(one.hint and one.what for _, one in found.mistakes)
        return any((not line or at == line) and key in spell(one.path) for at, one in found.mistakes)
    return False
