"""37: released, by whom? A release by a person, after the job was finished and after everything that was done.

How runs are witnessed from then on is nothing that was done.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Verdict, no_proof
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.journal.kinds import WORK
from witnessmark.procedure.own import WITNESSED

PROVEN = {"pin": ", with the PIN", "name only": ", by name only: nothing shows that it was this person"}
"""How who released it proved to be that person."""


def answer(case: Case) -> Verdict:
    states = [(seq, body.state) for seq, body in case.all_of(bodies.State)]
    releases = [seq for seq, state in states if state == "released"]
    if not releases:
        text = f"no entry releases the job, up to the last (entry {case.entries[-1].seq})"
        return no_proof(text, *(seq for seq, _ in states[-1:]))
    if states[-1][1] != "released":
        return Verdict("not met", f"released, and then {states[-1][1]} again", cites=(releases[-1], states[-1][0]))
    release = next(entry for entry in case.entries if entry.seq == releases[-1])
    kind, _, who = release.done_by.partition(":")
    if kind != "person":
        return Verdict("not met", f"released by {who}, which is no person", cites=(release.seq,))
    after = (one for one in case.entries if one.seq > release.seq)
    later = [one.seq for one in after if one.kind in WORK and not _says_how(case, one)]
    if later:
        return Verdict("not met", f"released by {who}, and worked on afterwards", cites=(release.seq, *later))
    earlier = [(seq, state) for seq, state in states if seq < release.seq and state != "released"]
    if not earlier:
        return no_proof(f"released by {who}; no entry says that the job was finished", release.seq)
    if earlier[-1][1] != "finished":
        said = f"released by {who} while it was {earlier[-1][1]}, not finished"
        return Verdict("not met", said, cites=(earlier[-1][0], release.seq))
    proven = next(body.proven for seq, body in case.all_of(bodies.State) if seq == release.seq)
    return Verdict("met", f"released by {who}{PROVEN.get(proven, '')}", cites=(earlier[-1][0], release.seq))


def _says_how(case: Case, entry: Entry) -> bool:
    """Whether an entry only says how runs are witnessed from there on, and is no step that the procedure itself has."""
    return entry.body.get("step") == WITNESSED and WITNESSED in case.timeline.ours


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(37, "released", "Released, and by whom?", answer)]
