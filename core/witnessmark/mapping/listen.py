"""Listening: a reading of a recording, or of what a listen-only link brings, becomes the map of a vehicle.

Conversations flow in, a `VehicleMap` flows out. Nothing is sent; nothing here could.
"""

from __future__ import annotations

from witnessmark.mapping.learn import Learner
from witnessmark.mapping.naming import Namer, nobody
from witnessmark.mapping.seen import answering_lines, seen
from witnessmark.recording.reading import Reading


def listen(reading: Reading, source: str, digest: str = "", namer: Namer = nobody) -> Learner:
    """Return a learner that has taken in all of a reading. `source` and `digest` name the recording."""
    learner = Learner("heard", source, digest, namer)
    answering = answering_lines(reading.found)
    learner.feed_all(one for conversation in reading.conversations for one in seen(conversation, answering))
    return learner
