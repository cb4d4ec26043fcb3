"""A job on every shipped adapter while something fails: what was sent and not confirmed is unknown, what was not sent
is never called sent, and the journal holds.

Each case is a moment, a fault and what the outcome must say. `make fault` tries each on every adapter; here every fault
comes once, and the adapters take turns, so that each comes too.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests.plugins.live_stand import LiveStand, standing
from tests.plugins.wires import FRAMES, START, STOP, WIRES, Wire

from witnessmark.clock import SystemClock
from witnessmark.errors import LinkError, OutcomeUnknown
from witnessmark.host.plugins import Adapter, open_link
from witnessmark.job.view import UNKNOWN_ACT
from witnessmark.link import address as addresses
from witnessmark.link.frame import Event
from witnessmark.talk.conversation import Conversation
from witnessmark.testing import Reply
from witnessmark.testing.verdict import pause

STARTED, STOPPED = bytes.fromhex("71010301"), bytes.fromhex("71020301")
NEVER = Reply()
NOBODY = 65534
each = pytest.mark.parametrize("name", WIRES)


def start(stand: LiveStand) -> None:
    stand.go_to("armed")
    stand.send(do="start", view=stand.view["id"])


def unplug_after_the_start(stand: LiveStand) -> None:
    start(stand)
    stand.until(lambda: START in stand.wire.vehicle.heard)
    stand.wire.unplug()


def unplug_while_it_runs(stand: LiveStand) -> None:
    start(stand)
    stand.until(lambda: stand.view["kind"] == "running")
    stand.wire.unplug()


def garble_while_it_runs(stand: LiveStand) -> None:
    start(stand)
    stand.until(lambda: stand.view["kind"] == "running")
    stand.wire.garble()


def be_away_while_the_bus_is_busy(stand: LiveStand) -> None:
    """A reader that is held up: what came meanwhile waits."""
    start(stand)
    stand.until(lambda: stand.view["kind"] == "running")
    for _ in range(3):
        stand.wire.say([bytes((number,)) * 8 for number in range(20)])
        pause(0.2)
        stand.turn(1)


@dataclass(frozen=True)
class Case:
    """`replies` is how the unit treats requests, `do` what happens, the rest what the outcome says."""

    does: str
    result: str
    stop: str
    do: Callable[[LiveStand], None] = start
    replies: tuple[tuple[bytes, Reply], ...] = ()
    told: str = ""


CASES = (
    Case("the cable is pulled before the start is answered", "unknown", "not sent", unplug_after_the_start,
         ((START, NEVER),), "lost"),
    Case("the cable is pulled while it runs", "unknown", "not sent", unplug_while_it_runs, told="lost"),
    Case("the unit never answers", "unknown", "unknown", replies=((START, NEVER), (STOP, NEVER))),
    Case("the unit never answers the start", "unknown", "confirmed", replies=((START, NEVER),)),
    Case("the unit never answers the stop", "unknown", "unknown", replies=((STOP, NEVER),)),
    Case("the unit answers the start too late", "unknown", "confirmed",
         replies=((START, Reply((STARTED,), late_s=0.6)),)),
    Case("the unit answers twice", "completed", "confirmed",
         replies=((START, Reply((STARTED, STARTED))), (STOP, Reply((STOPPED, STOPPED))))),
    Case("bytes come that nobody can read", "completed", "confirmed", garble_while_it_runs, told="garbled"),
    Case("the reader is held up", "completed", "confirmed", be_away_while_the_bus_is_busy),
)  # fmt: skip


def in_turn(place: int) -> list[str]:
    """Return the adapter whose turn it is, then those that are left to the campaign."""
    names = list(WIRES)
    return [names[place % len(names)], *(one for one in names if one != names[place % len(names)])]


def product() -> Iterator[Any]:
    """Every case on every adapter, all but one of each for the campaign alone."""
    for place, case in enumerate(CASES):
        for turn, name in enumerate(in_turn(place)):
            marks = (pytest.mark.campaign,) if turn else ()
            yield pytest.param(case, name, marks=marks, id=f"{case.does}-{name}")


def test_the_slice_has_every_fault_once_and_every_adapter() -> None:
    slice_ = [one.values for one in product() if not one.marks]
    assert [case for case, _ in slice_] == list(CASES) and {name for _, name in slice_} == set(WIRES)
    assert len(list(product())) == len(CASES) * len(WIRES)


@pytest.mark.parametrize(("case", "name"), list(product()))
def test_a_run_ends_as_it_was_seen_to_end_while(case: Case, name: str, tmp_path: Path) -> None:
    wire = WIRES[name]()
    with standing(tmp_path, wire) as stand:
        wire.vehicle.replies.update(case.replies)
        case.do(stand)
        stand.until(lambda: stand.bodies("outcome"))
        (outcome,) = stand.bodies("outcome")
        assert (outcome.result, outcome.stop) == (case.result, case.stop)
        assert (UNKNOWN_ACT in outcome.next_act) is (case.result == "unknown")
        assert wire.vehicle.heard.count(START) == 1, "a start is never sent again by itself"
        if case.told:
            assert case.told in [one.what for one in stand.bodies("event")]
        kinds = stand.kinds()
        assert kinds.index("intent") < kinds.index("outcome")


@pytest.mark.parametrize(
    "name", [pytest.param(one, marks=(pytest.mark.campaign,) if turn else ()) for turn, one in enumerate(in_turn(-1))]
)
def test_unplugged_while_armed_nothing_is_sent_and_the_loss_is_told(name: str, tmp_path: Path) -> None:
    wire = WIRES[name]()
    with standing(tmp_path, wire) as stand:
        stand.go_to("armed")
        armed = stand.view["id"]
        wire.unplug()
        stand.until(lambda: "lost" in [one.what for one in stand.bodies("event")])
        stand.send(do="start", view=armed)
        stand.until(lambda: stand.errors)
        stand.wait(0.2)
        assert START not in wire.vehicle.heard
        assert "intent" not in stand.kinds() and "outcome" not in stand.kinds()
        assert "disarmed" in stand.kinds()
        assert all(one["hint"] for one in stand.errors)


@each
def test_an_unplugged_link_opened_again_is_a_link_error_that_says_what_to_do(name: str) -> None:
    wire = WIRES[name]()
    wire.unplug()
    with pytest.raises(LinkError) as caught:
        open_link(wire.address, SystemClock())
    assert caught.value.reached == "nothing" and caught.value.hint
    assert caught.value.kind in ("missing", "gone", "no_answer"), caught.value.kind
    wire.close()


@each
def test_a_port_that_another_program_has_is_busy(name: str) -> None:
    wire = WIRES[name]()
    try:
        first = open_link(wire.address, SystemClock())
        try:
            with pytest.raises(LinkError) as caught:
                open_link(wire.address, SystemClock())
            assert (caught.value.kind, caught.value.reached) == ("busy", "nothing") and caught.value.hint
            talk = Conversation(first, SystemClock())
            talk.expect(wire.peer)
            assert talk.ask(wire.peer, bytes.fromhex("22F189")).result == "positive", "the first is not disturbed"
        finally:
            first.close()
    finally:
        wire.close()


def port_of(wire: Wire) -> Path:
    """Return the device under a wire."""
    place = wire.address.partition(":")[2].partition("?")[0]
    path = Path(place.removeprefix("slcan/"))
    return (path / "port").resolve() if path.is_dir() else path


@pytest.mark.skipif(os.name != "posix", reason="only a POSIX system has these permissions")
@pytest.mark.parametrize("name", [one for one in WIRES if one != "practice"])
def test_a_port_without_permission_is_told_as_that(name: str) -> None:
    """As a user who may not, or on a device that nobody may open.

    The practice adapter's port is opened by the prompt adapter; its far end lives here and would lose its rights too.
    """
    wire = WIRES[name]()
    address = addresses.parse(wire.address)
    adapter = Adapter(address.scheme)
    try:
        adapter.open(address, SystemClock()).close()  # all that is installed is read before the rights are given up
        os.chmod(port_of(wire), 0)
        root = os.geteuid() == 0
        if root:
            folder = getattr(wire.far, "_folder", None)  # its files may be read, so that the port alone is refused
            if folder is not None:
                os.chmod(folder.name, 0o755)
            os.seteuid(NOBODY)
        try:
            with pytest.raises(LinkError) as caught:
                adapter.open(address, SystemClock())
        finally:
            if root:
                os.seteuid(0)
        assert (caught.value.kind, caught.value.reached) == ("permission", "nothing")
        assert caught.value.hint
    finally:
        wire.close()


@each
def test_silence_after_something_was_sent_is_an_outcome_that_nobody_knows(name: str) -> None:
    wire = WIRES[name]()
    try:
        wire.vehicle.replies[START] = NEVER
        link = open_link(wire.address, SystemClock())
        try:
            talk = Conversation(link, SystemClock())
            talk.expect(wire.peer)
            exchange = talk.ask(wire.peer, START)
            assert (exchange.result, exchange.reached) == ("silence", "all")
            with pytest.raises(OutcomeUnknown):
                exchange.raise_silence()
        finally:
            link.close()
    finally:
        wire.close()


def test_a_recording_gives_a_request_that_it_never_saw_as_refused_and_its_end_as_lost(tmp_path: Path) -> None:
    """The one adapter without a far end: nothing can be pulled, taken or garbled on its wire."""
    path = tmp_path / "bay.log"
    path.write_text("(1.0) can0 7A0#0322F18900000000\n(1.02) can0 7A8#0562F1890102\n(1.03) can0 7A\n", encoding="ascii")
    clock = SystemClock()
    link: Any = open_link(f"replay:{path}?as=messages&timing=fast", clock)
    talk = Conversation(link, clock)
    talk.expect(FRAMES)
    assert talk.ask(FRAMES, bytes.fromhex("22F189")).result == "positive"
    exchange = talk.ask(FRAMES, START)
    assert exchange.result == "lost", "never silence, and never another request's answer"
    link.close()
    frames: Any = open_link(f"replay:{path}?timing=fast", clock)
    came: list[Any] = []
    while not any(isinstance(one, Event) and one.kind == "lost" for one in came):
        came += frames.receive(0.1)
    assert [one.kind for one in came if isinstance(one, Event)] == ["garbled", "lost"]
    with pytest.raises(LinkError) as caught:
        frames.receive(0.1)
    assert caught.value.kind == "gone"
    frames.close()
