"""All that this bay, or a file in hand, holds of one job: what sheet, audit and `job show` are made from.

A shop and a job (or evidence files) flow in, a `Dossier` flows out. Rules that hold here: the evidence is what is
verified and audited; plate, customer and files lie beside it and are only shown; a job that came from another bay has
the evidence of both.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import structs

from witnessmark.audit.policy import DEFAULT, Policy
from witnessmark.audit.policy import read as read_policy
from witnessmark.audit.verdict import Finding
from witnessmark.audit.verify import Verification, verify
from witnessmark.clock import Clock
from witnessmark.errors import InputError, JournalError
from witnessmark.host.auditing import ORDER, Audited, audit_parts, verified
from witnessmark.host.history import parsed
from witnessmark.host.photos import photos
from witnessmark.host.shop import Shop
from witnessmark.journal import attachment, evidence, joining, moving, personal, sealing
from witnessmark.journal.check import Check, check
from witnessmark.journal.checkpoint import Note
from witnessmark.journal.commitment import Kept
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal
from witnessmark.report.kept import Beside

if TYPE_CHECKING:
    from witnessmark.host.extending.questions import Questions

POLICY = "policy.toml"
ERASED = "personal data of this job was erased, and a picture may show it"
"""Why no photo of a job is shown any more after an erasure: nobody but a person can say what is seen on it."""


@dataclass(frozen=True)
class Dossier:
    """`parts` are evidence files, the first bay's first. `values` None: nobody here keeps personal data of it.

    `attached` are the files beside the journal that the last part was read from: `journal`, None for a file. `origin`
    is what that journal calls itself.
    `policy` is of the shop that audits.
    """

    name: str
    parts: tuple[bytes, ...]
    values: Mapping[str, Kept] | None = None
    attached: tuple[attachment.Attached, ...] = ()
    journal: tuple[Path, Clock] | None = None
    origin: str = ""
    policy: Policy = DEFAULT

    @property
    def files(self) -> dict[str, str]:
        """Return how each attached file stands, by its SHA-256."""
        return {str(one.entry.body.get("sha256")): one.state for one in self.attached}

    def audited(self, checked: Check | None = None, loaded: Questions | None = None) -> Audited:
        """Audit it; what comes from a journal together with the check of all of that journal.

        That check is made, and the questions are loaded, where they are not given.
        """
        if checked is None and self.journal is not None:
            checked = check(*self.journal, database=False)
        found = self.verified
        return audit_parts(self.parts, name=self.name, journal=checked, policy=self.policy, loaded=loaded, found=found)

    @cached_property
    def verified(self) -> list[Verification]:
        """Return how each part is found by itself."""
        return verified(self.parts, name=self.name, from_journal=self.journal is not None)

    @cached_property
    def beside(self) -> Beside:
        """Return what is shown beside the entries, as far as the evidence can be read."""
        parts = self.verified
        erased = personal.erased_in(entry for part in parts for entry in part.entries)
        kept = self.values or {}

        def say(body: Any) -> Any:
            return personal.shown(body, kept, erased)

        last = parts[-1]
        note = _note(self.parts[-1], self.name) if last.verdict in ORDER[:2] else ""
        if len(parts) == 1:
            return Beside(say, self.files, note=note, origin=self.origin)
        bays = tuple(_whose([one.entries for one in parts]))
        return Beside(say, self.files, {}, note, len(last.entries), last.head, bays, self.origin)

    @property
    def with_photos(self) -> Beside:
        """Return what is shown beside the entries, and the photos themselves: only a sheet needs those."""
        erased = any(one.kind == "erasure" for part in self.parts for one in parsed(part))
        return replace(self.beside, photos=photos(self.attached, why_not=ERASED if erased else ""))

    def said(self, finding: Finding) -> Finding:
        """Return a finding with the words of people in it, as far as they are kept here."""
        details = tuple(structs.replace(one, text=self.beside.say(one.text)) for one in finding.details)
        return replace(finding, text=self.beside.say(finding.text), details=details)


def _note(data: bytes, name: str) -> str:
    """Return the signed checkpoint that an evidence file carries, empty when it carries none."""
    proof = evidence.read(data, name=name).proof
    return "" if proof is None else proof.checkpoint


def _whose(parts: Sequence[Sequence[Entry]]) -> Iterator[str]:
    """Yield whose entries have which numbers on a sheet of several bays."""
    step = joining.step(parts)
    yield (
        f"This job went through {len(parts)} bays. Count, head and code are those of the last bay's record, whose "
        "first entry cites count and head of the record before."
    )
    for number in range(len(parts)):
        origin = parts[number + 1][0].body.get("origin") if number + 1 < len(parts) else "this bay"
        first = number * step
        how = "as in its journal" if not first else f"from {first} on: take {first} off for the number in its journal"
        yield f"Entries of {origin or 'a bay without a key'} are numbered {how}."


def of_job(shop: Shop, job: str, note: Note | None = None) -> Dossier:
    """Return what the shop has of `job`, up to what `note` signed where there is one. Raises InputError for no job."""
    with shop.read() as journal:
        return of_journal(journal, job, shop.clock, note, policy=policy_of(shop))


def of_journal(
    journal: Journal, job: str, clock: Clock, note: Note | None = None, *, policy: Policy = DEFAULT
) -> Dossier:
    """Return what an open journal has of `job`, as `of_job`."""
    data = sealing.unsealed_evidence(journal, job) if note is None else sealing.evidence_of(journal, job, note)
    earlier = moving.earlier_evidence(journal, job)
    attached = tuple(attachment.attached(journal, job))
    values, place = personal.values_of(journal, job), (journal.path, clock)
    return Dossier(f"job {job}", (*earlier, data), values, attached, place, _origin(journal), policy)


def _origin(journal: Journal) -> str:
    """Return what the journal calls itself, empty where its first entry cannot be read any more."""
    try:
        return str(journal.genesis().body["origin"])
    except (InputError, JournalError):
        return ""


def policy_of(shop: Shop) -> Policy:
    """Return the tolerances in the shop's `policy.toml`, ours where there is none. Raises InputError for mistakes."""
    try:
        with (shop.folder / POLICY).open(encoding="utf-8", newline="") as file:
            text = file.read()  # as it lies there: its digest is of these bytes
    except (FileNotFoundError, NotADirectoryError):
        return DEFAULT
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"it cannot be read: {error}", place=POLICY, hint="write a plain text file, UTF-8") from error
    return read_policy(text, file=POLICY)


