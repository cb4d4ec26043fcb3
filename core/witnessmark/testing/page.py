"""The contract run outside pytest, against what is really plugged in.

In: an address, and if there is one the address of a second interface on the same bench bus. Out: a verdict a rule.
Rules that hold here: without a second interface nothing is ever sent; with one, frames are, so both must be on a bench
with no vehicle; what cannot be used is refused before the first rule; what cannot be tried says why.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from witnessmark.clock import NS, SystemClock
from witnessmark.errors import LocalError, WitnessmarkError
from witnessmark.host import plugins
from witnessmark.link import address as addresses
from witnessmark.link.frame import Event, Frame
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.testing.contract import LinkContract
from witnessmark.testing.farend import NotPossible
from witnessmark.testing.frames import FrameLinkContract
from witnessmark.testing.holding import HoldingContract
from witnessmark.testing.messages import MessageLinkContract

Verdict = Literal["kept", "broken", "not tried"]
QUIET_S = 0.5
"""How long a wire is listened to before the first rule: the rules of silence need a silent one."""
SECOND = "needs a second interface on the same bench bus: add --peer"
BY_BYTE = "needs a far end that is worked byte by byte: the plugin's own tests have one"
AS_TOLD = "needs a control unit that answers as it is told: the plugin's own tests have one"
NOT_MISSING = "it is plugged in: `adapters check` at a place where nothing is shows it"


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
        raise NotPossible(SECOND)

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
            raise LocalError(f"{peer} carries no frames", hint="give an interface that does as --peer")
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
    """Run the rules that can be tried at `address`, one after another.

    Raises what opening either interface raises, and LocalError for a second one that is of no use and for a wire that
    is not silent; no rule has been tried then.
    """
    messages = _look(address, peer)
    contract = _contract(address, peer, messages)
    names = sorted(one for one in dir(type(contract)) if one.startswith("test_"))
    for name in names:
        yield _run(contract, name)
    if messages:
        for name in sorted(one for one in dir(MessageLinkContract) if one.startswith("test_") and one not in names):
            yield Line(_rule(name), "not tried", AS_TOLD)


def _look(address: str, peer: str | None) -> bool:
    """Open what will be used once, and listen. Returns whether it carries whole messages."""
    link = plugins.open_link(address, SystemClock())
    try:
        messages = isinstance(link, MessageLink)
        if peer is not None:
            if messages:
                raise LocalError(
                    f"{address} carries whole messages: a second interface cannot play its control unit",
                    hint="leave --peer out",
                )
            SecondInterface(address, peer).close()
        _be_silent(link, address)
    finally:
        link.close()
    return messages


def _be_silent(link: FrameLink | MessageLink, address: str) -> None:
    clock = SystemClock()
    end_ns = clock.mono_ns() + round(QUIET_S * NS)
    while clock.mono_ns() < end_ns:
        for one in link.receive(0.05):
            if not isinstance(one, Event):
                raise LocalError(
                    f"something speaks at {address}, and the rules need a silent wire",
                    hint="try it on a bench where nobody else speaks",
                )
            if one.kind == "garbled":
                raise LocalError(
                    f"what comes at {address} cannot be read ({one.raw[:16].hex(' ').upper()})",
                    hint="check the interface's own speed, and that this adapter is the right one for it",
                )


def _contract(address: str, peer: str | None, messages: bool) -> LinkContract[Any, Any]:
    kind: type[LinkContract[Any, Any]] = HoldingContract if messages else FrameLinkContract

    class OnHardware(kind):  # type: ignore[valid-type,misc]  # the port is known only now
        sends = peer is not None
        shared = None
        patience_s = kind.patience_s if peer is not None else min(kind.patience_s, 2.0)  # nobody will say anything

        def far_end(self) -> NoFarEnd:
            return NoFarEnd(address) if peer is None else SecondInterface(address, peer)

        def begin(self, far: NoFarEnd, link: object) -> None:
            """Wake nobody: that would send."""

        if messages:
            test_it_is_a_message_link = MessageLinkContract.test_it_is_a_message_link

        def test_a_missing_interface_is_named_and_leaves_nothing_open(self) -> None:
            raise NotPossible(NOT_MISSING)

        def spelling(self, far: NoFarEnd) -> None:
            raise NotPossible(BY_BYTE)

        def must_send(self) -> None:
            if peer is None:
                raise NotPossible(SECOND)

    contract = OnHardware()
    contract.__dict__["scheme"] = addresses.parse(address).scheme  # not as a class: that would register it as proven
    return contract


def _run(contract: LinkContract[Any, Any], name: str) -> Line:
    rule = _rule(name)
    try:
        getattr(contract, name)()
    except NotPossible as reason:
        return Line(rule, "not tried", str(reason))
    except (AssertionError, WitnessmarkError, OSError, ValueError, TypeError) as broken:
        return Line(rule, "broken", str(broken))
    return Line(rule, "kept")


def _rule(name: str) -> str:
    return name.removeprefix("test_").replace("_", " ")
