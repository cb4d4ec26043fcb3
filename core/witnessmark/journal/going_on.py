"""Where a job goes on: in one journal once, so that no two jobs of one record are worked on side by side.

A journal and the record of a job flow in, a refusal is an error. Rules that hold here: a job that was handed over or
abandoned goes on no more; one that was taken over again since does not come back, wherever that one went; a record is
known by the hashes of its entries, under whatever name it was taken, and through however many bays it came. What
another bay's journal has cannot be known here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import entry as entries
from witnessmark.journal import merkle, moving
from witnessmark.journal.entry import Entry
from witnessmark.journal.evidence import read
from witnessmark.journal.store import Journal


def check_once(journal: Journal, file: bytes, name: str, earlier: Sequence[bytes] = ()) -> None:
    """Raise InputError where the job in an evidence `file` of this `name` is of this journal or goes on here.

    `earlier` are the files of the bays before: a job that came from one of them is of this record too.
    """
    texts = _texts(file, name)
    job = str(entries.parse(texts[0], place=name).job)
    if journal.job_head(job).count and merkle.leaf_hash(texts[-1]) in _hashes(journal.job_texts(job)):
        hint = f"if it did not go: witnessmark job move {job} --back"
        raise InputError(f"that is job {job} of this very journal", place=name, hint=hint)
    parts = [*map(_texts, earlier), texts]
    known = _known(parts)
    # A job keeps its name in its own journal, so one that began here is found by the name it has there.
    names = dict.fromkeys(str(entries.parse(part[0], place=name).job) for part in parts)
    began = (one for each in names if (one := next(journal.entries(each), None)) is not None and one.kind != "moved")
    candidates = (*began, *journal.entries(kind="moved"))
    staying = (one for one in candidates if moving.handed_over(journal, str(one.job)) is None)
    for here in _of_one_record(journal, staying, known):
        if here.kind != "moved":
            raise _never_went(journal, str(here.job), known, name)
        hint = (
            f"witnessmark job run {here.job}; if that one went, say so first: witnessmark job move {here.job} --to BAY"
        )
        raise InputError(f"it goes on here already, as job {here.job}", place=name, hint=hint)


def _never_went(journal: Journal, job: str, known: set[bytes], name: str) -> InputError:
    """Return the refusal of a record that comes back to the bay where it began, which was never told that it went."""
    more = len(_hashes(journal.job_texts(job)) - known)
    since = f", and has {more} {'entry' if more == 1 else 'entries'} here that did not go along" if more else ""
    hint = f"say so first: witnessmark job move {job} --to BAY; or go on with that one: witnessmark job run {job}"
    return InputError(f"it began here as job {job}, of which no entry says that it went{since}", place=name, hint=hint)


def check_away(journal: Journal, job: str) -> None:
    """Raise JournalError when `job`, which went to another bay, was taken over here since, or goes on as another."""
    parts = _parts(journal, job)
    firsts = [entries.parse(part[0], place=job) for part in parts]
    # A job keeps its name in its own journal, so one that began here and went is found by the name it had.
    names = dict.fromkeys(str(name) for one in firsts for name in (one.job, one.body.get("job")) if name)
    began = (next(journal.entries(name), None) for name in names)
    candidates = (*journal.entries(kind="moved"), *(one for one in began if one is not None))
    others = [one for one in _of_one_record(journal, candidates, _known(parts)) if one.job != job]
    for one in others:
        if moving.handed_over(journal, str(one.job)) is None:
            later = one.seq > firsts[-1].seq
            what = f"job {job} came back: it goes on" if later else f"the record of job {job} goes on"
            hint = f"witnessmark job run {one.job}" + ("" if later else ", or abandon that one first")
            raise JournalError(f"{what} here as job {one.job}", hint=hint)
    for one in others:
        if one.seq > firsts[-1].seq:
            hint = f"if that one never went: witnessmark job move {one.job} --back"
            raise JournalError(f"job {job} came back as job {one.job}, and went again as that", hint=hint)


def _of_one_record(journal: Journal, firsts: Iterable[Entry], known: set[bytes]) -> Iterator[Entry]:
    """Yield those of the jobs with these first entries that are of the record with these hashes and not abandoned."""
    for one in firsts:
        states = (each.body.get("state") for each in journal.entries(one.job, kind="state"))
        if "abandoned" not in states and known & _known(_parts(journal, str(one.job))):
            yield one


def _parts(journal: Journal, job: str) -> list[list[bytes]]:
    """Return the texts of a job in each bay that it came through, as far as their files are there, and here."""
    try:
        files = moving.earlier_evidence(journal, job)
    except JournalError:
        files = []
    return [*map(_texts, files), journal.job_texts(job)]


def _texts(file: bytes, name: str = "evidence file") -> list[bytes]:
    return [bytes(text) for text in read(file, name=name).entries]


def _known(parts: list[list[bytes]]) -> set[bytes]:
    """Return the hashes of all that is in these parts, and of the last entry that each goes on from."""
    heads = (entries.parse(part[0], place="moved").body.get("head") for part in parts)
    return {bytes.fromhex(str(one)) for one in heads if one}.union(*(_hashes(part) for part in parts))


def _hashes(texts: Iterable[bytes]) -> set[bytes]:
    return {merkle.leaf_hash(text) for text in texts}
