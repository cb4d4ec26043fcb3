"""`witnessmark adapters check` on a K-line: asked in the line's own words, and told apart from a dead cable."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from tests.plugins.kline.unit import KlineUnit
from tests.plugins.wires import Vehicle

from witnessmark.clock import SystemClock
from witnessmark.host.linkcheck import check_link, parse_peer
from witnessmark.testing import Reply


@contextmanager
def unit(**said: str) -> Iterator[tuple[KlineUnit, Vehicle]]:
    one = KlineUnit()
    vehicle = Vehicle()
    vehicle.replies = {bytes.fromhex(ask[1:]): Reply((bytes.fromhex(answer),)) for ask, answer in said.items()}
    one._script = vehicle  # type: ignore[assignment]  # it asks this one what to answer
    try:
        yield one, vehicle
    finally:
        one.close()


def found(address: str, ask: str | None = None) -> list[str]:
    peer = None if ask is None else parse_peer(ask)
    findings = check_link(address, SystemClock(), peer=peer)
    return [f"{one.what} | {one.do}" if one.wrong else one.what for one in findings]


def test_all_units_are_asked_for_current_data_and_the_supply() -> None:
    with unit(_0100="4100BE3EB811", _0142="41423138") as (one, vehicle):
        said = found(one.address)
        assert "answers: 11" in said and "supply 12.6 V" in said and said[-1] == "closed"
        assert any(line.startswith("round trip ") and line.endswith("(median of 5)") for line in said)
        assert not any("|" in line for line in said), said
        assert set(vehicle.heard) == {b"\x01\x00", b"\x01\x42"}


def test_one_unit_is_asked_by_its_own_tester_present() -> None:
    with unit() as (one, vehicle):
        assert "answers: 11" in found(one.address, "11:11")
        assert set(vehicle.heard) == {b"\x3e\x01", b"\x01\x42"}, "nothing but what reads"


@pytest.mark.parametrize(
    ("options", "words"), [("?init=fast", "the line is dead"), ("?init=fast&echo=no", "nobody answers")]
)
def test_a_dead_cable_and_a_sleeping_unit_are_told_with_what_to_do(options: str, words: str) -> None:
    master, slave = os.openpty()
    try:
        wrong = [one for one in found(f"kline:{os.ttyname(slave)}{options}") if "|" in one]
        assert len(wrong) == 1 and words in wrong[0] and "switch the ignition on" in wrong[0]
    finally:
        os.close(master)
        os.close(slave)
