"""All names that a plugin may import from the core, beside `witnessmark.testing` and the pure
`witnessmark.wire`, `recording`, `clock`, `errors` and `quantity`."""

from witnessmark.clock import Clock, Stamp
from witnessmark.errors import (
    InputError,
    LinkError,
    LocalError,
    OutcomeUnknown,
    PeerError,
    PluginError,
)
from witnessmark.hookspecs import Identified, Practice, hookimpl
from witnessmark.link.address import Address
from witnessmark.link.frame import Event, EventKind, Frame, Message, Origin, Peer
from witnessmark.link.port import Capabilities, FrameLink, Link, MessageLink
from witnessmark.link.wait import Doorbell

API_VERSION = 1
"""Raised when a plugin written for the version before would break."""

CONTRACT_VERSION = 1
"""Raised when a rule of the contract is added or made stricter, so that a link that passed before may fail."""

__all__ = [
    "API_VERSION",
    "CONTRACT_VERSION",
    "Address",
    "Capabilities",
    "Clock",
    "Doorbell",
    "Event",
    "EventKind",
    "Frame",
    "FrameLink",
    "Identified",
    "InputError",
    "Link",
    "LinkError",
    "LocalError",
    "Message",
    "MessageLink",
    "Origin",
    "OutcomeUnknown",
    "Peer",
    "PeerError",
    "PluginError",
    "Practice",
    "Stamp",
    "hookimpl",
]
