"""The rules on holding an interface, for both ports: whose it is, how it is given back, what a lost one says.

In: a scheme and a far end. Out: one test a rule.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import ClassVar

from witnessmark.errors import InputError, LinkError
from witnessmark.host import plugins
from witnessmark.link import address as addresses
from witnessmark.link.address import Address
from witnessmark.link.frame import Event
from witnessmark.testing.contract import FarT, LinkContract, LinkT
from witnessmark.testing.farend import NotPossible
from witnessmark.testing.verdict import LONG_WAIT_S, descriptors, require, told


class HoldingContract(LinkContract[FarT, LinkT]):
    """Subclass one of the two ports' contracts, not this."""

    shared: ClassVar[bool | None] = False
    """Whether several programs may have the interface at once, as a bus of the operating system; None: not known."""

    def found(self) -> Sequence[Address]:
        """Return what the adapter says is plugged in."""
        return [address for address, _ in plugins.Adapter(self.scheme).find()]

    def test_an_interface_in_use_is_refused_as_busy(self) -> None:
        if self.shared:
            raise NotPossible("several programs may have an interface of this kind at once")
        with self.wire() as (far, link):
            self._refusal(far.address)  # the first may import and open what stays for the process
            before = descriptors()
            error = self._refusal(far.address)
            if error is None and self.shared is None:
                raise NotPossible("it can be opened twice: right for a bus of the operating system, wrong for a port")
            require(error is not None, "an interface that is in use was opened again: two would read one stream")
            assert error is not None
            told(error, LinkError)
            require(
                getattr(error, "kind", "") == "busy", f"the error's kind is {getattr(error, 'kind', '')!r}, not 'busy'"
            )
            require(getattr(error, "reached", "") == "nothing", "nothing was sent by opening, and it says otherwise")
            require(descriptors() == before, "a descriptor stayed open after the refusal")
            came, failure = self._attempt(link, 0.0)
            require(failure is None and not came, f"whoever had it first was disturbed: {failure or came!r}")

    def test_after_closing_it_can_be_opened_again(self) -> None:
        far = self.far_end()
        try:
            for opening in ("first", "second"):
                try:
                    link = self.open(far.address)
                except LinkError as error:
                    require(False, f"the {opening} opening failed: {error}")
                link.close()
        finally:
            far.close()

    def test_once_lost_it_never_waits_again(self) -> None:
        with self.wire() as (far, link):
            self.begin(far, link)
            far.unplug()
            self.told_lost(link, "a wire that was unplugged looks like silence")
            for wait_s in (0.0, LONG_WAIT_S):
                came, error = self._attempt(link, wait_s)
                if error is not None:
                    told(error, LinkError)
                elif not any(isinstance(one, Event) and one.kind == "lost" for one in came):
                    require(False, f"after it was lost, receive({wait_s:g}) gave {came!r}: it looks like silence")

    def test_what_it_finds_can_be_typed(self) -> None:
        for address in self.found():
            text = str(address)
            try:
                back = addresses.parse(text)
            except InputError as error:
                require(False, f"{text!r} was found and cannot be typed: {error.what}")
            require(back == address and str(back) == text, f"{text!r} was found; typed, it means {back!r}")
            require(address.scheme == self.scheme, f"{text!r} was found for {self.scheme!r}")
            require(
                text.isprintable() and shlex.split(text) == [text], f"{text!r} was found; no shell gives it on as it is"
            )
