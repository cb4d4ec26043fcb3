"""Each entry in one line for people, so that a number cited anywhere can be looked up.

An entry's kind and typed body flow in, a line flows out. A kind without a typed body is named and not explained.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any

from witnessmark.audit import say
from witnessmark.audit.case import NO_REASON, SILENT, UNEXPLAINED, UNWRITTEN
from witnessmark.audit.limits import band
from witnessmark.audit.timeline import NOT_RIGHT
from witnessmark.journal import bodies, permission
from witnessmark.journal.kinds import KINDS
from witnessmark.report.earlier import item, said_of

OWN_STEPS = {
    "air-accepted": "gone on although the reservoir ran empty",
    "air-drawn": "the reservoir ran empty, or air was drawn",
    "cue-given": "cue given to open",
    "hands-taken": "has the work in hand from here on",
    "left-by-others": "what other jobs left open on the vehicle, closed and let off",
    "mended": "what was mended since it was not right",
    "mended-at": "where it was mended",
    "make-safe-again": "to be made safe again, before it is mended",
    "level-look": "the reservoir looked at, well above where it draws air",
    "left-open": "left open while the job is paused",
    "let-off-for-a-pause": "the feed's pressure let off for a pause",
    "let-off-at-the-end": "the feed's pressure let off behind the last step",
    "let-off-to-fill": "the feed's pressure let off to fill the reservoir",
    "nipple-missed": "opening while it ran",
    "not-explained": "why a reading stays outside its limits",
    "not-written": "not written on the card",
    "open-later": "opening before the run",
    "not-clear-as-expected": "not clear or with bubbles, as this pass expects",
    "not-clear": "clear and without bubbles",
    "passes-again": "the passes that were begun to be done again",
    "pass-first": "this pass taken before its turn",
    "pressure-stays-on": "the feed stays under pressure while the job is paused",
    "put-right": "what was put right after a reading outside its limits",
    "ready-at-wheel": "ready at the wheel",
    "stays-open": "stays open while the pressure is read again",
    "ended-early": "why the run ended before its time",
    "run-accepted": "the run accepted as it was",
    "run-again": "to be done, or done again",
    "safety-look": "looked before anything was opened or run, and said yes to",
    "scan-again": "the trouble codes to be read again",
    "said-note": "a note",
    "said-empty": "the reservoir ran empty",
    "said-refill": "the reservoir filled again",
    "witnessed-as": "how runs are witnessed from here on",
    "was-made-safe": "whether it was made safe before that was mended",
}
"""What the steps are called that no procedure has and the job itself writes."""


def step_name(step: str, earlier: Sequence[str] = ()) -> str:
    """Return what a step is called by its id, for one that the procedure says nothing of.

    `earlier` is what the job's opening says that the job before left open.
    """
    return item(step, earlier) or OWN_STEPS.get(step) or step.replace("-", " ")


HOW_IT_RAN = "how the fluid ran"
"""What was looked at where a step that does something else asks besides whether it ran clear, and it was not right."""


def line(
    kind: str, body: bodies.Body | None, done_by: str = "", earlier: Sequence[str] = (), ran: Collection[str] = ()
) -> str:
    """Return what an entry done by `done_by` says; `earlier` as in `step_name`.

    `ran` are the ids of the steps at which the fluid is what is looked at (see `audit.asked`).
    """
    if isinstance(body, bodies.StepDone):
        return _step(body, earlier, ran)
    if isinstance(body, bodies.Outcome) and done_by.startswith("person:"):
        return _told_outcome(body, done_by.partition(":")[2])
    if isinstance(body, bodies.CodeScan) and done_by.startswith("person:"):
        return f"{_scan(body)}, as {done_by.partition(':')[2]} read them off another tester"
    spell = _SAY.get(type(body))
    if spell is not None:
        return spell(body)
    return KINDS.get(kind, f"{kind}: a kind that this version does not know")


def _said(body: bodies.StepDone) -> str:
    """Return what was chosen, read off or said; what somebody says was put right goes before the step it was at."""
    if body.step == "safety-look":
        return body.said
    if body.mended:
        return f"{body.answer.replace('-', ' ')}, {body.mended}" if body.answer else f"mended: {body.mended}"
    return body.answer or body.said


def _step(body: bodies.StepDone, earlier: Sequence[str], ran: Collection[str]) -> str:
    if body.act in ("opened", "closed"):
        text = f"nipple {body.nipple} {body.act}" + (" on cue" if body.on_cue else "")
    elif body.step in ("do-again", "not-again"):
        return _tail(
            f"{body.answer}: {'taken up again' if body.step == 'do-again' else 'left after all'}", body.pass_id, ""
        )
    elif body.step == "cue-given":
        text = f"cue given to open nipple {body.nipple}"
    elif body.step == UNWRITTEN:
        what = {"open": "opening", "close": "closing", "run": "the run"}.get(body.answer) or step_name(body.answer)
        ticked = f" but for {say.listing(body.also)}" if body.also else ""
        return _tail(f"{what}{' at ' + body.nipple if body.nipple else ''}: {SILENT}{ticked}", body.pass_id, "")
    elif body.step == UNEXPLAINED:
        where = f" at {body.nipple}" if body.nipple else ""
        return _tail(f"{step_name(body.answer)}{where}: stays as it was read; {NO_REASON}", body.pass_id, "")
    elif body.step == "nipple-missed" and body.act == "skipped":
        text = f"nipple {body.nipple} not opened while it ran"
    else:
        act = "" if body.step in OWN_STEPS and body.act != "skipped" else f": {body.act}"
        if body.looked:
            act = f": {NOT_RIGHT}"
        elif item(body.step, earlier):
            act = f": {said_of(body.act, body.said)}"
        what = HOW_IT_RAN if body.looked and body.step in ran else step_name(body.step, earlier)
        text = f"{what}{' at ' + body.nipple if body.nipple else ''}{act}"
    return _tail(text, body.pass_id, _said(body))


def _reading(body: bodies.Reading) -> str:
    amount = f"{body.amount.value} {body.amount.unit}".removesuffix(" 1")
    asked = band(body.low, body.high) if body.low or body.high else ""
    where = f" at {body.nipple}" if body.nipple else ""
    text = f"{body.what.replace('-', ' ')}{where} {amount}" + (f", asked {asked}" if asked else "")
    if body.within is False:
        text += ", outside the limit"
    return _tail(text, body.pass_id, f"read with {body.instrument}" if body.instrument else "")


def _condition(body: bodies.Condition) -> str:
    holds = "holds" if body.holds else "does not hold"
    asked = f", asked {body.wanted}" if body.wanted else ""
    return _tail(f"{body.name}: {body.found}{asked}; {holds}, {body.source}", body.pass_id, "")


def _armed(body: bodies.Armed) -> str:
    by = f", approved by {given}" if (given := body.shown.get("approved")) else ""
    return _tail(
        f"armed {body.wire_command}; {say.counted(len(body.answers), 'question')} answered{by}", body.pass_id, ""
    )


def _intent(body: bodies.Intent) -> str:
    first = ", its FIRST USE here" if body.first_use else ""
    learned = ", learned here, not published by the maker" if body.learned else ""
    besides = "" if body.pass_id or body.first_use else ", of no pass of this job"
    length = f" for {body.seconds} s" if body.seconds else ""
    text = f"about to run {body.wire_command}{length}, {body.grade}{besides}{learned}{first}"
    return _tail(text, body.pass_id, "")


def _exchange(body: bodies.ExchangeBody) -> str:
    code = f" {body.code}" if body.code else ""
    return _tail(f"{body.purpose} request {body.request}: {body.result}{code}", body.pass_id, "")


def _keepalive(body: bodies.KeepAlive) -> str:
    return f"kept alive {say.counted(body.count, 'time')}, largest gap {int(body.largest_gap_ns) / 1e9:.1f} s"


def _outcome(body: bodies.Outcome) -> str:
    return _tail(f"run {body.result}, stop {body.stop}", body.pass_id, body.why or body.next_act)


def _told_outcome(body: bodies.Outcome, who: str) -> str:
    """Nothing confirmed that it ended: a person said so."""
    how = {"completed": "ended", "stopped": "ended before its time", "unknown": "not seen to end"}
    if body.stop == "not sent":
        return _tail(f"run not started, as {who} said", body.pass_id, "")
    text = f"run {how.get(body.result, body.result)}, as {who} said"
    return _tail(text, body.pass_id, body.why or body.next_act)


def _state(body: bodies.State) -> str:
    how = ", by name only" if body.proven == "name only" else ""
    again = f", all is asked again: {body.again}" if body.again else ""
    said = "; accepted: ".join(part for part in (body.why, *body.accepted) if part)
    return _tail(f"job {body.state}{how}{_stood(body)}{again}", "", said)


def _stood(body: bodies.State | bodies.Left) -> str:
    """Return what stood open then."""
    open_now = "".join(f", nipple {one} OPEN" for one in body.open_nipples)
    return f"{open_now}{', the feed under pressure' if body.pressurised else ''}"


def _left(body: bodies.Left) -> str:
    return f"{ending(body)}{_stood(body)}"


def ending(body: bodies.Left) -> str:
    """Return how the program that ran the job ended."""
    if body.how == "unseen":
        return f"no entry says how the program ended: at some time after entry {body.after}, before it was taken up"
    how = {"left": "left at the screen", "screen closed": "the screen was closed, cut off or lost: the program ended"}
    return how.get(body.how, f"the program was told to end ({body.signal})")


def _scan(body: bodies.CodeScan) -> str:
    codes = ", ".join(body.codes) or "none"
    return f"trouble codes {body.when}: {codes}" + (f" ({body.control_unit})" if body.control_unit else "")


def _opened(body: bodies.JobOpened) -> str:
    return f"job opened: {body.title}, scope {body.scope}"


def _why(verb: str) -> Callable[[Any], str]:
    return lambda body: _tail(verb, body.pass_id, body.why)


def _tail(text: str, pass_id: str, said: str) -> str:
    return text + (f" ({pass_id})" if pass_id else "") + (f": {said}" if said else "")


def _remark(body: bodies.Remark) -> str:
    if body.lost is not None:
        return say.loss(body.lost)
    return f"remark: {body.said}" if body.said else KINDS["note"]


_PEOPLE = {
    "added": "{} is added",
    "removed": "{} is removed",
    "role": "{} is now",
    "pin": "{} has a new PIN",
    "anew": "the people file is made anew, {} the first lead in it",
    "noted": "the people of the shop as they were found",
    "accepted": "the people file is accepted as it is",
}


def _people(body: permission.People) -> str:
    text = _PEOPLE[body.act].format(body.person)
    if body.act in ("added", "role") and body.person in body.people:
        text += f"{',' if body.act == 'added' else ''} a {body.people[body.person].role}"
    return _tail(text, "", "; ".join(part for part in (*body.differences, body.why) if part))


_RESULT = {"worked": "worked as expected", "failed": "did NOT work as expected", "unsure": "not sure"}
_SAY: dict[type, Callable[[Any], str]] = {
    bodies.JobOpened: _opened,
    bodies.Reading: _reading,
    bodies.Condition: _condition,
    bodies.Armed: _armed,
    bodies.Disarmed: _why("disarmed"),
    bodies.Refused: _why("refused, nothing sent"),
    bodies.Intent: _intent,
    bodies.ExchangeBody: _exchange,
    bodies.KeepAlive: _keepalive,
    bodies.Outcome: _outcome,
    bodies.Interrupted: lambda body: _tail("an actuation without outcome was found", body.pass_id, body.found),
    bodies.Inspection: lambda body: _tail(
        "inspected, " + ("safe" if body.safe else "NOT safe"), body.pass_id, body.said
    ),
    bodies.FirstUse: lambda body: _tail(f"first use of {body.wire_command}: {_RESULT[body.result]}", "", body.said),
    bodies.Left: _left,
    bodies.LinkEvent: lambda body: _tail(f"link: {body.what}", "", body.detail),
    bodies.State: _state,
    permission.Approval: lambda body: _tail(
        ("approval withdrawn: " if body.withdrawn else "approved: ")
        + (", ".join(body.wire_commands) or "all of its map"),
        "",
        body.why,
    ),
    permission.People: _people,
    bodies.CodeScan: _scan,
    bodies.Remark: _remark,
}
