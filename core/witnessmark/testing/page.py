"""The contract run outside pytest, against what is really plugged in.

In: an address, and if there is one the address of a second interface on the same bench bus. Out: a verdict a rule.
Rules that hold here: without a second interface nothing is ever sent; with one, frames are, so both must be on a bench
with no vehicle; what cannot be tried says why.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from witnessmark.clock import NS, SystemClock
from witnessmark.errors import WitnessmarkError
from witnessmark.host import plugins
from witnessmark.link import address as addresses
from witnessmark.link.frame import Frame
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.testing.contract import LinkContract
from witnessmark.testing.farend import NotPossible
from witnessmark.testing.frames import FrameLinkContract

Verdict = Literal["kept", "broken", "not tried"]


@dataclass(frozen=True, slots=True)
class Line:
    """What came of one rule."""

    rule: str
    verdict: Verdict
    why: str = ""


class NoFarEnd:
    """Real hardware with nobody to direct on the other side."""

    def __init__(self, address: str) -> None:
        self.address = address

    def say(self, frames: Sequence[Frame]) -> None:
        raise NotPossible("needs a second interface on the same bench bus: add --peer")

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        return []

    def unplug(self) -> None:
        raise NotPossible("needs a hand on the plug")

    def close(self) -> None:
        """There is nothing to clean up."""


class SecondInterface(NoFarEnd):
    """Another interface on the same bench bus, through its own adapter."""

    def __init__(self, address: str, peer: str) -> None:
        super().__init__(address)
        self._clock = SystemClock()
        link = plugins.open_link(peer, self._clock)
        if isinstance(link, MessageLink):
            link.close()
            raise NotPossible(f"{peer} carries no frames")
        self._link: FrameLink = link

    def say(self, frames: Sequence[Frame]) -> None:
        for frame in frames:
            self._link.send(frame)
            self._link.receive(0.0)

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        end_ns = self._clock.mono_ns() + round(wait_s * NS)
        found: list[Frame] = []
        while len(found) < count and self._clock.mono_ns() < end_ns:
            came = self._link.receive(0.05)
            found += [one for one in came if isinstance(one, Frame) and one.origin == "received"]
        return found

    def close(self) -> None:
        self._link.close()


def run_page(address: str, peer: str | None = None) -> Iterator[Line]:
    """Run the rules that can be tried at `address`, one after another. Raises what opening the link raises."""
    link = plugins.open_link(address, SystemClock())
    messages = isinstance(link, MessageLink)
    link.close()
    contract = _contract(address, None if messages else peer, messages)
    for name in sorted(one for one in dir(type(contract)) if one.startswith("test_")):
        yield _run(contract, name)


def _contract(address: str, peer: str | None, messages: bool) -> LinkContract[Any, Any]:
    kind: type[LinkContract[Any, Any]] = LinkContract if messages else FrameLinkContract

    class OnHardware(kind):  # type: ignore[valid-type,misc]  # the port is known only now
        sends = peer is not None
        missing = None
        patience_s = kind.patience_s if peer is not None else min(kind.patience_s, 2.0)  # nobody will say anything

        def far_end(self) -> NoFarEnd:
            return NoFarEnd(address) if peer is None else SecondInterface(address, peer)

        def begin(self, far: NoFarEnd, link: object) -> None:
            """Wake nobody: that would send."""

    contract = OnHardware()
    contract.__dict__["scheme"] = addresses.parse(address).scheme  # not as a class: that would register it as proven
    return contract


def _run(contract: LinkContract[Any, Any], name: str) -> Line:
    rule = name.removeprefix("test_").replace("_", " ")
    try:
        getattr(contract, name)()
    except NotPossible as reason:
        return Line(rule, "not tried", str(reason))
    except (AssertionError, WitnessmarkError, OSError, ValueError, TypeError) as broken:
        return Line(rule, "broken", str(broken))
    return Line(rule, "kept")
