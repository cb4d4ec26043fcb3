"""Was the record altered? An evidence file is checked by itself, and against what somebody else holds.

The bytes of a file flow in, a `Verification` flows out; no journal, no network. Rules that hold here: a verdict is
data; the first thing that is wrong is named with the entry; `intact` is said only against an anchor, and says which;
what only an anchor could show says so. Only a file that is no evidence file, or of a later format, is an error.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, cast

from witnessmark.audit.bay_before import of_bay_before
from witnessmark.audit.chain import Chain, Fault, read_chain
from witnessmark.audit.proof import UNCOUNTED, UNSIGNED, Proven, check_anchor, check_notes, check_proof
from witnessmark.errors import InputError
from witnessmark.journal import evidence
from witnessmark.journal.checkpoint import Anchor, PublicKey
from witnessmark.journal.entry import Entry, LaterFormat

Verdict = Literal[
    "intact", "consistent, unanchored", "incomplete", "end damaged", "altered", "entries missing", "wrong key"
]


@dataclass(frozen=True, slots=True)
class Verification:
    """How the check came out.

    `seq` is the entry it stumbled on and `place` where in the file; `anchor_only` tells that nothing but the anchor (or
    the key held elsewhere) shows it. `anchor_size` is what `intact` rests on: the journal's size of a checkpoint, the
    job's count of one typed in. `entries` are those that could be read, `head` the leaf hash of the last of them.
    """

    verdict: Verdict
    text: str
    entries: tuple[Entry, ...]
    head: str = ""
    seq: int | None = None
    place: str = ""
    anchor_only: bool = False
    anchor_size: int | None = None
    remarks: tuple[str, ...] = ()

    @property
    def job(self) -> str | None:
        return self.entries[0].job if self.entries else None


def verify(
    data: bytes,
    anchor: Anchor | None = None,
    key: PublicKey | None = None,
    *,
    name: str = "evidence file",
    from_journal: bool = False,
    with_before: bool = False,
) -> Verification:
    """Check the evidence file `data`, against an `anchor` and the shop's public `key` where somebody holds them.

    `from_journal`: it was just read from a journal, whose own check stands for a proof that the file does not carry.
    `with_before`: the files of the bays before are there too, so an anchor that fits none of them fits nothing.
    Raises InputError when it is no evidence file or of a later format, or when the anchor was read in wrongly.
    """
    try:
        document = evidence.read(data, name=name)
    except LaterFormat:
        raise
    except InputError as error:
        return _not_as_written(data, error)
    chain, fault = read_chain([bytes(text) for text in document.entries])
    if fault is None and not chain.entries:
        fault = Fault("incomplete", "there is no entry in it", place="entries")
    proven = None
    if fault is None and document.proof is not None:
        proven, fault = check_proof(chain, document.proof, key)
    elif fault is None and key is not None and (anchor is None or anchor.note is None):
        fault = Fault("incomplete", "nothing in the file is signed, so the key says nothing of it", place="proof")
    if fault is not None:
        return _faulty(chain, fault)
    signed: tuple[int, ...] = ()
    if document.proof is None:
        signed, fault = check_notes(chain)
        if fault is not None:
            return _faulty(chain, fault)
    if anchor is None:
        return _unanchored(chain, proven, () if from_journal else signed, held=key is not None)
    origin = None if proven is None else proven.checkpoint.origin
    said = None if with_before else of_bay_before(chain, origin, anchor)
    if said is not None:
        place = "" if said.verdict == "consistent, unanchored" else "anchor"
        return Verification(cast(Verdict, said.verdict), said.text, chain.entries, chain.head, place=place)
    fault, size, remarks = check_anchor(chain, proven, anchor, key)
    if fault is not None:
        return _faulty(chain, fault, tuple(remarks))
    what = f"count of {size}" if anchor.note is None else f"checkpoint of size {size}"
    what = f"unsigned {what}" if UNSIGNED in remarks else what
    return Verification(
        "intact",
        f"nothing that the {what} covers was changed or left out",
        chain.entries,
        chain.head,
        anchor_size=size,
        remarks=tuple(remarks),
    )


def _unanchored(chain: Chain, proven: Proven | None, unproven: tuple[int, ...], *, held: bool) -> Verification:
    counted = proven is not None and proven.checkpoint.job is not None and proven.checkpoint.job.job == chain.job
    signed = "and nothing in it is signed"
    if proven:
        signed = f"and {'the key that you gave' if held else 'the key that it names'} signed it"
    if unproven:
        signed = f"but the proof for the checkpoint that entry {unproven[-1]} says was signed is not in it"
    return Verification(
        "consistent, unanchored" if not unproven else "incomplete",
        f"the file agrees with itself, {signed}; that somebody made all of it anew, or left out its last entries, "
        "would show only against an anchor: a printed sheet, or a checkpoint held elsewhere",
        chain.entries,
        chain.head,
        place="proof" if unproven else "",
        remarks=() if proven is None or counted else (UNCOUNTED.format("file's checkpoint"),),
    )


def _faulty(chain: Chain, fault: Fault, remarks: tuple[str, ...] = ()) -> Verification:
    return Verification(
        cast(Verdict, fault.verdict),
        fault.text,
        chain.entries,
        chain.head,
        fault.seq,
        fault.place,
        fault.anchor_only,
        remarks=remarks,
    )


def _not_as_written(data: bytes, error: InputError) -> Verification:
    """Judge a file that the strict reader refused: changed, damaged from some entry on, or no evidence file at all."""
    chain, fault = read_chain(list(_sound(evidence.readable_part(data))))
    try:
        whole = json.loads(data)
    except (ValueError, RecursionError):
        whole = None
    if isinstance(whole, dict) and {"entries", "format", "proof"} <= set(whole):
        return _faulty(
            chain, fault or Fault("altered", f"the file is not as it was written: {error.what}", place=error.place)
        )
    if not chain.entries:
        raise error
    last = chain.entries[-1].seq
    text = f"it cannot be read after entry {last}; what stands before it agrees with itself"
    return _faulty(chain, fault or Fault("end damaged", text, last, f"entries[{len(chain.entries)}]"))


def _sound(texts: list[bytes]) -> Iterator[bytes]:
    """Yield the texts up to the first that is no entry."""
    for text in texts:
        chain, _ = read_chain([text])
        if not chain.entries:
            return
        yield text
