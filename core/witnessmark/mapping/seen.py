"""One request and its answers, as both probing and listening hand them on to be learned from.

A conversation of a recording, or an exchange of our own, flows in; a `Seen` for each control unit that takes part in it
flows out. Rules that hold here: a unit is known by where its answers come from; a request to many gives a `Seen` for
each unit that answered and says so; a request that nobody answered belongs to the unit whose answers it would bring,
where that is known.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from witnessmark.recording.conversation import Conversation, line_of
from witnessmark.recording.finding import Found
from witnessmark.recording.line import Line
from witnessmark.wire.isotp.passive import Message


class Answer(NamedTuple):
    """One message of the unit: 0x78 among them. Moments are wall ns."""

    payload: bytes
    first_ns: int
    last_ns: int


class Seen(NamedTuple):
    """`unit` is the line of the answers, `asked_on` that of the request; None where only the other was heard.

    `payload` is None for answers without a request. `asked_ns` is when the request was complete.
    """

    unit: Line | None
    asked_on: Line | None
    functional: bool
    payload: bytes | None
    asked_ns: int
    answers: tuple[Answer, ...] = ()


def seen(conversation: Conversation, answering: Mapping[Line, Line]) -> Iterator[Seen]:
    """Give what each unit did in one conversation. `answering` knows the answers' line of a physical request's."""
    request = conversation.request
    if request is None:
        for answer in conversation.answers:
            yield Seen(line_of(answer), None, False, None, answer.last_ns, (_answer(answer),))
        return
    asked_on = line_of(request)
    by_unit: dict[Line, list[Answer]] = {}
    for answer in conversation.answers:
        by_unit.setdefault(line_of(answer), []).append(_answer(answer))
    if conversation.functional:
        yield Seen(None, asked_on, True, request.payload, request.last_ns)
    elif not by_unit:
        yield Seen(answering.get(asked_on), asked_on, False, request.payload, request.last_ns)
    for unit, answers in by_unit.items():
        yield Seen(unit, asked_on, conversation.functional, request.payload, request.last_ns, tuple(answers))


def answering_lines(found: Found) -> dict[Line, Line]:
    """Return for each line of physical requests the line that answers it."""
    return {
        asked_on: line
        for line, requesters in reversed(list(found.requesters.items()))
        for asked_on in requesters
        if asked_on not in found.functional
    }


def _answer(message: Message) -> Answer:
    return Answer(message.payload, message.first_ns, message.last_ns)