def of_target(shop: Shop, target: str, earlier: Sequence[Path] = ()) -> Dossier:
    """Return what there is of a job id or an evidence file; `earlier` are the files of the bays before that one.

    A file wins over a job of the same name. Raises InputError when it is neither, or does not go on from `earlier`.
    """
    path = Path(target)
    if path.is_file():
        parts = [(str(one), moving.one_bytes(one)) for one in (*earlier, path)]
        first = verify(parts[0][1], name=parts[0][0]).entries[:1]
        if earlier or (first and first[0].kind == "moved"):
            moving.check_goes_on(parts)
        return Dossier(path.name, tuple(data for _, data in parts), policy=policy_of(shop))
    if path.is_dir():
        raise InputError("that is a folder", place=target, hint="give the evidence file in it, or a job's id")
    if path.suffix or "/" in target:
        raise InputError("there is no such file", place=target, hint="give an evidence file, or a job's id")
    if earlier:
        raise InputError("a job's earlier evidence is in the journal", place="--earlier", hint="leave --earlier away")
    return of_job(shop, target)


def missing(dossier: Dossier) -> list[str]:
    """Return a line for each attached file that is not as it entered."""
    entries = parsed(dossier.parts[-1]) if dossier.files else ()
    return [
        f"file of entry {one.seq} ({dossier.beside.say(one.body.get('name'))}) is {state}"
        for one in entries
        if one.kind == "attachment" and (state := dossier.files.get(str(one.body.get("sha256")), "there")) != "there"
    ]
