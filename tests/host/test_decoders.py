"""Decoders name what they know; a broken one is named and harms nobody."""

from __future__ import annotations

import sys
import types
from importlib.metadata import EntryPoint
from typing import Any

import pytest

from witnessmark.host.extending import decoders
from witnessmark.host.extending.decoders import DECODERS, Decoders
from witnessmark.mapping.naming import Told, nobody, told
from witnessmark.plugin import Identified, hookimpl
from witnessmark_practice.decoder import PART_NUMBER

OURS = {"F187": PART_NUMBER}


@pytest.fixture
def installed(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Install decoders: the practice one, and modules made of the functions given by name."""

    def install(**identify: Any) -> Decoders:
        points = [EntryPoint("practice", "witnessmark_practice.decoder", DECODERS)]
        for name, function in identify.items():
            module = types.ModuleType(f"decoder_{name}")
            module.identify = hookimpl(function)  # type: ignore[attr-defined]
            monkeypatch.setitem(sys.modules, module.__name__, module)
            points.append(EntryPoint(name, module.__name__, DECODERS))
        monkeypatch.setattr(decoders, "entry_points", lambda group: points if group == DECODERS else [])
        return Decoders()

    return install


def test_the_shipped_decoder_names_values_of_the_practice_unit_with_their_units(installed: Any) -> None:
    found = installed()
    assert found.name(OURS, 0x22, 0x7001, b"\x7d") == Told("supply voltage", "12.5", "V")
    assert found.name(OURS, 0x22, 0x7006, b"\x50") == Told("pump temperature", "40", "degC")
    assert found.name(OURS, 0x22, 0x7005, b"") == Told("reservoir pressure", "", "bar")


def test_a_unit_that_is_not_its_own_is_nobodys(installed: Any) -> None:
    assert installed().name({"F187": "00"}, 0x22, 0x7001, b"\x7d") is None
    assert installed().name(OURS, 0x21, 0x7001, b"\x7d") is None


def test_a_decoder_is_asked_before_the_standard_and_the_standard_where_none_knows(installed: Any) -> None:
    def identify(unit, service, identifier, value):  # type: ignore[no-untyped-def]
        return Identified("our own name") if identifier == 0xF190 else None

    names = installed(own=identify).name
    assert told(names, OURS, 0x22, 0xF190, b"X").name == "our own name"
    assert told(names, OURS, 0x22, 0xF18C, b"X").name == "ECUSerialNumber"
    assert told(nobody, OURS, 0x22, 0xF190, b"X").name == "VIN"
    assert told(names, OURS, 0x22, 0x0123, b"X") == Told("")


def test_a_decoder_that_breaks_is_named_once_and_the_others_go_on(installed: Any) -> None:
    def identify(unit, service, identifier, value):  # type: ignore[no-untyped-def]
        raise KeyError(identifier)

    found = installed(aaa=identify)
    assert found.name(OURS, 0x22, 0x7002, b"\x03") == Told("vehicle speed", "3", "km/h")
    assert found.name(OURS, 0x22, 0x0100, b"\x03") is None
    assert found.name(OURS, 0x22, 0x0101, b"\x03") is None
    (problem,) = found.problems
    assert problem.plugin == "aaa" and "KeyError" in problem.what


def test_a_decoder_that_gives_something_else_or_has_no_hook_is_named(installed: Any) -> None:
    def identify(unit, service, identifier, value):  # type: ignore[no-untyped-def]
        return "a name"

    found = installed(wrong=identify)
    assert found.name({}, 0x22, 0x0100, b"") is None and "gave str" in found.problems[0].what

    found = installed(arguments=lambda something: None)
    assert found.name(OURS, 0x22, 0x7001, b"\x01") == Told("supply voltage", "0.1", "V")
    assert "a hook does not fit" in found.problems[0].what


def test_a_decoder_that_changes_what_a_unit_was_known_by_is_named_and_changes_nothing(installed: Any) -> None:
    def identify(unit, service, identifier, value):  # type: ignore[no-untyped-def]
        unit.clear()

    unit = dict(OURS)
    found = installed(careless=identify)
    assert found.name(unit, 0x22, 0x7001, b"\x7d") == Told("supply voltage", "12.5", "V") and unit == OURS
    assert ["careless" in str(one) for one in found.problems] == [True]
