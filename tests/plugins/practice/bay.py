"""A truck on one bench, for tests: its hands, and a tester's ears on its bus. No process, no waiting."""

from __future__ import annotations

from witnessmark_practice.bus import BusFrame
from witnessmark_practice.hands import Hands
from witnessmark_practice.node import ANSWER_ID, REQUEST_ID
from witnessmark_practice.vehicle import Truck


class Bay:
    """A truck, its hands and a tester's ears on the bus."""

    def __init__(self, *, traffic: bool = False) -> None:
        self.pulled: list[bool] = []
        self.truck = Truck(unplug=self.pulled.append)
        self.truck.traffic.on = traffic
        self.truck.bus.ears.append(self)
        self.hands = Hands(self.truck)
        self.frames: list[BusFrame] = []

    def hear(self, frame: BusFrame) -> None:
        self.frames.append(frame)

    def do(self, act: str, item: str = "", amount: str = "") -> str:
        return self.hands.do(act, item, amount)

    def ready(self) -> None:
        """Make the truck ready for a run."""
        for act in ("wake", "supply", "fit-feed", "pressurise"):
            self.do(act)
        self.wait(0)

    def wait(self, seconds: float) -> None:
        self.truck.advance(self.truck.now_s + seconds)

    def send(self, data: str, can_id: int = REQUEST_ID) -> list[str]:
        """Send one frame; return what was answered in the same moment."""
        self.frames.clear()
        self.truck.bus.put(self, BusFrame(can_id, bytes.fromhex(data), False, self.truck.now_s))
        self.wait(0)
        return self.answers()

    def answers(self) -> list[str]:
        return [frame.data.hex() for frame in self.frames if frame.can_id == ANSWER_ID]

    def start_rear(self) -> None:
        assert self.send("021003") == ["06500300c801f4aa"]
        self.send("0431017320")
        self.wait(0.7)
        assert self.answers()[-1] == "057101732001aaaa"
