"""The rules that every link keeps, whatever it carries.

In: a subclass that names the scheme and gives a far end. Out: one test a rule, in pytest or on the page of `witnessmark
adapters check --contract`. Rules that hold here: each test lays its own wire and cleans up; a link that hangs is told,
never waited for; a rule that cannot be tried on a wire says so.
"""

from __future__ import annotations

import select
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, ClassVar, Generic, TypeVar

from witnessmark.clock import NS, Clock, SystemClock
from witnessmark.errors import InputError, LinkError, LocalError
from witnessmark.host import plugins
from witnessmark.link import address as addresses
from witnessmark.link.frame import Event, Frame, Message
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.testing.farend import FarEnd, NotPossible
from witnessmark.testing.verdict import (
    LONG_WAIT_S,
    PATIENCE_S,
    Aside,
    ContractBroken,
    descriptors,
    pause,
    require,
    threads,
    told,
)

FarT = TypeVar("FarT", bound=FarEnd)
LinkT = TypeVar("LinkT", bound=FrameLink | MessageLink)
Came = Frame | Message | Event

_REGISTERED: dict[str, list[type[LinkContract[Any, Any]]]] = {}


def contracts_of(scheme: str) -> Sequence[type[LinkContract[Any, Any]]]:
    """Return the contract classes defined so far for an address scheme."""
    return tuple(_REGISTERED.get(scheme, ()))


