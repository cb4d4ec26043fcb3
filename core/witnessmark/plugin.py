"""All names that a plugin may import from the core, beside `witnessmark.testing` and the pure
`witnessmark.wire`, `recording`, `document`, `clock`, `errors` and `quantity`."""

from typing import TYPE_CHECKING, Any

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
from witnessmark.link.refusal import cannot_open, errno_of
from witnessmark.link.wait import Doorbell

if TYPE_CHECKING:
    from witnessmark.audit.case import Case
    from witnessmark.audit.question import Question
    from witnessmark.audit.verdict import Detail, Verdict, from_details, from_sure

_FOR_QUESTIONS = {
    "Case": "witnessmark.audit.case",
    "Detail": "witnessmark.audit.verdict",
    "Question": "witnessmark.audit.question",
    "Verdict": "witnessmark.audit.verdict",
    "from_details": "witnessmark.audit.verdict",
    "from_sure": "witnessmark.audit.verdict",
}
"""What a question needs and an adapter does not: imported when it is asked for, so that a link opens no audit."""


def __getattr__(name: str) -> Any:
    if name not in _FOR_QUESTIONS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_FOR_QUESTIONS[name]), name)


API_VERSION = 1
"""The plugin interface. Raised when a plugin written for the one before would break; a plugin states its own so too."""

CONTRACT_VERSION = 2
"""Raised when a rule of the contract is added or made stricter, so that a link that passed before may fail."""

__all__ = [
    "API_VERSION",
    "CONTRACT_VERSION",
    "Address",
    "Capabilities",
    "Case",
    "Clock",
    "Detail",
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
    "Question",
    "Stamp",
    "Verdict",
    "cannot_open",
    "errno_of",
    "from_details",
    "from_sure",
    "hookimpl",
]
