"""Each rule of the kit catches a link that breaks it, and no rule goes unproven."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from tests.testing import broken_frames, broken_messages

from witnessmark.errors import LocalError
from witnessmark.link import address as addresses
from witnessmark.link.address import Address
from witnessmark.testing import ContractBroken, FrameLinkContract, MessageLinkContract
from witnessmark.testing.memory import MemoryFarEnd
from witnessmark.testing.memory_messages import MemoryUnit


class Frames(FrameLinkContract):
    missing = "memory:nowhere"
    patience_s = 0.25
    full_rate_s = 1.0
    paced = False
    slowest_send_s = 0.1
    link = broken_frames.MemoryLink
    scheme = "memory"

    def found(self) -> Sequence[Address]:
        return getattr(self.link, "finds", ())

    def far_end(self) -> MemoryFarEnd:
        return MemoryFarEnd()

    def open(self, address: str, listen_only: bool = False) -> broken_frames.MemoryLink:
        return self.link(addresses.parse(address), self.clock(), listen_only)


class Messages(MessageLinkContract):
    missing = "memory-messages:nowhere"
    patience_s = 0.25
    quiet_s = 0.05
    slowest_send_s = 0.1
    link = broken_messages.MemoryMessageLink
    scheme = "memory-messages"

    def found(self) -> Sequence[Address]:
        return getattr(self.link, "finds", ())

    def far_end(self) -> MemoryUnit:
        return MemoryUnit()

    def open(self, address: str, listen_only: bool = False) -> broken_messages.MemoryMessageLink:
        return self.link(addresses.parse(address), self.clock(), listen_only)


def rules(contract: type) -> set[str]:
    return {name for name in dir(contract) if name.startswith("test_")}


ADDRESS_RULE = "test_the_address_parses_and_prints_back"
CASES = [
    pytest.param(contract, rule, link, id=f"{contract.__name__}-{link.__name__}")
    for contract, caught in ((Frames, broken_frames.CAUGHT), (Messages, broken_messages.CAUGHT))
    for rule, links in caught.items()
    for link in links
]


@pytest.mark.parametrize("contract", [Frames, Messages])
def test_every_rule_has_a_link_that_breaks_it(contract: type) -> None:
    caught = broken_frames.CAUGHT if contract is Frames else broken_messages.CAUGHT
    assert rules(contract) - set(caught) == {ADDRESS_RULE}
    assert set(caught) - rules(contract) == set()


@pytest.mark.parametrize(("contract", "rule", "link"), CASES)
def test_a_rule_catches_its_broken_link(
    contract: type[Frames] | type[Messages], rule: str, link: type, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(contract, "link", link)
    check: Callable[[], None] = getattr(contract(), rule)
    with pytest.raises((ContractBroken, OSError, ValueError, LocalError)):
        check()


@pytest.mark.parametrize("contract", [Frames, Messages])
def test_an_address_that_does_not_print_back_is_caught(
    contract: type[Frames] | type[Messages], monkeypatch: pytest.MonkeyPatch
) -> None:
    far = contract().far_end()
    monkeypatch.setattr(type(far), "address", f"{contract.scheme}:1?a=b%20%63")
    monkeypatch.setattr(contract, "far_end", lambda self: far)
    with pytest.raises(ContractBroken, match="prints back as"):
        getattr(contract(), ADDRESS_RULE)()


@pytest.mark.parametrize("contract", [Frames, Messages])
def test_the_good_link_keeps_every_rule_under_the_same_bounds(contract: type[Frames] | type[Messages]) -> None:
    for rule in sorted(rules(contract)):
        getattr(contract(), rule)()
