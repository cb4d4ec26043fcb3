"""Listening: a reading of a recording, or of what a listen-only link brings, becomes the map of a vehicle.

Conversations flow in, a `VehicleMap` flows out. Nothing is sent; nothing here could. A message of which frames are
missing teaches nothing, and is counted.
"""

from __future__ import annotations

from witnessmark.mapping.learn import Broken, Learner
from witnessmark.mapping.naming import Namer, nobody
from witnessmark.mapping.seen import answering_lines, seen
from witnessmark.recording.conversation import line_of
from witnessmark.recording.reading import Reading

OVERFLOW = "overflow"
"""Why a message ended that its receiver refused: nothing of it is missing in the recording."""


def listen(reading: Reading, source: str, digest: str = "", namer: Namer = nobody) -> Learner:
    """Return a learner that has taken in all of a reading. `source` and `digest` name the recording."""
    learner = Learner("heard", source, digest, namer)
    answering = answering_lines(reading.found)
    for conversation in reading.conversations:
        learner.feed_all(seen(conversation, answering))
        if conversation.lost:
            learner.broken += (
                Broken(one.first_ns, line_of(one)) for one in conversation.lost if one.reason != OVERFLOW
            )
    learner.broken.sort()
    return learner
