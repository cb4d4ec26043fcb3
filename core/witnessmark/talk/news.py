"""What a conversation has to tell: exchanges that ended, messages nobody asked for, events, other testers' requests."""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.link.frame import Event, Message
from witnessmark.talk.carrier import OtherRequest
from witnessmark.talk.exchange import Exchange


@dataclass(frozen=True, slots=True)
class Unasked:
    """A message that came while nothing was open. `late`: a request that ended in silence may have caused it."""

    message: Message
    late: bool


News = Exchange | Unasked | Event | OtherRequest
