"""18: what did the control unit answer? Start and stop of the run each pass is judged by; silence is not success.

A result stands on the raw answer beside it: one without, or with bytes that say otherwise, is no proof.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.missing import no_run
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
        return no_run(case, one)
    start, stop = run.exchange("start"), run.exchange("stop")
    cites = (*run.cites, *(exchange.seq for exchange in (start, stop) if exchange is not None))
    if run.grade == "told":
        return Detail(one.id, "no proof", "a person told of this run; nobody recorded an answer", cites)
    if start is None:
        return Detail(one.id, "no proof", "no answer to the start is recorded", cites)
    said = f"start {_said(start)}"
    if start.body.result == "negative":
        return Detail(one.id, "not met", said, cites)
    if why := _unproven(start):
        return Detail(one.id, "no proof", f"{said}: {why}", cites)
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
    if why := _unproven(stop):
        return Detail(pass_id, "no proof", f"{said}: {why}", cites)
    if stop.body.result == "positive":
        return Detail(pass_id, "met", said, cites)
    if stop.body.result == "negative":
        return Detail(pass_id, "not met", said, cites)
    return Detail(pass_id, "no proof", f"{said}: silence is not success", cites)


def _unproven(exchange: Exchange) -> str:
    """Return why a result that is recorded as positive rests on no answer of the control unit; empty where it does."""
    if exchange.body.result != "positive":
        return ""
    answer = exchange.positive()
    if answer is None:
        return "so the record says, and no raw answer lies beside it"
    service = int(exchange.body.request[:2] or "0", 16)
    if not answer.payload.upper().startswith(f"{service + 0x40:02X}"):
        return f"so the record says, and the raw answer {answer.payload or 'without a byte'} is not a positive one"
    return ""


def _said(exchange: Exchange) -> str:
    body = exchange.body
    if body.result == "negative":
        text = f"refused: {body.code} {nrc_name(int(body.code, 16))}" if body.code else "refused"
        text += "" if any(one.verdict == "negative" for one in body.answers) else " (no raw answer beside it)"
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
