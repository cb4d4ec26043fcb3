"""19: was each refusal followed up? A refused start needs a later run of the same pass that began.

What another tester was refused besides the passes needs a later run of the same wire command, where a pass asks for it.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds import unheard
from witnessmark.audit.grounds.missing import half_recorded, unrun, unsure
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.journal import bodies
from witnessmark.wire.uds.codes import nrc_name


def answer(case: Case) -> Verdict:
    if not case.actuating and not case.timeline.actuations and not refusals(case):
        return does_not_apply("no pass of this job runs a wire command")
    if not case.timeline.actuations and not refusals(case):
        return no_proof("no entry of a run")
    told = [run for run in case.timeline.actuations if run.grade == "told"]
    if told and len(told) == len(case.timeline.actuations):
        return no_proof("runs were told by a person; nobody recorded whether any was refused")
    details = [*unrun(case), *unsure(case), *half_recorded(case), *unheard.around_the_work(case)]
    details += [_followed(case, *refusal) for refusal in refusals(case)]
    details += [Detail(run.subject, "no proof", "told; nobody recorded a refusal before it", run.cites) for run in told]
    if not details:
        cites = tuple(run.seq for run in case.timeline.actuations)
        return Verdict("met", "nothing was refused", (), cites)
    return from_details(details, "every refusal was followed by a run of the same pass, where one asks for it")


def refusals(case: Case) -> list[tuple[int, str, str, Actuation | None]]:
    """Return each refusal: its entry, its pass, what was said, and its run where there was to be one."""
    found: list[tuple[int, str, str, Actuation | None]] = []
    for run in case.timeline.actuations:
        if run.outcome is not None and run.outcome.result == "refused":
            code = run.outcome.code
            said = f"{code} {nrc_name(int(code, 16))}" if code else "with what code is not in the record"
            by = f"not sent: {run.unsent}" if run.unsent else f"the control unit refused: {said}"
            found.append((run.seq, run.pass_id, by, run))
    found += [(seq, body.pass_id, f"not sent: {body.why}", None) for seq, body in case.all_of(bodies.Refused)]
    return sorted(found, key=lambda one: one[0])


def _followed(case: Case, seq: int, pass_id: str, said: str, refused: Actuation | None) -> Detail:
    if refused is not None and refused.besides:
        return _followed_besides(case, refused, said)
    subject = pass_id or (refused.subject if refused is not None else "first use")
    of_it = case.timeline.actuations_of(pass_id) if pass_id else _first_uses(case, refused)
    later = [run for run in of_it if run.began == "yes" and run.seq > seq]
    if later:
        return Detail(subject, "met", f"{said}; it ran afterwards", (seq, later[-1].seq))
    return Detail(subject, "not met", f"{said}; it never ran afterwards", (seq,))


def _first_uses(case: Case, refused: Actuation | None) -> list[Actuation]:
    """Return the first uses, which are of no pass: those of the wire command that was refused, where it is known."""
    same = "" if refused is None else refused.wire_command
    return [run for run in case.timeline.actuations if run.first_use and same in ("", run.wire_command)]


def _followed_besides(case: Case, refused: Actuation, said: str) -> Detail:
    """Judge what another tester was refused besides the passes."""
    name = refused.wire_command
    runs = [run for run in case.timeline.actuations if run.wire_command == name]
    later = [run for run in runs if run.began == "yes" and run.seq > refused.seq]
    if later:
        return Detail(refused.subject, "met", f"{said}; it ran afterwards", (*refused.cites, later[-1].seq))
    if all(one.wire_command != name for one in case.actuating):
        return Detail(refused.subject, "met", f"{said}; no pass of this job asks for it", refused.cites)
    return Detail(refused.subject, "not met", f"{said}; it never ran afterwards", refused.cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(19, "refusals", "Was each refusal followed up?", answer)]
