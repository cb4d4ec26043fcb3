"""The contract outside pytest: nothing is sent without a second interface, and what is not tried says why."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import can
import pytest
from click.testing import CliRunner

from witnessmark.cli.adapters.group import adapters
from witnessmark.cli.main import main
from witnessmark.testing import FrameLinkContract, MessageLinkContract
from witnessmark.testing.page import run_page

Check = Callable[..., tuple[int, str]]


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


@pytest.fixture
def check(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str]]:
    """Run the command as it is run, errors told and all, with "y" typed; return the exit code and what it printed."""

    def run(*arguments: str) -> tuple[int, str]:
        monkeypatch.setattr(sys, "argv", ["witnessmark", "adapters", "check", *arguments])
        monkeypatch.setattr(sys, "stdin", io.StringIO("y\n"))
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return int(str(ended.value.code or 0)), told.out + told.err

    return run


@pytest.mark.parametrize(
    ("peer", "why"),
    [
        ("canbus:slcan//dev/no-such-port", "there is no interface at /dev/no-such-port"),
        ("kline:/dev/no-such-port", "there is no interface at /dev/no-such-port"),
        ("teapot:1", "no adapter is called 'teapot'"),
    ],
)
def test_a_second_interface_that_is_not_there_is_one_refusal(
    onlooker: can.BusABC, check: Check, peer: str, why: str
) -> None:
    code, told = check("canbus:virtual/page", "--contract", "--peer", peer)
    assert code in (2, 3) and why in told and "  do:  " in told, told
    assert "broken" not in told and "kept" not in told
    assert onlooker.recv(0.0) is None


def test_options_that_mean_nothing_together_are_refused(onlooker: can.BusABC, check: Check) -> None:
    assert check("canbus:virtual/page", "--peer", "canbus:virtual/page")[0] == 2
    assert "--peer belongs to --contract" in check("canbus:virtual/page", "--peer", "canbus:virtual/page")[1]
    for more in (["--listen"], ["--ask", "7E0:7E8"]):
        code, told = check("canbus:virtual/page", "--contract", *more)
        assert code == 2 and "--contract takes neither --listen nor --ask" in told
    assert onlooker.recv(0.0) is None


def test_on_a_serial_port_the_reasons_are_those_of_a_serial_port(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(MessageLinkContract, "patience_s", 0.2)
    master, slave = os.openpty()
    try:
        lines = {line.rule: line for line in run_page(f"kline:{os.ttyname(slave)}")}
    finally:
        os.close(slave)
        os.close(master)
    rules = {name.removeprefix("test_").replace("_", " ") for name in dir(MessageLinkContract) if "test_" in name[:5]}
    assert set(lines) == rules
    assert {line.verdict for line in lines.values()} == {"kept", "not tried"}
    assert lines["it is a message link"].verdict == "kept"
    assert "it is plugged in" in lines["a missing interface is named and leaves nothing open"].why
    assert "answers as it is told" in lines["an answer in pieces is one answer"].why


def test_frames_in_pieces_are_said_to_need_the_far_end_that_the_page_lacks(onlooker: can.BusABC, check: Check) -> None:
    _, told = check("canbus:virtual/page", "--contract")
    reason = told.partition("not tried, needs a far end that is worked byte by byte")[2]
    assert reason.splitlines()[1].strip() == "a stream in pieces gives the same frames"


def test_what_carries_messages_takes_no_second_interface(check: Check) -> None:
    master, slave = os.openpty()
    try:
        code, told = check(f"kline:{os.ttyname(slave)}", "--contract", "--peer", "canbus:virtual/page")
    finally:
        os.close(slave)
        os.close(master)
    assert code == 2 and "carries whole messages" in told and "leave --peer out" in told
    code, told = check("canbus:virtual/page", "--contract", "--peer", "teapot")
    assert code == 2 and "no scheme at the start" in told


def test_a_wire_that_is_not_silent_is_refused_before_the_first_rule(check: Check, tmp_path: Path) -> None:
    log = tmp_path / "talk.log"
    log.write_text("(1700000000.000000) can0 123#0102\n", encoding="utf-8")
    code, told = check(f"replay:{log}?as=frames&timing=fast", "--contract")
    assert code == 2 and "something speaks at replay:" in told and "kept" not in told, told
