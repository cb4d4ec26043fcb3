"""Ask every question of one case.

A case and questions flow in, an `Audit` flows out: one finding a question, in the order of their numbers, and the
case it rests on. Rules that hold here: every question is answered; one that breaks answers no proof, naming itself,
and harms no other; one that a plugin brings is lent a copy of the case; a question that the procedure leaves out is
answered `does not apply` with the reason it gives, but for what its steps ask of it all the same; where not every run
was sent by us, a finding says of which grade the runs are that it rests on; what was written after a release is judged
by the tolerances that its entry says, where they are others than those of who audits.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from msgspec import structs

from witnessmark.audit import amended, lent
from witnessmark.audit.case import Case, Integrity, corrected, open_case
from witnessmark.audit.decisive import decisive
from witnessmark.audit.grounds import void
from witnessmark.audit.policy import BY_POLICY, DEFAULT, Policy, policy_said
from witnessmark.audit.question import Question
from witnessmark.audit.say import listing
from witnessmark.audit.verdict import ORDER, Answer, Detail, Finding, Verdict, does_not_apply, no_proof
from witnessmark.errors import WitnessmarkError
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry

ASKED_BY_STEPS = (26, 36)
"""Questions that stand for several steps: where they are left out, the steps that are there are judged all the same."""
SAID_AGAINST = (1, 15)
"""Left out where no step answers them: another number of the vehicle, and a reservoir that ran empty, stay not met."""

LEAVES_OUT = "the procedure leaves it out: "
"""What is said of a question that the procedure leaves out, and why it does."""
CHANGES = "it changes what it is given to read"


@dataclass(frozen=True)
class Audit:
    """The findings of one job, by number.

    Of a released job, where something was written since, there are besides, by number and of `BY_POLICY` alone:
    `by_release`, what is found by the tolerances of its release where they are others, and `at_release`, what was found
    up to it where its entry does not say them.
    """

    case: Case
    findings: tuple[Finding, ...]
    by_release: Mapping[int, Finding] = field(default_factory=dict)
    at_release: Mapping[int, Finding] = field(default_factory=dict)

    def counts(self) -> dict[Answer, int]:
        """Return how many findings gave each answer."""
        every: tuple[Answer, ...] = ("met", "not met", "no proof", "does not apply")
        return {answer: sum(one.answer == answer for one in self.findings) for answer in every}


def audit(
    entries: Sequence[Entry],
    questions: Sequence[Question],
    *,
    integrity: Integrity | None = None,
    policy: Policy = DEFAULT,
) -> Audit:
    """Audit the entries of one job. Raises InputError when they are not the entries of one job.

    Where entries were corrected, each question is asked of what was first written and of what it was corrected to.
    """
    found = _audit(entries, questions, integrity, policy)
    case, some = found.case, [one for one in questions if one.number in BY_POLICY]
    states = case.all_of(bodies.State)
    if not some or not states or states[-1][1].state != "released" or case.entries[-1].seq == states[-1][0]:
        return found
    seq, release = states[-1]
    then = policy_said(release.policy)
    if then is None:
        before = [one for one in case.entries if one.seq <= seq]
        return replace(found, at_release=_by_number(_audit(before, some, integrity, policy)))
    if then.set_to == policy.set_to:
        return found
    return replace(found, by_release=_by_number(_audit(case.entries, some, integrity, then)))


def _by_number(made: Audit) -> dict[int, Finding]:
    return {one.number: one for one in made.findings}


def _audit(
    entries: Sequence[Entry], questions: Sequence[Question], integrity: Integrity | None, policy: Policy
) -> Audit:
    case = open_case(entries, integrity, policy)
    made = amended.corrections(case.entries) if case.of_kind("amendment") else {}
    first = _read_as(case, amended.as_first_written(case.entries)) if made else case
    findings = tuple(find(question, first) for question in questions)
    if not made:
        return Audit(case, findings)
    try:
        other = corrected(case, amended.as_corrected(case.entries))
    except WitnessmarkError as error:
        return Audit(case, tuple(amended.unreadable(one, made, str(error)) for one in findings))
    tried: dict[frozenset[int], Case] = {}

    def both(question: Question, was: Finding) -> Finding:
        now = find(question, other)

        def answers(only: frozenset[int]) -> Answer:
            if only not in tried:
                tried[only] = _read_as(case, amended.as_corrected(case.entries, only))
            return find(question, tried[only]).answer

        return amended.on_both(was, now, made, lambda near: decisive(near, made, was, now, answers, tried.keys()))

    return Audit(case, tuple(both(*pair) for pair in zip(questions, findings, strict=True)))


def _read_as(case: Case, entries: tuple[Entry, ...]) -> Case:
    """Return the case by another reading of its entries, itself where that is the same."""
    same = all(one is was for one, was in zip(entries, case.entries, strict=True))
    return case if same else corrected(case, entries)


def find(question: Question, case: Case) -> Finding:
    """Return the finding of one question."""
    verdict = _verdict(question, case)
    cites = _cites(verdict)
    grades = witnesses(case, cites)
    text, details = verdict.text, verdict.details
    if case.witnessed_otherwise and grades:
        text = f"{text} (rests on runs {listing(grades)})"
        details = tuple(_with_grade(case, detail) for detail in details)
    return Finding(
        question.number,
        question.id,
        question.title,
        verdict.answer,
        text,
        tuple(sorted(cites)),
        details,
        grades,
    )


def witnesses(case: Case, cites: Iterable[int]) -> tuple[str, ...]:
    """Return the grades of the runs whose entries are cited, the surest first."""
    found = {case.grades[seq] for seq in case.grades.keys() & cites}
    return tuple(grade for grade in bodies.GRADES if grade in found)


def _with_grade(case: Case, detail: Detail) -> Detail:
    grades = witnesses(case, detail.cites)
    return structs.replace(detail, text=f"{detail.text} ({listing(grades)})") if grades else detail


def _verdict(question: Question, case: Case) -> Verdict:
    left = {one.question: one.why for one in case.procedure.leaves_out}
    why = left.get(str(question.number))
    if why is not None and question.number not in (*ASKED_BY_STEPS, *SAID_AGAINST):
        return does_not_apply(f"{LEAVES_OUT}{why}")
    given = lent.lend(case) if question.plugin else case
    try:
        verdict = question.answer(given)
        wrong = CHANGES if given is not case and lent.is_changed(given, case) else _misshapen(verdict, case.seqs)
        verdict = verdict if wrong else void.judged(case, question.number, verdict)
    except (Exception, SystemExit) as error:  # noqa: BLE001 - one broken question must not hide the others
        wrong = f"{type(error).__name__}: {error}"
    if wrong:
        whose = f", of {question.plugin}," if question.plugin else ""
        return no_proof(f"this question{whose} broke and answered nothing: {wrong}")
    if why is None:
        return verdict
    if verdict.answer == "does not apply" or (question.number in SAID_AGAINST and verdict.answer != "not met"):
        return does_not_apply(f"{LEAVES_OUT}{why}")
    return replace(verdict, text=f"{verdict.text}; what no step asks the procedure leaves out: {why}")


def _misshapen(verdict: object, known: frozenset[int]) -> str:
    """Return why what a question gave back is no verdict, empty when it is one: absence of entries is never met."""
    if not isinstance(verdict, Verdict):
        return f"it gave {type(verdict).__name__} and no verdict"
    details = verdict.details
    if not isinstance(details, tuple | list) or not _all_are(Detail, details):
        return "its details, the third argument of a Verdict, are not a tuple of Detail; entries go into cites=(seq,)"
    if not _all_are((tuple, list), [verdict.cites, *[one.cites for one in details]]):
        return "its cites are not a tuple of the numbers of entries: write cites=(seq,)"
    strange = {verdict.answer, *[one.answer for one in details]} - set(ORDER)
    if strange:
        return f"{listing(sorted(map(repr, strange)))} is no answer"
    cites = _cites(verdict)
    if not cites <= known:
        return f"it rests on entry {min(cites - known)}, which is not in the record"
    return "it answers met and rests on no entry" if verdict.answer == "met" and not cites else ""


def _all_are(kind: type | tuple[type, ...], things: Iterable[object]) -> bool:
    return all(issubclass(one, kind) for one in set(map(type, things)))


def _cites(verdict: Verdict) -> set[int]:
    """Return the entries that a verdict and its parts rest on."""
    return set(verdict.cites).union(*[detail.cites for detail in verdict.details])
