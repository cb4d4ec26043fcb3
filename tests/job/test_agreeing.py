"""A precondition that the map can never read as it is asked is told from the two documents, before a nipple opens."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.procedure.kept import kept

import witnessmark_practice
from witnessmark.document.mistake import spell
from witnessmark.job.allowed.agreeing import disagreements
from witnessmark.mapping import load as maps
from witnessmark.procedure import load

DATA = Path(witnessmark_practice.__file__).parent / "data"
TEXT = (DATA / "procedure.toml").read_text(encoding="utf-8")
MAP = maps.load(DATA / "map.json")


@pytest.mark.parametrize(
    ("old", "new", "at", "what", "hint"),
    [
        ('equals = "on"', 'equals = "On"', "0].equals", "never reads ignition as 'On'", "did you mean on?"),
        ('equals = "P"', 'equals = "parked"', "1].equals", "never reads gear as 'parked'", "one of: R, N, P, D"),
        ('name = "speed"', 'name = "sped"', "2].name", "reads no 'sped'", "did you mean speed?"),
        ('limit = { high = "0 km/h" }', 'equals = "0"', "2].equals", "as a number in km/h", "give a limit"),
        ('low = "11.5 V", high = "15.0 V"', 'low = "26 V"', "3].limit.low", "from 0 to 25.5 V", "or the map"),
        ('name = "voltage"', 'name = "level-switch"', "3].limit", "lies in no band", "one of: too low, enough"),
        ('name = "gear"', 'name = "doors"', "", "", ""),
        ('equals = "P"', 'equals = "N"', "", "", ""),
        ('limit = { high = "0 km/h" }', 'equals = "0 km/h"', "", "", ""),
    ],
)  # fmt: skip
def test_what_the_map_never_reads_so_is_named_with_its_key(old: str, new: str, at: str, what: str, hint: str) -> None:
    start = TEXT.index("[[preconditions]]")
    assert old in TEXT[start:]
    procedure = kept(TEXT[:start] + TEXT[start:].replace(old, new, 1))
    found = [(spell(one.path), one.what, one.hint) for one in disagreements(procedure, MAP)]
    assert len(found) == (1 if at else 0)
    for where, said, how in found:
        assert where == f"preconditions[{at}" and what in said and hint in how


@pytest.mark.parametrize("name, map_name", [("procedure", "map"), ("stored_pressure", "stored_pressure_map")])
def test_the_shipped_procedures_agree_with_their_maps(name: str, map_name: str) -> None:
    assert not disagreements(load.load(DATA / f"{name}.toml"), maps.load(DATA / f"{map_name}.json"))


@pytest.mark.parametrize(
    ("asked", "reads", "meant"),
    [
        ("ignition-off", "ignition-on", False),
        ("engine-off", "engine-on", False),
        ("pedal-released", "pedal-pressed", False),
        ("ignition-2", "ignition-1", False),
        ("pump12", "pump11", False),
        ("doors-unlocked", "doors-locked", False),
        ("flow-closed", "slow-closed", False),
        ("rear-door-shut", "rear-shut", False),
        ("rear-doors-shut", "rear-door-shut", True),
        ("igntion-on", "ignition-on", True),
        ("ignition-on", "ingition-on", True),
        ("Ignition_on", "ignition-on", True),
    ],
)
def test_only_a_name_that_is_misspelt_is_taken_for_one_that_the_map_reads(asked: str, reads: str, meant: bool) -> None:
    procedure = kept(TEXT.replace('name = "voltage"\n', f'name = "{asked}"\n', 1))
    document = maps.to_document(MAP)
    other = maps.from_document(document | {"conditions": [{"name": reads, "identifier": "7011"}]})
    found = [one.hint for one in disagreements(procedure, other) if "reads no" in one.what]
    assert [f"did you mean {reads}?" in hint for hint in found] == [True] * meant


def test_a_name_with_a_word_of_its_question_is_meant_as_it_stands() -> None:
    text = TEXT.replace('name = "voltage"\n', 'name = "rear-doors-shut"\n', 1)
    start = text.index("text =", text.index("rear-doors-shut"))
    text = f'{text[:start]}text = "Are the rear doors shut?"{text[text.index(chr(10), start) :]}'
    document = maps.to_document(MAP) | {"conditions": [{"name": "rear-door-shut", "identifier": "7011"}]}
    assert not disagreements(kept(text), maps.from_document(document))


def test_a_band_in_another_kind_of_unit_is_named() -> None:
    volts = TEXT.replace('name = "voltage"\n', 'name = "reservoir-level"\n', 1)
    level = {"name": "reservoir-level", "identifier": "7011", "unit": "mL"}
    document = maps.to_document(MAP)
    other = maps.from_document(document | {"conditions": [*document["conditions"], level]})
    (found,) = disagreements(load.from_text(volts), other)
    assert spell(found.path) == "preconditions[3].limit.low" and "reads reservoir-level in mL" in found.what
