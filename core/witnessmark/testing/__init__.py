"""The conformance kit: what a plugin author runs to know that an adapter is right.

Subclass `FrameLinkContract` or `MessageLinkContract` in a test module, set `scheme`, and give it the other end of the
wire. `CONTRACT_VERSION` rises when a rule is added or made stricter.
"""

from witnessmark.plugin import CONTRACT_VERSION
from witnessmark.testing.contract import contracts_of
from witnessmark.testing.farend import FrameFarEnd, MessageFarEnd, NotPossible, Reply, Spelling
from witnessmark.testing.frames import FrameLinkContract
from witnessmark.testing.messages import MessageLinkContract
from witnessmark.testing.verdict import ContractBroken

__all__ = [
    "CONTRACT_VERSION",
    "ContractBroken",
    "FrameFarEnd",
    "FrameLinkContract",
    "MessageFarEnd",
    "MessageLinkContract",
    "NotPossible",
    "Reply",
    "Spelling",
    "contracts_of",
]
