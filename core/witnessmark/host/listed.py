"""What is told under a job in the list: how its record is, what it left open on the vehicle, what is not as asked.

A shop, its open journal and the entries of a job flow in, lines flow out. Rules that hold here: the whole journal is
checked once for all of its jobs; a job is audited only where that may have something to tell: it is not released, was
written in since its release, the shop's tolerances are others than then, or somebody looked and it was not right; what
another job on the vehicle settled since is told under that one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from witnessmark.audit.run import Audit
from witnessmark.audit.verdict import Finding
from witnessmark.audit.verify import verify
from witnessmark.host import dossier
from witnessmark.host.auditing import ORDER
from witnessmark.host.extending.questions import Questions
from witnessmark.host.other_jobs import Openings, is_settled, still_open
from witnessmark.host.shop import Shop
from witnessmark.job.walk.state import JobState
from witnessmark.journal.check import Check
from witnessmark.journal.entry import Entry
from witnessmark.journal.kinds import WORK
from witnessmark.journal.store import Journal
from witnessmark.report.earlier import RIGHT_NOW, before, left_before
from witnessmark.report.read_now import counted
from witnessmark.report.released import BY_RELEASE, INTEGRITY, other_policy, since, tightened
from witnessmark.report.seen import OPEN, seen

MOST = 8
"""How many questions are named of a job that is not released, as its key tag has them."""


@dataclass(frozen=True)
class Listed:
    """A job of the list. `checked` is how the whole journal was found.

    `folded` gives where another job stands, None where that cannot be read, `last` the last entry of each: one that was
    not written in since the last work on this job settles nothing of it. `questions` gives what is asked, `opened` what
    the jobs were opened with: each is read once.
    """

    shop: Shop
    journal: Journal
    entries: Sequence[Entry]
    state: JobState
    checked: Check
    folded: Callable[[str], JobState | None]
    last: Mapping[str, int]
    questions: Callable[[], Questions]
    opened: Openings

    @property
    def lines(self) -> list[str]:
        """Return all that is told under the job, the worst first."""
        stands = still_open(self.journal, self.state, self.entries[0], self._later, self.opened)
        released = [f"released, {len(self.accepted)} accepted as open: {'; '.join(self._accepted_seen)}"]
        by = dict.fromkeys(self.audit.by_release, BY_RELEASE) if self.again else {}
        again = [self.brief(one, by.get(one.number, "")) for one in self.again]
        later = [f"open since its release: {'; '.join(again)}"] if again else []
        now = [self.brief(one) for one in self.tightened]
        later += (
            [f"open by the tolerances of who reads this, not by those of its release: {'; '.join(now)}"] if now else []
        )
        alarms = (*self._altered, *self._files_lost, *stands, *later, *self._open)
        return [*(f"! {one}" for one in alarms), *(released if self.accepted else ())]

    @cached_property
    def again(self) -> list[Finding]:
        """Return what is open of a released job since its release."""
        states = self._states
        if not states or states[-1].body.get("state") != "released":
            return []
        later = (one for one in self.entries if one.seq > states[-1].seq)
        if not any(one.kind == "amendment" or one.kind in WORK for one in later):
            return []
        return since(self.audit)

    @cached_property
    def tightened(self) -> list[Finding]:
        """Return what is open in a released job by other tolerances than those of its release."""
        then = str(self._states[-1].body.get("policy") or "") if self._released else None
        return [] if then is None or not other_policy(then, self._kept.policy) else tightened(self.audit)

    @cached_property
    def accepted(self) -> list[str]:
        """Return the questions that the release of the job accepted as open, each by its short name with its answer."""
        held = self._states[-1].body.get("accepted") if self._released else ()
        return [self._short(str(one).partition(": ")[0]) for one in held or ()]

    def _short(self, accepted: str) -> str:
        """Return what was accepted, `9 Was every nipple closed? not met`, as `brief` does."""
        number = accepted.partition(" ")[0]
        name = next((one.id for one in self.questions().asked if str(one.number) == number), "")
        answer = next((one for one in OPEN if accepted.endswith(f" {one}")), "")
        return f"{number} {name} {answer}" if name and answer else accepted

    def brief(self, one: Finding, said: str = "") -> str:
        """Return a finding by number and short name, `9 closed not met`, with what was `said` of it."""
        return f"{one.number} {one.id} {one.answer}{f': {said}' if said else ''}"

    @cached_property
    def findings(self) -> list[Finding]:
        """Return what the audit finds, with the words of people as far as they are kept here."""
        return [self._kept.said(one) for one in self.audit.findings]

    @cached_property
    def audit(self) -> Audit:
        return self._kept.audited(self.checked, self.questions()).audit

    @cached_property
    def _kept(self) -> dossier.Dossier:
        policy = dossier.policy_of(self.shop)
        return dossier.of_journal(self.journal, self.state.job, self.shop.clock, policy=policy)

    @property
    def _states(self) -> list[Entry]:
        return [one for one in self.entries if one.kind == "state"]

    @property
    def _released(self) -> bool:
        return self.state.status == "released"

    @property
    def _altered(self) -> list[str]:
        """Say how the job's own record is where it is not as it was written; a sound journal has only sound ones."""
        if not self.checked.damage and not any(one.kind == "moved" for one in self.entries):
            return []
        before = self._kept.parts[:-1]
        found = [verify(part, name=self._kept.name, from_journal=True) for part in before]
        found += self._kept.verified[-1:]
        return [f"RECORD {one.verdict.upper()}: {one.text}" for one in found if one.verdict not in ORDER[:2]]

    @property
    def _files_lost(self) -> list[str]:
        """Name the attached files that are not as they entered."""
        return dossier.missing(self._kept) if any(one.kind == "attachment" for one in self.entries) else []

    @property
    def _accepted_seen(self) -> list[str]:
        """Return what was accepted, each question with what was seen not to be right."""
        if not any(one.body.get("looked") for one in self.entries if one.kind == "step"):
            return self.accepted
        of = {f"{one.number} ": seen(self.audit, one, self._kept.beside.say) for one in self.audit.findings}
        words = ((one, of.get(f"{one.partition(' ')[0]} ", "")) for one in self.accepted)
        return [f"{one}: {said}" if said else one for one, said in words]

    @property
    def _open(self) -> list[str]:
        """Return what the job it comes back to left open, and what is not as asked, of a job that is not released."""
        if self._released:
            return []
        say = self._kept.beside.say
        left = [one for one in map(say, left_before(counted(self.audit.case))) if not one.endswith(RIGHT_NOW)]
        lines = [f"left open by {before(self.audit.case)}, to which it comes back: {'; '.join(left)}"] if left else []
        words = [(one, seen(self.audit, one, say)) for one in self.audit.findings if one.number != INTEGRITY]
        named = [(one, said) for one, said in words if one.answer == "not met" or said]
        named.sort(key=lambda pair: not pair[1])
        told = [self.brief(one, said) for one, said in named[:MOST]]
        told += [f"and {len(named) - MOST} more"] if len(named) > MOST else []
        lines += [f"not as asked: {'; '.join(told)}"] if told else []
        return (
            [] if lines and is_settled(self.journal, self.state, self.entries[0], self._later, self.opened) else lines
        )

    def _later(self, job: str) -> JobState | None:
        return self.folded(job) if self.last.get(job, 0) > self.state.worked_seq else None