class LinkContract(Generic[FarT, LinkT]):
    """Subclass one of the two ports' contracts, not this; name it `Test...` and give it `scheme` and `far_end`."""

    scheme: ClassVar[str] = ""
    missing: ClassVar[str | None] = None
    """An address at which nothing is plugged in; None where that cannot be."""
    recorded: ClassVar[bool] = False
    """Whether the far end is a recording: it says everything before the link is opened."""

    patience_s: ClassVar[float] = PATIENCE_S

    def __init_subclass__(cls, **settings: object) -> None:
        super().__init_subclass__(**settings)
        if cls.scheme:
            _REGISTERED.setdefault(cls.scheme, []).append(cls)

    def far_end(self) -> FarT:
        """Lay a fresh wire and return its other end."""
        raise NotImplementedError

    def clock(self) -> Clock:
        return SystemClock()

    def open(self, address: str, listen_only: bool = False) -> LinkT:
        """Open the link under test as the host does, through its entry point, but with no guard around it."""
        link: Any = plugins.open_link(address, self.clock(), listen_only, bare=True)
        return link  # type: ignore[no-any-return]  # the port is checked by the first rule

    @contextmanager
    def living_by(self, clock: Clock) -> Iterator[None]:
        """Open links with another clock meanwhile."""
        self.__dict__["clock"] = lambda: clock
        try:
            yield
        finally:
            del self.__dict__["clock"]

    @contextmanager
    def wire(self, listen_only: bool = False) -> Iterator[tuple[FarT, LinkT]]:
        """Lay a wire, open the link on it, and clean up both."""
        far = self.far_end()
        try:
            link = self.open(far.address, listen_only)
            try:
                yield far, link
            finally:
                Aside(link.close).result("close() does not return", self.patience_s)
        finally:
            far.close()

    def begin(self, far: FarT, link: LinkT) -> None:
        """Do what makes the link able to receive; a link that only listens after a request overrides this."""

    # The rules.

    def test_the_address_parses_and_prints_back(self) -> None:
        far = self.far_end()
        try:
            address = addresses.parse(far.address)
            require(str(address) == far.address, f"{far.address!r} prints back as {str(address)!r}")
            require(address.scheme == self.scheme, f"the scheme of {far.address!r} is not {self.scheme!r}")
        finally:
            far.close()

    def test_an_unknown_option_is_refused(self) -> None:
        far = self.far_end()
        try:
            mark = "&" if "?" in far.address else "?"
            error = self._refusal(f"{far.address}{mark}no-such-option=1")
            require(error is not None, "an option that does not exist was taken without a word")
            assert error is not None
            told(error, InputError)
        finally:
            far.close()

    def test_a_missing_interface_is_named_and_leaves_nothing_open(self) -> None:
        if self.missing is None:
            raise NotPossible("an interface of this kind cannot be missing")
        before = descriptors()
        error = self._refusal(self.missing)
        require(error is not None, f"{self.missing} was opened, and nothing is there")
        assert error is not None
        told(error, LinkError, InputError)
        if isinstance(error, LinkError):
            require(error.kind == "missing", f"the error's kind is {error.kind!r}, not 'missing'")
        require(error.reached == "nothing", "an interface that is missing cannot have let anything through")  # type: ignore[attr-defined]
        require(descriptors() == before, "a descriptor stayed open after the refusal")

    def test_silence_is_an_empty_answer_after_the_wait(self) -> None:
        with self.wire() as (_, link):
            clock = SystemClock()
            for wait_s in (0.0, 0.05):
                start_ns = clock.mono_ns()
                came = Aside(lambda wait_s=wait_s: link.receive(wait_s)).result(  # type: ignore[misc]
                    f"receive({wait_s}) does not return on a silent wire", self.patience_s
                )
                passed_s = (clock.mono_ns() - start_ns) / NS
                require(list(came) == [], f"a silent wire gave {came!r}")
                require(passed_s >= wait_s / 2, f"receive({wait_s}) came back at once: a loop over it would spin")

    def test_an_interrupt_ends_a_wait_and_the_link_goes_on(self) -> None:
        with self.wire() as (_, link):
            waiting = Aside(lambda: link.receive(LONG_WAIT_S))
            pause(0.05)
            link.interrupt()
            came = waiting.result("interrupt() did not end a wait", self.patience_s)
            require(list(came) == [], f"an interrupted wait gave {came!r}")
            require(list(link.receive(0.0)) == [], "after an interrupt the link tells something that nobody sent")

    def test_an_interrupt_before_the_wait_ends_it_and_does_not_last(self) -> None:
        with self.wire() as (_, link):
            link.interrupt()
            link.interrupt()
            came = Aside(lambda: link.receive(LONG_WAIT_S)).result(
                "an interrupt that came right before a wait did not end it: a stop would wait as long", self.patience_s
            )
            require(list(came) == [], f"an interrupted wait gave {came!r}")
            clock = SystemClock()
            for _ in range(3):  # what is left of two may end one more
                start_ns = clock.mono_ns()
                link.receive(0.02)
                passed_s = (clock.mono_ns() - start_ns) / NS
            require(passed_s >= 0.01, "after an interrupt no wait lasts any more: a loop over it would spin")

    def test_interrupting_while_it_closes_does_nothing(self) -> None:
        with self.wire() as (_, link):
            waiting = Aside(lambda: self._received_or_told(link, LONG_WAIT_S))
            closing = Aside(link.close)
            clock = SystemClock()
            end_ns = clock.mono_ns() + round(self.patience_s * NS)
            while not closing.done and clock.mono_ns() < end_ns:
                link.interrupt()
            link.interrupt()
            closing.result("close() does not return while others interrupt", self.patience_s)
            waiting.result("close() did not end a wait", self.patience_s)

    def test_closing_twice_is_allowed(self) -> None:
        with self.wire() as (_, link):
            link.close()
            link.close()

    def test_closing_ends_a_wait(self) -> None:
        with self.wire() as (_, link):
            waiting = Aside(lambda: self._received_or_told(link, LONG_WAIT_S))
            pause(0.05)
            Aside(link.close).result("close() does not return while another thread waits", self.patience_s)
            waiting.result("close() did not end a wait", self.patience_s)

    def test_interrupting_a_closed_link_does_nothing(self) -> None:
        with self.wire() as (_, link):
            link.close()
            link.interrupt()

    def test_a_closed_link_is_no_silent_wire(self) -> None:
        with self.wire() as (_, link):
            link.close()
            came, error = self._attempt(link, 0.0)
            require(
                error is not None or any(isinstance(one, Event) and one.kind == "lost" for one in came),
                "receive on a closed link looks like silence",
            )

    def test_no_thread_and_no_descriptor_stays(self) -> None:
        with self.wire() as (_, link):  # the first use may import and open what stays for the process
            link.receive(0.0)
        far = self.far_end()
        try:
            running, held = threads(), descriptors()
            link = self.open(far.address)
            link.receive(0.0)
            link.close()
            left = threads() - running
            require(not left, f"a thread stays after close: {', '.join(one.name for one in left)}")
            if held is not None:
                more = (descriptors() or held) - held
                require(not more, f"a descriptor stays open after close: {', '.join(sorted(more))}")
        finally:
            far.close()

    def test_unplugged_while_idle_is_told(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.unplug()
            self.told_lost(link, "a wire that was unplugged looks like silence")

    def test_unplugged_while_waiting_is_told(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            waiting = Aside(lambda: self.told_lost(link, "a wire that was unplugged looks like silence"))
            pause(0.05)
            far.unplug()
            waiting.result("the wire was unplugged and the wait goes on", self.patience_s * 2)

    # What the rules are made of.

    def told_lost(self, link: LinkT, broken: str) -> list[Came]:
        """Receive until the link tells that its interface is gone; return what came before."""
        clock = SystemClock()
        end_ns = clock.mono_ns() + round(self.patience_s * NS)
        before: list[Came] = []
        while clock.mono_ns() < end_ns:
            came, error = self._attempt(link, 0.1)
            if error is not None:
                told(error, LinkError)
                require(getattr(error, "kind", "") == "gone", f"the error's kind is {getattr(error, 'kind', '')!r}")
                return before
            for one in came:
                if isinstance(one, Event) and one.kind == "lost":
                    return before
                before.append(one)
        raise ContractBroken(broken)

    def collect(self, link: LinkT, count: int, patience_s: float | None = None) -> list[Came]:
        """Receive until `count` frames or messages have come or nothing new comes; events come along, uncounted."""
        clock = SystemClock()
        patience_s = self.patience_s if patience_s is None else patience_s
        end_ns = clock.mono_ns() + round(patience_s * NS)
        came: list[Came] = []
        found = 0
        while found < count and clock.mono_ns() < end_ns:
            new = link.receive(0.1)
            came.extend(new)
            found += sum(not isinstance(one, Event) and one.origin != "echo" for one in new)
            if new:
                end_ns = clock.mono_ns() + round(patience_s * NS)
        return came

    def readable(self, link: LinkT) -> bool | None:
        """Return whether the link's descriptor can be read within the kit's patience; None where there is none."""
        number = link.fileno()
        return None if number is None else bool(select.select([number], [], [], self.patience_s)[0])

    def _refusal(self, address: str) -> BaseException | None:
        try:
            link = self.open(address)
        except Exception as error:  # noqa: BLE001 - judged by the caller
            return error
        link.close()
        return None

    def _attempt(self, link: LinkT, wait_s: float) -> tuple[Sequence[Came], BaseException | None]:
        waiting = Aside(lambda: link.receive(wait_s))
        try:
            return waiting.result(f"receive({wait_s}) does not return", self.patience_s), None
        except (LinkError, LocalError) as error:
            return (), error

    def _received_or_told(self, link: LinkT, wait_s: float) -> Sequence[Came]:
        try:
            return link.receive(wait_s)
        except (LinkError, LocalError):
            return ()
