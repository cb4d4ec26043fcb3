"""The plain reading: frames or DoIP messages in, conversations out. For CAN it is the state machine frame by frame, and
the reference that `bulk` is held against.

What it holds in memory: every message heard on any line, until it is known which lines carry diagnostics.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from witnessmark.link.frame import Frame
from witnessmark.recording.census import Census, Utterance, speaks
from witnessmark.recording.conversation import Conversation, begun, line_of
from witnessmark.recording.doip import DoipMessage, StreamLoss
from witnessmark.recording.file import Recording
from witnessmark.recording.finding import Found, Named, find
from witnessmark.recording.line import NO_TIME_NS, Line, is_functional, is_legislated, may_answer, standard_partner
from witnessmark.recording.overflow import says_overflow, with_refusal
from witnessmark.recording.pairing import pair
from witnessmark.wire import can_id
from witnessmark.wire.doip import PORT, DiagnosticMessage
from witnessmark.wire.isotp.passive import Lost, Message, PassiveReassembler

_HARMLESS = frozenset(("flow_control", "cf_length", "stray"))
"""Frames that a reassembler ignores though they keep to the standard's form."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What was found in a recording: the conversations, the lines they were heard on, all DoIP messages, and how often
    the time of a whole message was before that of the one recorded before it."""

    conversations: Sequence[Conversation]
    found: Found
    doip: tuple[DoipMessage | StreamLoss, ...] = ()
    backwards: int = 0


def read_recording(recording: Recording, named: frozenset[Named] = frozenset()) -> Reading:
    """Read a recording into conversations; its `damage` tells afterwards what could not be read. The `named` lines are
    read whatever they carry."""
    if recording.format == "candump" and (reading := _read_bulk(recording, named)) is not None:
        return reading
    if recording.has_can:
        return read_frames(recording.frames(), named)
    return read_doip_messages(recording.doip())


def _read_bulk(recording: Recording, named: frozenset[Named]) -> Reading | None:
    from witnessmark.recording.bulk.reading import read_text

    recording.forget()
    found = read_text(recording.content, str(recording.path), recording.report, recording.progress, named)
    if found is None:
        return None
    reading, recording.frames_read = found
    return reading


def read_frames(frames: Iterable[Frame], named: frozenset[Named] = frozenset()) -> Reading:
    """Read CAN frames, in the order recorded, into conversations."""
    told, censuses, overflows = _listen(frames)
    by_line: dict[Line, list[Utterance]] = {}
    for at, part in enumerate(told):
        start = part.payload[:4] if isinstance(part, Message) else begun(part)[:4]
        if start:
            utterance = Utterance(at, start, part.first_ns, part.last_ns, isinstance(part, Message))
            by_line.setdefault(line_of(part), []).append(utterance)
    found = find(censuses, lambda line, size: by_line.get(line, [])[:size], named)
    lines = frozenset(found.lines)
    heard = [with_refusal(part, overflows, found) for part in told if line_of(part) in lines]
    ends_ns = [part.last_ns for part in heard if isinstance(part, Message) and part.last_ns != NO_TIME_NS]
    backwards = sum(after < before for before, after in pairwise(ends_ns))
    conversations = pair(heard, found.requesters, found.functional, found.asking)
    return Reading(conversations, found, backwards=backwards)


def read_doip_messages(messages: Iterable[DoipMessage | StreamLoss]) -> Reading:
    """Pair the diagnostic messages (8001) among DoIP messages. Gateways are told apart by their address."""
    told: list[Message | Lost] = []
    heard = tuple(messages)
    for one in heard:
        if isinstance(one, DoipMessage) and isinstance(one.payload, DiagnosticMessage):
            gateway = next((end for end in (one.target, one.source) if end.endswith(f":{PORT}")), "")
            line = Line(gateway.removesuffix(f":{PORT}"), one.payload.source << 16 | one.payload.target, 32)
            told.append(Message(line, one.payload.data, one.time_ns, one.time_ns, (one.raw,)))
    lines = tuple(dict.fromkeys(line_of(part) for part in told))
    functional = frozenset(line for line in lines if is_functional(line))
    requesters = {}
    for line in lines:
        partner = standard_partner(line)
        requesters[line] = tuple(
            one for one in lines if one == partner or (one in functional and may_answer(one, line))
        )
    return Reading(pair(told, requesters, functional), Found(lines, requesters, functional), heard)


def _listen(frames: Iterable[Frame]) -> tuple[list[Message | Lost], dict[Line, Census], dict[Line, list[int]]]:
    normal, addressed = PassiveReassembler(), PassiveReassembler(ext=True)
    told: list[Message | Lost] = []
    censuses: dict[Line, Census] = {}
    totals: Counter[Line] = Counter()
    overflows: dict[Line, list[int]] = {}
    time_ns: int | None = None
    for frame in frames:
        if frame.kind != "data":
            continue
        line = Line(frame.channel, frame.can_id, 29 if frame.extended else 11)
        data, time_ns = frame.data, frame.stamp.mono_ns
        totals[line] += 1
        if not is_mixed(line):
            censuses.setdefault(line, Census()).frames += 1
            told += normal.feed(line, data, time_ns)
            if says_overflow(data, ext=False):
                overflows.setdefault(line, []).append(time_ns)
        if is_mixed(line) or may_be_extended(line):
            if data:
                censuses.setdefault(line._replace(ext=data[0]), Census()).frames += 1
            told += map(_with_address, addressed.feed(line, data, time_ns))
            if says_overflow(data, ext=True):
                overflows.setdefault(line._replace(ext=data[0]), []).append(time_ns)
    told += normal.finish(time_ns)
    told += map(_with_address, addressed.finish(time_ns))
    for line, census in censuses.items():
        base = line._replace(ext=None)
        ignored = (normal if line.ext is None else addressed).ignored(base)
        refused = sum(count for reason, count in ignored.items() if reason not in _HARMLESS)
        # With an address byte, a frame that is refused belongs to nobody: the whole identifier has to be sound.
        census.refused = refused if line.ext is None or refused * 10 > totals[base] else 0
    for part in told:
        _count(censuses[line_of(part)], part)
    return told, censuses, overflows


def _with_address(part: Message | Lost) -> Message | Lost:
    return replace(part, key=line_of(part)._replace(ext=part.ext))


def is_mixed(line: Line) -> bool:
    """Say whether the frames of a line begin with an address extension (18CE, 18CD)."""
    parts = can_id.take_apart(line.number) if line.width == 29 else None
    return parts is not None and parts.mixed


def may_be_extended(line: Line) -> bool:
    """Say whether extended or mixed addressing is looked for on a line: 11 bits, 600 and up (common practice, no
    source), and not kept for normal addressing by ISO 15765-4."""
    return line.width == 11 and line.number >= 0x600 and not is_legislated(line)


def _count(census: Census, part: Message | Lost) -> None:
    if isinstance(part, Lost):
        speech = speaks(begun(part)) if part.length else 0
        census.begun += speech > 0
        census.begun_asked += speech == 1
        return
    speech = speaks(part.payload)
    census.whole += 1
    census.spoken += speech > 0
    census.asked += speech == 1
    if len(part.frames) > 1 and speech:
        census.segmented += 1
        census.inside += len(part.frames)
