"""Error frames, listening and other interfaces, against python-can's own message and a stand-in bus."""

from __future__ import annotations

from typing import Any

import can
import pytest

import witnessmark_canbus
from witnessmark.clock import ManualClock, SystemClock
from witnessmark.errors import LinkError, LocalError
from witnessmark.link import address as addresses
from witnessmark.link.frame import Event, Frame
from witnessmark.link.port import Capabilities
from witnessmark_canbus.frame_link import CanLink
from witnessmark_canbus.listening import is_silent, make_silent, silent_settings
from witnessmark_canbus.meaning import from_message

STAMP = ManualClock().stamp()


def event(can_id: int, classes: bool = True) -> Event:
    message = can.Message(arbitration_id=can_id, is_error_frame=True, data=bytes(8), is_extended_id=False)
    told = from_message(message, STAMP, classes=classes, channel="can0", echo=False)
    assert isinstance(told, Event)
    return told


@pytest.mark.parametrize(
    ("can_id", "kind", "detail"),
    [
        (0x040, "bus_off", "bus off"),  # CAN_ERR_BUSOFF, linux/can/error.h, from memory
        (0x044, "bus_off", "controller problem, bus off"),
        (0x020, "bus_error", "nobody acknowledged"),  # CAN_ERR_ACK
        (0x088, "bus_error", "protocol violation, bus error"),
        (0x100, "bus_error", "controller restarted"),
    ],
)
def test_an_error_frame_tells_its_classes(can_id: int, kind: str, detail: str) -> None:
    told = event(can_id)
    assert (told.kind, told.detail, told.raw) == (kind, detail, can_id.to_bytes(4, "big") + bytes(8))


def test_an_error_frame_of_another_interface_is_told_without_classes() -> None:
    assert (event(0x40, classes=False).kind, event(0x40, classes=False).detail) == ("bus_error", "error frame")


def test_an_error_frame_on_a_live_bus_is_an_event_and_no_frame() -> None:
    far: Any = can.Bus(interface="virtual", channel="errors")
    link = witnessmark_canbus.open_link(addresses.parse("canbus:virtual/errors"), SystemClock(), False)
    far.send(can.Message(is_error_frame=True))
    far.send(can.Message(arbitration_id=0x7E8, is_extended_id=False, data=b"\x01"))
    came = [*link.receive(5.0), *link.receive(0.0)]
    assert [type(one) for one in came] == [Event, Frame]
    link.close()
    far.shutdown()


class Bus:
    """A stand-in for an interface with a clock of its own, which gives each sent message back unmarked."""

    def __init__(self, state: Any = can.BusState.ACTIVE) -> None:
        self.waiting: list[can.Message] = []
        self._state = state

    def recv(self, timeout: float) -> can.Message | None:
        return self.waiting.pop(0) if self.waiting else None

    def send(self, message: can.Message, timeout: float) -> None:
        message.timestamp = 12.000000345
        self.waiting.append(message)

    def fileno(self) -> int:
        return -1

    def shutdown(self) -> None:
        self.waiting.clear()


def test_a_bus_that_echoes_without_saying_so_gives_echoes_and_keeps_device_stamps() -> None:
    link = CanLink(Bus(), SystemClock(), Capabilities(device_clock=True), echoes=True)
    sent = Frame(0x7E0, b"\x02\x3e\x00", STAMP)
    link.send(sent)
    link._bus.waiting.append(can.Message(arbitration_id=0x7E0, is_extended_id=False, data=sent.data, timestamp=13.0))
    came = [one for one in link.receive(1.0) if isinstance(one, Frame)]
    assert [one.origin for one in came] == ["echo", "received"], "another tester may send the same bytes"
    assert [one.stamp.device_ns for one in came] == [12_000_000_345, 13_000_000_000]
    link.close()


def test_a_bus_whose_driver_fails_is_told_once_and_then_refuses() -> None:
    bus = Bus()
    link = CanLink(bus, SystemClock(), Capabilities())

    def fail(timeout: float) -> can.Message | None:
        raise can.CanOperationError("the driver lost the device")

    bus.recv = fail  # type: ignore[method-assign]
    (told,) = link.receive(1.0)
    assert isinstance(told, Event) and told.kind == "lost" and "lost the device" in told.detail
    with pytest.raises(LinkError) as caught:
        link.receive(1.0)
    assert caught.value.kind == "gone"
    with pytest.raises(LinkError):
        link.send(Frame(1, b"", STAMP))
    link.close()


def test_a_network_interface_listens_only_when_the_system_says_so() -> None:
    silent = '[{"ifname":"can0","linkinfo":{"info_kind":"can","info_data":{"ctrlmode":["LISTEN-ONLY"]}}}]'
    loud = '[{"ifname":"can0","linkinfo":{"info_kind":"can","info_data":{"ctrlmode":["LOOPBACK"]}}}]'
    assert silent_settings("socketcan", "can0", lambda _: silent) == {}
    for described in (loud, "", "[]", "not json", '[{"ifname":"vcan0","linkinfo":{"info_kind":"vcan"}}]'):
        assert not is_silent(described)
        with pytest.raises(LocalError, match=r"listen-only mode|says nothing") as caught:
            silent_settings("socketcan", "can0", lambda _, told=described: told)  # type: ignore[misc]
        assert "listen-only on" in caught.value.hint


def test_an_interface_is_asked_to_be_silent_and_must_confirm_it() -> None:
    class Obeys(Bus):
        state: Any = can.BusState.ACTIVE

    class Ignores(Bus):
        @property
        def state(self) -> Any:
            return can.BusState.ACTIVE

        @state.setter
        def state(self, new: Any) -> None:
            return

    class Cannot(Ignores):
        @property
        def state(self) -> Any:
            raise NotImplementedError

        @state.setter
        def state(self, new: Any) -> None:
            raise NotImplementedError("Property is not implemented.")

    obeys = Obeys()
    make_silent(obeys, "some")
    assert obeys.state is can.BusState.PASSIVE
    for bus in (Ignores(), Cannot()):
        with pytest.raises(LocalError, match="cannot promise"):
            make_silent(bus, "some")
