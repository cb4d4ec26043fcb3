"""What an entry said as first entered and after each of its corrections, in order: each of its fields on its own.

A case flows in, a line for each field that was corrected flows out. Rules that hold here: what was first entered is
told in the entry's own words, so that a no stays a no with its reason; a value in between is told although a later
correction took it back: who relied on the record meanwhile relied on that. What the job was opened with, its states and
its inspections are not told here: papers have their corrections at the top.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from witnessmark.audit import amended
from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.audit.timeline import NOT_RIGHT
from witnessmark.journal import bodies
from witnessmark.journal.entry import AT, OCCURRED, WITHDRAWN, Entry
from witnessmark.report.kept import Say, value_text
from witnessmark.report.lines import step_name
from witnessmark.report.read_now import taken_back
from witnessmark.report.times import Times

OF_THE_JOB = ("job-opened", "state", "inspection")
"""Kinds of entry whose words papers give as first written: what corrects one is told beside."""
LOOK = "look"
"""What is told in the place of `act` and `looked` where both were corrected."""
MAIN = ("amount", "answer", LOOK)
"""Fields that are what an entry is there for: their names go without saying."""
IN_WORDS = ("act", "answer", "looked", LOOK)
"""Fields of a step that only together say how it went: each was first what the entry says in words."""
KINDS = {"scan": "trouble codes", "note": "remark", "intent": "start of the run", "outcome": "end of the run"}
NAMES = {AT: "when it was", "on_cue": "on cue", "pass_id": "pass"}


def values(case: Case, times: Times, say: Say) -> list[str]:
    """Return each field that was corrected, with all that it ever was and by which entries."""
    entries = {one.seq: one for one in case.entries}
    return [
        line
        for seq, by in sorted(amended.corrections(case.entries).items())
        if seq not in taken_back(case) and entries[seq].kind not in OF_THE_JOB
        for line in _lines(case, times, entries[seq], [entries[one] for one in by], say)
    ]


def _lines(case: Case, times: Times, one: Entry, by: Sequence[Entry], say: Say) -> list[str]:
    said = [(entry.seq, amended.says(say(entry.body))) for entry in by]
    said = [(seq, {**instead, **_look(instead)}) for seq, instead in said]
    hidden = (OCCURRED, WITHDRAWN, *(("act", "looked") if any(LOOK in instead for _, instead in said) else ()))
    fields = dict.fromkeys(name for _, instead in said for name in instead if name not in hidden)
    return [
        f"{_what(case, one, name)}: {_first(case, times, one, name, say(one.body))}"
        + "".join(f", then {_text(case, name, instead[name])}" for _, instead in said if name in instead)
        + f" (entry {one.seq}, corrected in {spell(seq for seq, instead in said if name in instead)})"
        for name in fields
    ]


def _look(instead: Mapping[str, Any]) -> dict[str, str]:
    """Return in one word how a look was corrected that was yes or no."""
    if not {"act", "looked"} <= {*instead}:
        return {}
    return {LOOK: NOT_RIGHT if instead["looked"] else str(instead["act"])}


def _what(case: Case, one: Entry, field: str) -> str:
    """Return what an entry is about, where it was, and which of its fields is meant where that is not plain."""
    body = case.bodies.get(one.seq)
    if isinstance(body, bodies.Reading):
        what = body.what.replace("-", " ")
    elif isinstance(body, bodies.StepDone) and body.act in ("opened", "closed"):
        what = f"nipple {body.act}"
    elif isinstance(body, bodies.StepDone):
        what = case.step_text(body.step) or step_name(body.step, case.opened.earlier)
    else:
        what = str(one.body.get("name") or KINDS.get(one.kind, one.kind))
    pass_id, nipple = (str(one.body.get(name) or "") for name in ("pass_id", "nipple"))
    pass_id, nipple = "" if field == "pass_id" else pass_id, "" if field == "nipple" else nipple
    where = case.visit(pass_id, nipple) if nipple else pass_id
    named = "" if field in MAIN else f", {NAMES.get(field, field.replace('_', ' '))}"
    return f"{what.rstrip('?.')}{f' ({where})' if where else ''}{named}"


def _first(case: Case, times: Times, one: Entry, field: str, body: Mapping[str, Any]) -> str:
    """Return what a field was as first entered; how a step went in the words of its entry."""
    if field == AT:
        return times.text(case.clock.occurred(one))
    if one.kind != "step" or field not in IN_WORDS or (field == "answer" and body.get("answer")):
        return _text(case, field, body.get(field, getattr(case.bodies.get(one.seq), field, "")))
    how = str(body.get("act", ""))
    if how == "skipped":
        how = NOT_RIGHT if body.get("looked") else "left out"
    why = str(body.get("said") or body.get("mended") or "")
    return f"{how}: {why}" if why else how


def _text(case: Case, field: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field == "nipple" and isinstance(value, str) and value:
        return case.nipple(value).name
    return "nothing" if value is None else value_text(value) or "nothing"
