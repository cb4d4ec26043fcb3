"""A job's evidence, verified and audited with every installed question.

Evidence files flow in (one, or those of each bay that the job went through), the audit and how the record was found
flow out. A damaged file is audited as far as its entries can be read: its integrity is then one of the findings. Of
several files the worst verdict is the whole's. What comes straight from a journal rests on the check of that whole
journal too: its other entries, head file and signed notes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from witnessmark.audit.policy import DEFAULT, Policy
from witnessmark.audit.run import Audit, audit
from witnessmark.audit.verify import Verification, verify
from witnessmark.errors import PluginError
from witnessmark.journal import joining
from witnessmark.journal.checkpoint import Anchor

if TYPE_CHECKING:
    from witnessmark.host.extending.questions import Questions
    from witnessmark.journal.check import Check


@dataclass(frozen=True)
class Audited:
    """The audit, the integrity it rests on, and the question plugins that were left out because they are broken."""

    audit: Audit
    integrity: Verification
    broken: tuple[PluginError, ...]


def audit_evidence(data: bytes, anchor: Anchor | None = None, *, name: str = "evidence file") -> Audited:
    """Verify and audit one evidence file. Raises InputError when it is none, or holds no readable job."""
    return audit_parts((data,), anchor, name=name)


def audit_parts(
    parts: Sequence[bytes],
    anchor: Anchor | None = None,
    *,
    name: str = "evidence file",
    journal: Check | None = None,
    policy: Policy = DEFAULT,
    loaded: Questions | None = None,
    found: Sequence[Verification] = (),
) -> Audited:
    """Verify and audit the evidence files of a job, the first bay's first; `anchor` is held against the last.

    `journal` is how the journal was found that the last part was just read from, where it was. `policy` is the shop's.
    `loaded` are the questions, for who audits many jobs; loaded here where they are not given. `found` is how each part
    was verified without an anchor, where it was.

    Raises InputError when one is no evidence file, or together they are not one job from its beginning.
    """
    found = [*(found or verified(parts, anchor, name=name, from_journal=journal is not None))]
    if journal is not None:
        found[-1] = in_journal(found[-1], journal)
    integrity = found[-1] if len(found) == 1 else _whole(found)
    if loaded is None:
        from witnessmark.host.extending import questions  # the plugins' metadata: a verify does without

        loaded = questions.load()
    entries = joining.after_first([one.entries for one in found])
    return Audited(audit(entries, loaded.asked, integrity=integrity, policy=policy), integrity, loaded.broken)


def verified(
    parts: Sequence[bytes], anchor: Anchor | None = None, *, name: str, from_journal: bool
) -> list[Verification]:
    """Verify each evidence file of a job; `anchor` is held against the last, which was just read `from_journal`."""
    *before, last = parts
    found = [verify(data, name=name) for data in before]
    return [*found, verify(last, anchor, name=name, from_journal=from_journal)]


def in_journal(part: Verification, journal: Check) -> Verification:
    """Return how a job's entries stand by their own chain and by the check of the journal that holds them."""
    if journal.damage:
        worst = journal.damage[0]
        if ORDER.index(worst.verdict) < ORDER.index(part.verdict):
            return part
        text = f"the check of the whole journal finds: {worst.text}"
        return replace(part, verdict=worst.verdict, text=text, seq=worst.seq, place="the journal")
    if part.verdict != "consistent, unanchored":
        return part
    return replace(part, text=f"the whole journal agrees with itself; {_signed(journal)}; {ONLY_AN_ANCHOR}")


def _signed(journal: Check) -> str:
    if journal.signed is None:
        return "no checkpoint in it is signed"
    last = journal.signed
    return (
        f"the last checkpoint in it (entry {last.seq}) signs the first {last.size} entries, "
        f"{journal.size - last.size} stand after them, by key {last.key.id.hex()}"
    )


def _whole(found: Sequence[Verification]) -> Verification:
    """Return the last verification with what is worst among all, and among what each bay cites of the one before."""
    broken = [cited(before, one) for before, one in pairwise(found)]
    worst = max([*found, *filter(None, broken)], key=lambda one: ORDER.index(one.verdict))
    if worst is found[-1]:
        return worst
    text = f"of another bay's part: {worst.text}"
    return replace(found[-1], verdict=worst.verdict, text=text, seq=worst.seq, place=worst.place)


def cited(before: Verification, one: Verification) -> Verification | None:
    """Return what is wrong when `one` does not go on from exactly the entries of `before`."""
    first = one.entries[0].body if one.entries else {}
    if (first.get("count"), first.get("head")) == (len(before.entries), before.head):
        return None
    said = f"the next bay went on from {first.get('count')} entries with head {first.get('head')}, not from these"
    return replace(before, verdict="altered", text=said)


ONLY_AN_ANCHOR = (
    "that somebody made all of it anew would show only against something held elsewhere: "
    "a printed sheet, or a checkpoint"
)

ORDER = ("intact", "consistent, unanchored", "incomplete", "end damaged", "entries missing", "wrong key", "altered")
"""From the verdict that says most for the record to the one that decides."""
