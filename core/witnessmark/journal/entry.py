"""One entry of the journal: what a writer supplies, what is kept, and its exact text.

A `Draft` flows in from any layer, an `Entry` flows out of the store, of an evidence file, or of a text. Rules that hold
here: the text of an entry is canonical JSON, so that entry and text stand for each other; times are nanoseconds as
decimal strings; a kind nobody knows yet is readable and cannot be written. The leaf hash is RFC 9162's (2.1.1).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import msgspec

from witnessmark.errors import InputError
from witnessmark.journal import canonical, merkle
from witnessmark.journal.kinds import KINDS

FORMAT = 1
"""The format of an entry. A reader refuses a higher one."""


AT, OCCURRED, WITHDRAWN = "at", "occurred", "withdrawn"
"""Beside the fields of a body, what `instead` may say of an entry that was keyed in: when it was, or that it is not."""


class LaterFormat(InputError):
    """A later version of the program wrote it; it may be sound, and cannot be read here."""


class Occurred(msgspec.Struct, frozen=True, forbid_unknown_fields=True, gc=False):
    """When it happened: not before `start`, not after `end`, in wall nanoseconds since 1970 UTC.

    `basis` says how that is known: `clock` (read by the machine as it happened), `touch` (a person pressed, widened by
    the shop's uncertainty), `cue` (done on a countdown), `typed` (entered afterwards), `told`, `heard` (from traffic),
    `recording` (from a file). In the text the ends are called `from` and `to`.
    """

    basis: str
    start: str = msgspec.field(name="from")
    end: str = msgspec.field(name="to")

    @property
    def from_ns(self) -> int:
        return int(self.start)

    @property
    def to_ns(self) -> int:
        return int(self.end)

    @property
    def timed(self) -> bool:
        """Whether it says when, to the minute that a card has: what is wider is no time that anybody wrote."""
        return self.to_ns - self.from_ns < 60_000_000_000


def occurred(from_ns: int, to_ns: int | None = None, *, basis: str = "clock") -> Occurred:
    """Return the interval `from_ns` to `to_ns` (the same moment unless given). Raises InputError if it runs back."""
    to_ns = from_ns if to_ns is None else to_ns
    if not 0 <= from_ns <= to_ns:
        raise InputError("the interval ends before it begins", place="occurred", hint="enter the earlier time first")
    return Occurred(basis, str(from_ns), str(to_ns))


def corrected(said: Any) -> Occurred:
    """Return the time that `OCCURRED` of an amendment says. Raises InputError for what is none."""
    try:
        return occurred(int(said["from"]), int(said["to"]), basis="typed")
    except (KeyError, TypeError, ValueError) as error:
        raise InputError(
            "a corrected time cannot be read", place="amendment", hint="ask for the record anew"
        ) from error


class Recorded(msgspec.Struct, frozen=True, forbid_unknown_fields=True, gc=False):
    """When and by which process it was written, on each clock, in nanoseconds.

    `boot` goes on while the machine sleeps (None where there is no such clock), `mono` does not; both start anew with
    `boot_id`. `process` is different for every run of a program. `rate` is 1, or how fast a practice clock ran.
    """

    boot: str | None
    boot_id: str
    mono: str
    process: str
    rate: int
    wall: str

    @property
    def wall_ns(self) -> int:
        return int(self.wall)

    @property
    def mono_ns(self) -> int:
        return int(self.mono)

    @property
    def boot_ns(self) -> int | None:
        return None if self.boot is None else int(self.boot)

    def clocks(self) -> tuple[int, int, int | None]:
        """Return wall, monotonic and boot time at once."""
        return int(self.wall), int(self.mono), None if self.boot is None else int(self.boot)


class Entry(msgspec.Struct, frozen=True, forbid_unknown_fields=True, gc=False):
    """One entry as it stands in the journal, its fields in the order of its text.

    `seq` counts all entries from 0 and is the leaf index; `job_seq` counts those of `job`, and `job_prev` is the leaf
    hash of the one before. All three of `job`, `job_seq`, `job_prev` are None in an entry that belongs to no job.
    """

    body: dict[str, Any]
    done_by: str
    entered_by: str
    format: int
    job: str | None
    job_prev: str | None
    job_seq: int | None
    kind: str
    occurred: Occurred
    recorded: Recorded
    salt: str
    seq: int


@dataclass(frozen=True, slots=True)
class Draft:
    """What a writer supplies; the store adds the rest. `entered_by` is who did it unless said otherwise.

    `occurred` is None for "now", read from the store's clock as it is written. `corrects` is the kind of the entry that
    an amendment corrects. Personal data in the body is plain here; the store keeps it apart (`commitment`). `after` is
    a field of the body that names the entry right before this one, of the same transaction.
    """

    kind: str
    job: str | None
    done_by: str
    entered_by: str = ""
    occurred: Occurred | None = None
    body: dict[str, Any] = field(default_factory=dict)
    corrects: str = ""
    after: str = ""


def check(draft: Draft) -> None:
    """Raise InputError naming the field when the store must not take `draft`. The body is checked when written."""
    if draft.kind not in KINDS:
        raise InputError(f"kind {draft.kind!r} is not known", place="kind", hint=f"use one of: {', '.join(KINDS)}")
    for name, actor in (("done_by", draft.done_by), ("entered_by", draft.entered_by or draft.done_by)):
        if not _names_somebody(actor):
            raise InputError(f"{actor!r} names nobody", place=name, hint="write person:<id> or machine:<part>")
    if draft.job is not None and not _JOB.fullmatch(draft.job):
        raise InputError(f"{draft.job!r} is no job id", place="job", hint="use letters, digits, dot, dash, underscore")
    if draft.occurred is not None:
        if not all(_DIGITS.fullmatch(one) for one in (draft.occurred.start, draft.occurred.end)):
            raise InputError("a time is not decimal digits", place="occurred", hint="make it with entry.occurred()")
        occurred(draft.occurred.from_ns, draft.occurred.to_ns)
        if not _TOKEN.fullmatch(draft.occurred.basis):
            raise InputError("basis is one lower-case word", place="occurred.basis", hint="use clock, touch or typed")


@lru_cache(256)
def _names_somebody(actor: str) -> bool:
    return _ACTOR.fullmatch(actor) is not None


def body_of(draft: Draft, seq: int) -> dict[str, Any]:
    """Return the draft's body as entry `seq` keeps it. Raises InputError naming the place outside the domain."""
    named = {**draft.body, draft.after: seq - 1} if draft.after else draft.body
    body: dict[str, Any] = canonical.plain(named, "body")
    return body


def text(entry: Entry) -> bytes:
    """Return the exact canonical text of `entry`: what is hashed, stored and exported."""
    return canonical.encode_plain(entry)


def parse(data: bytes, *, place: str = "entry") -> Entry:
    """Return the entry whose exact text is `data`.

    Raises InputError naming `place` when it is not canonical, not an entry, or of a later format.
    """
    entry = _read(data, place)
    if entry.format != FORMAT:
        raise LaterFormat(
            f"entry format {entry.format} is not known here", place=place, hint="use a newer version of witnessmark"
        )
    canonical.within(entry.body, f"{place}.body")
    if not _AFTER_BODY.fullmatch(data, data.rfind(b',"done_by":')):
        raise InputError("a field does not have its form", place=place, hint="see docs/journal-format.md, The entry")
    if int(entry.occurred.start) > int(entry.occurred.end):
        raise InputError("occurred ends before it begins", place=place, hint="the entry was not written by a journal")
    return entry


def spelled(data: bytes, place: str = "entry") -> Entry:
    """Return the entry whose exact text is `data`, checked for spelling and types alone, not each field's form.

    For reading a whole journal, where the tree vouches for the rest. Raises InputError naming `place`.
    """
    return _read(data, place)


def spelled_all(texts: list[bytes]) -> list[Entry] | None:
    """Return the entries of `texts`, checked as `spelled` does, or None when any of them is refused."""
    return _read_all(texts)


def leaf(entry: Entry) -> bytes:
    """Return the leaf hash of `entry` (RFC 9162, 2.1.1): SHA-256 over 0x00 and its text."""
    return merkle.leaf_hash(text(entry))


_ID = "[A-Za-z0-9][A-Za-z0-9._-]{0,63}"
_ACTOR = re.compile(f"(?:person|machine):{_ID}")
_JOB = re.compile(_ID)
_TOKEN = re.compile("[a-z][a-z0-9-]{0,31}")
_NS, _COUNT, _PLAIN = "(?:0|[1-9][0-9]{0,19})", "(?:0|[1-9][0-9]{0,14})", r'[^"\\]{1,64}'
_DIGITS = re.compile(_NS)
_AFTER_BODY = re.compile(
    f',"done_by":"{_ACTOR.pattern}","entered_by":"{_ACTOR.pattern}","format":[0-9]+'
    f',"job":(?:null,"job_prev":null,"job_seq":null|"{_ID}","job_prev":(?:null,"job_seq":0|"[0-9a-f]{{64}}","job_seq":[1-9][0-9]{{0,14}}))'
    f',"kind":"{_TOKEN.pattern}","occurred":{{"basis":"{_TOKEN.pattern}","from":"{_NS}","to":"{_NS}"}}'
    f',"recorded":{{"boot":(?:null|"{_NS}"),"boot_id":"{_PLAIN}","mono":"{_NS}","process":"{_PLAIN}","rate":[1-8],"wall":"{_NS}"}}'
    f',"salt":"[0-9a-f]{{32}}","seq":{_COUNT}}}'.encode()
)
"""All that follows the body. One pattern over canonical text is several times as fast as one for each field."""
_read = canonical.reader(Entry)
_read_all = canonical.reader_of_many(Entry)


def amendments(entries: Iterable[Entry]) -> dict[int, list[Entry]]:
    """Return the amendments of each entry by its `seq`, in order."""
    found: dict[int, list[Entry]] = {}
    for entry in entries:
        if entry.kind == "amendment" and isinstance(entry.body.get("target"), int):
            found.setdefault(entry.body["target"], []).append(entry)
    return found


def withdrawn(entries: Iterable[Entry]) -> frozenset[int]:
    """Return which of the entries were taken back: of those that were keyed in, what a machine saw stays."""
    all_ = tuple(entries)
    typed = {one.seq for one in all_ if one.occurred.basis == "typed"}
    made = amendments(all_)
    return frozenset(seq for seq, many in made.items() if seq in typed and any(takes_back(one) for one in many))


def takes_back(one: Entry) -> bool:
    """Say whether an amendment takes back what it is of."""
    said = one.body.get("instead")
    return isinstance(said, dict) and said.get(WITHDRAWN) is True
