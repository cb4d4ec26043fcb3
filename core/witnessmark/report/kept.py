"""Entries that the journal itself writes, in words: corrections, files, moves, erasures, checkpoints.

Entries flow in, lines flow out. Rules that hold here: what was corrected is shown with what corrects it; a file is
named with how it stands now, where somebody could look; whatever is a commitment is said by `say`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from witnessmark.audit import amended
from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal.entry import OCCURRED, WITHDRAWN, Entry

Say = Callable[[Any], Any]
"""Gives a body with its commitments replaced by what may be shown."""


@dataclass(frozen=True, slots=True)
class Photo:
    """`address` holds the whole picture (RFC 2397); empty when it cannot be shown, and then `why` says why not."""

    address: str = ""
    why: str = ""


@dataclass(frozen=True)
class Beside:
    """What lies beside the entries, as far as whoever prints can see it.

    `say` shows personal data or that it is erased, `files` tells of each SHA-256 whether it is `there`, `missing` or
    `changed` (empty: nobody looked), `photos` has those that can be shown under the same key, `note` is the signed
    checkpoint that is printed. `count` and `head` are those of the last bay's record where the job went from bay to
    bay, and `bays` says whose numbers are whose. `origin` is what the journal calls itself, empty where that is not
    known.
    """

    say: Say = field(default=lambda body: body)
    files: Mapping[str, str] = field(default_factory=dict)
    photos: Mapping[str, Photo] = field(default_factory=dict)
    note: str = ""
    count: int = 0
    head: str = ""
    bays: tuple[str, ...] = ()
    origin: str = ""


@dataclass(frozen=True, slots=True)
class Correction:
    """One amendment of an entry: its own number, what should read otherwise, why, and by whom."""

    seq: int
    text: str
    reason: str
    by: str


def corrections(entries: Sequence[Entry], say: Say) -> dict[int, list[Correction]]:
    """Return the corrections of each entry by its `seq`, in order; one of a correction is one of what that corrects."""
    found = amended.corrections(entries)
    by_seq = {one.seq: one for one in entries if one.kind == "amendment"}
    return {root: [_correction(by_seq[seq], say) for seq in made] for root, made in found.items()}


def _correction(one: Entry, say: Say) -> Correction:
    body = say(one.body)
    return Correction(one.seq, changes(body), str(body.get("reason")), one.done_by.partition(":")[2])


def changes(body: Mapping[str, Any]) -> str:
    """Return what an amendment's body says should read otherwise."""
    said = body.get("instead")
    while isinstance(said, dict) and isinstance(said.get("instead"), dict):
        said = said["instead"]  # a correction of a correction
    if not isinstance(said, dict):
        return ""
    if said.get(WITHDRAWN) is True:
        return "taken back: it counts as not keyed in"
    return ", ".join(f"{name}: {value_text(value)}" for name, value in said.items() if name != OCCURRED)


def value_text(value: Any) -> str:
    """Return a value of a body as people read it."""
    if isinstance(value, dict) and set(value) == {"unit", "value"}:
        return f"{value['value']} {value['unit']}"
    if isinstance(value, dict):
        return ", ".join(f"{key} {value_text(item)}" for key, item in value.items())
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return ", ".join(value) or "none"
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)


def seal(note: str) -> dict[str, Any] | None:
    """Return what a sheet prints of a signed checkpoint: its text to the letter, and its parts. None for no note."""
    if not note:
        return None
    parsed = checkpoints.parse_note(note)
    said = checkpoints.parse_checkpoint(parsed.text)
    pin, signature = said.job, parsed.signatures[0]
    return {
        "note": note,
        "origin": said.origin,
        "size": said.size,
        "root": said.root.hex(),
        "count": pin.count if pin else None,
        "head": pin.head if pin else "",
        "key_name": signature.name,
        "key_id": signature.key_id.hex(),
        "signature": signature.value.hex(),
    }


def line(entry: Entry, beside: Beside) -> str | None:
    """Return what an entry that the journal itself writes says, None for any other kind."""
    tell = _TELL.get(entry.kind)
    return None if tell is None else tell(beside.say(entry.body), beside)


def _attachment(body: Mapping[str, Any], beside: Beside) -> str:
    state = beside.files.get(str(body.get("sha256")), "")
    where = f" (entry {body['target']})" if "target" in body else ""
    said = {"": "", "there": ", there", "missing": ", MISSING", "changed": ", CHANGED"}[state]
    return f"{body.get('name')} shows {body.get('shows')}{where}{said}"


def _amendment(body: Mapping[str, Any], beside: Beside) -> str:
    return f"entry {body.get('target')} corrected: {changes(body)} ({body.get('reason')})"


def _erasure(body: Mapping[str, Any], beside: Beside) -> str:
    copies = "; ".join(map(str, body.get("copies", [])))
    return f"erased {', '.join(body.get('fields', []))}: {body.get('why')}; out of reach: {copies}"


def _moved(body: Mapping[str, Any], beside: Beside) -> str:
    origin = body.get("origin") or "a journal without a key"
    text = f"goes on from job {body.get('job')} of {origin}, {body.get('count')} entries, head {body.get('head')}"
    return text if body.get("marked", True) else f"{text}; that bay had not recorded that the job left it"


def _handed_over(body: Mapping[str, Any], beside: Beside) -> str:
    to = body.get("to")
    return f"goes to {to}: nothing more is done on it here" if to else "did not go to another bay after all"


def _note(what: str) -> Callable[[Mapping[str, Any], Beside], str]:
    return lambda body, beside: f"{what}: {body.get('why', '')}"


_TELL: dict[str, Callable[[Mapping[str, Any], Beside], str]] = {
    "amendment": _amendment,
    "attachment": _attachment,
    "erasure": _erasure,
    "handed-over": _handed_over,
    "moved": _moved,
    "checkpoint": _note("signed checkpoint"),
    "sheet": _note("sheet printed, with a signed checkpoint"),
}
