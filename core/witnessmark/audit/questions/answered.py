"""18: what did the control unit answer? Start and stop of the run each pass is judged by; silence is not success."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Actuation, Exchange
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Pass
from witnessmark.wire.uds.codes import nrc_name


def answer(case: Case) -> Verdict:
    if not case.actuating:
        return does_not_apply("no pass of this job runs a wire command")
    details = [_pass(case, one) for one in case.actuating]
    return from_details(details, "the control unit answered each start and each stop positively")


def _pass(case: Case, one: Pass) -> Detail:
    run = case.timeline.run_that_counts(one.id)
    if run is None:
        return Detail(one.id, "no proof", f"no entry of a run of {one.wire_command}")
    start, stop = run.exchange("start"), run.exchange("stop")
    cites = (*run.cites, *(exchange.seq for exchange in (start, stop) if exchange is not None))
    if run.grade == "told":
        return Detail(one.id, "no proof", "a person told of this run; nobody recorded an answer", cites)
    if start is None:
        return Detail(one.id, "no proof", "no answer to the start is recorded", cites)
    said = f"start {_said(start)}"
    if start.body.result == "negative":
        return Detail(one.id, "not met", said, cites)
    if start.body.result != "positive":
        return Detail(one.id, "no proof", f"{said}: silence is not success", cites)
    return _ended(one.id, run, said, stop, cites)


def _ended(pass_id: str, run: Actuation, said: str, stop: Exchange | None, cites: tuple[int, ...]) -> Detail:
    if stop is None:
        how = run.outcome.result if run.outcome else "nothing"
        if how == "failed":
            return Detail(pass_id, "not met", f"{said}; it ended by itself before its time", cites)
        return Detail(pass_id, "no proof", f"{said}; no answer to a stop is recorded", cites)
    said = f"{said}, stop {_said(stop)}"
    if stop.body.result == "positive":
        return Detail(pass_id, "met", said, cites)
    if stop.body.result == "negative":
        return Detail(pass_id, "not met", said, cites)
    return Detail(pass_id, "no proof", f"{said}: silence is not success", cites)


def _said(exchange: Exchange) -> str:
    body = exchange.body
    if body.result == "negative":
        text = f"refused: {body.code} {nrc_name(int(body.code, 16))}" if body.code else "refused"
    else:
        text = {"positive": "answered", "silence": "not answered", "lost": "lost", "suppressed": "not asked for"}[
            body.result
        ]
    if exchange.pending:
        text += f" after {exchange.pending} x 0x78"
    return text if body.shows_pending else f"{text} (0x78 was not visible on this link)"


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(18, "answered", "What did the control unit answer?", answer)]
