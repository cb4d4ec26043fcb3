"""The contract outside pytest: nothing is sent without a second interface, and what is not tried says why."""

from __future__ import annotations

from collections.abc import Iterator

import can
import pytest
from click.testing import CliRunner

from witnessmark.cli.adapters import adapters
from witnessmark.testing import FrameLinkContract
from witnessmark.testing.page import run_page


@pytest.fixture
def onlooker() -> Iterator[can.BusABC]:
    bus = can.Bus(interface="virtual", channel="page")
    yield bus
    bus.shutdown()


def test_without_a_second_interface_nothing_is_sent(onlooker: can.BusABC, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(FrameLinkContract, "patience_s", 0.2)
    lines = {line.rule: line for line in run_page("canbus:virtual/page")}
    assert onlooker.recv(0.0) is None
    assert {line.verdict for line in lines.values()} == {"kept", "not tried"}
    assert lines["closing twice is allowed"].verdict == "kept"
    assert "--peer" in lines["frames arrive whole and in order"].why
    assert all(line.why for line in lines.values() if line.verdict == "not tried")


def test_with_a_second_interface_every_rule_of_frames_is_tried(
    onlooker: can.BusABC, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(FrameLinkContract, "full_rate_s", 0.1)
    shown = CliRunner().invoke(
        adapters, ["check", "canbus:virtual/page", "--contract", "--peer", "canbus:virtual/page"], input="y\n"
    )
    assert shown.exit_code == 0, shown.output
    assert "a bench, with no vehicle on it?" in shown.output
    for rule in ("frames arrive whole and in order", "what is sent arrives as it was", "an echo is never a reply"):
        assert f"kept       {rule}\n" in shown.output
    assert ", 0 broken, " in shown.output


def test_a_bench_that_is_not_confirmed_gets_no_frame(onlooker: can.BusABC) -> None:
    shown = CliRunner().invoke(
        adapters, ["check", "canbus:virtual/page", "--contract", "--peer", "canbus:virtual/page"], input="n\n"
    )
    assert shown.exit_code == 1
    assert onlooker.recv(0.0) is None


def test_a_broken_adapter_fails_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    from witnessmark_canbus.frame_link import CanLink

    monkeypatch.setattr(FrameLinkContract, "patience_s", 0.2)
    monkeypatch.setattr(CanLink, "interrupt", lambda self: None)
    shown = CliRunner().invoke(adapters, ["check", "canbus:virtual/page", "--contract"])
    assert shown.exit_code == 1
    assert "broken     an interrupt ends a wait and the link goes on: " in shown.output
