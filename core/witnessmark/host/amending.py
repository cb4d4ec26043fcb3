"""Correcting an entry: what a person typed becomes the fields of an amendment.

`field=value` texts flow in, an `amendment` entry flows out. Rules that hold here: what the machine saw is never
corrected, only what a person entered; a field that the entry does not have, or a value that does not fit it, is refused
by name, and so is one that means nothing in its job (no number, an amount that cannot be, a unit of another dimension,
a nipple that is not there); a release is given anew and never corrected, and no correction makes one; when it was is
corrected only where that was keyed in, not where a clock was read; of trouble codes that a person read off another
tester only the codes are, and never those that were asked for or heard.
"""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import msgspec

from witnessmark import quantity
from witnessmark.audit.amended import root_of
from witnessmark.clock import NS, SystemClock
from witnessmark.errors import InputError
from witnessmark.host.card.card_line import Day
from witnessmark.job.plausible import bounds
from witnessmark.job.walk.state import UNEXPLAINED, UNWRITTEN
from witnessmark.journal import amendment
from witnessmark.journal.bodies import BODIES, from_body
from witnessmark.journal.entry import AT, OCCURRED, WITHDRAWN, Entry, amendments
from witnessmark.journal.store import Journal
from witnessmark.procedure.steps import STEPS
from witnessmark.procedure.words import DIMENSIONS
from witnessmark.quantity import Quantity
from witnessmark.report.kept import value_text
from witnessmark.wire.dtc import format_code, parse_code

KINDS = ("job-opened", "step", "reading", "condition", "inspection", "state", "attachment", "note")
"""What a person enters. Everything else is what the machine saw, did or signed."""

NEVER_NEGATIVE = ("torque", "volume", "length", "time")
"""Dimensions of which there is no less than nothing."""
ABSOLUTE_ZERO_C = "-273.15"
"""The lowest temperature there is, in degC (SI Brochure, 9th edition, 2.3.1)."""

NAMED_BY = {"nipple": "nipples", "pass_id": "passes"}
"""Fields that name something of the procedure, and where that stands in it."""


def amend(journal: Journal, target: int, by: str, *, reason: str, given: Sequence[str]) -> Entry:
    """Record that entry `target` should read as `given` (`field=value`, a nested field as `amount.value`) says.

    Raises InputError naming the entry or field that is wrong; nothing is recorded then.
    """
    entry = journal.entry(target)
    if entry.kind == "amendment":
        target = root_of(target, list(journal.entries(entry.job)))
        entry = journal.entry(target)
    opened = next(journal.entries(entry.job, kind="job-opened"), None)
    times = [one for one in given if one.partition("=")[0].strip() == AT]
    keyed = entry.occurred.basis == "typed" and entry.done_by.startswith("person:")
    timed_only = keyed and entry.kind in ("intent", "outcome") and len(times) == len(given)
    entered = entry.kind in KINDS or (entry.kind == "scan" and entry.body.get("exchange") is None)
    if not (entered or timed_only) or not entry.done_by.startswith("person:"):
        told = entry.kind in ("intent", "outcome") and entry.occurred.basis in ("touch", "typed")
        what = "says when something was seen, as it was told then" if told else "is not what a person entered"
        raise InputError(
            f"entry {target} ({entry.kind}) {what}, so it is not corrected",
            place=f"entry {target}",
            hint="when it was is, where it was keyed in: --set at=10:42"
            if keyed
            else "the sheet shows it as it stands; what a person has to say to it is an attachment or a later entry",
        )
    if not reason.strip():
        raise InputError("no reason is given", place="--reason", hint="say why the entry is corrected")
    if (entry.kind, entry.body.get("state")) == ("state", "released"):
        hint = f"release it anew where a correction opens something: `witnessmark job release {entry.job}`; what a "
        hint += "person has to say to it is an attachment or a later entry"
        raise InputError(f"entry {target} releases the job, so it is not corrected", place=f"entry {target}", hint=hint)
    before = amendment.as_amended(entry, amendments(journal.entries(entry.job)).get(target, []))
    moved = {name: before.pop(name) for name in (AT, OCCURRED) if name in before}
    after = before
    for one in given:
        if one not in times:
            _check_said(opened, entry, after, one)
            after = _look(opened, entry, after, one) or _with(entry, after, one)
    after = _sensible(opened, before, after)
    if entry.kind == "state" and after.get("state") == "released":
        hint = f"`witnessmark job release {entry.job}`"
        raise InputError("no correction releases a job", place="--set state", hint=hint)
    left_out = False if entry.kind == "step" else None  # a yes or no of a step that its entry does not hold is no
    was = {name: before.get(name, left_out if value is False else None) for name, value in after.items()}
    instead = {name: value for name, value in after.items() if was[name] != value}
    if times and (when := _when(entry, opened, times[-1].partition("=")[2].strip())) != moved:
        instead |= when
    if not instead:
        raise InputError("it reads so already", place=f"entry {target}", hint="nothing was recorded")
    return amendment.amend(journal, target, by, reason=reason.strip(), instead=instead)


def _when(entry: Entry, opened: Entry | None, text: str) -> dict[str, Any]:
    """Return when an entry was instead, in words and as a range. Raises InputError for no time, or one of a clock."""
    place = f"--set {AT}"
    if entry.occurred.basis != "typed":
        what = "a clock was read as this was entered, so when it was is not corrected"
        raise InputError(what, place=place, hint="what a person has to say to it is an attachment or a later entry")
    first, _, rest = text.rpartition(" ")
    was = _day_of(entry.occurred.from_ns)
    try:
        day = date.fromisoformat(first.strip()) if first.strip() else was
        at = Day(day, SystemClock().stamp().wall_ns).read(rest)
    except (ValueError, InputError) as error:
        why = error.what if isinstance(error, InputError) else f"{first.strip()!r} is no day"
        hint = f"write it like {AT}=10:42, {AT}=2026-03-31 10:42, {AT}=? where the card has none"
        raise InputError(why, place=place, hint=hint) from error
    first_day = min(was, _day_of(opened.occurred.from_ns)) if opened is not None else was
    if day < first_day:
        hint = f"no day before {first_day}; a card of another day is taken back (`back`) and keyed in with --on DAY"
        raise InputError(f"{day} is before the job", place=place, hint=hint)
    return {AT: f"{day} {rest}", OCCURRED: {"from": at.start, "to": at.end}}


def _day_of(ns: int) -> date:
    return datetime.fromtimestamp(ns // NS).date()


def _sensible(opened: Entry | None, before: dict[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    """Return `after` with its number as it is kept. Raises InputError for what means nothing in this job.

    An amount stays a quantity of the same dimension; a nipple and a pass are those of the job's procedure.
    """
    procedure = {} if opened is None else opened.body.get("procedure", {})
    for name, listed in NAMED_BY.items():
        known = [str(one.get("id")) for one in procedure.get(listed, ())]
        if after.get(name) != before.get(name) and known and after.get(name) not in known:
            hint = f"it has: {', '.join(known)}"
            raise InputError(f"the procedure has no {after.get(name)!r}", place=f"--set {name}", hint=hint)
    amount, was = after.get("amount"), before.get("amount")
    if amount == was or not isinstance(amount, dict) or not isinstance(was, dict):
        return after
    meant = quantity.parse(f"{amount.get('value')} {amount.get('unit')}", place="--set amount.value")
    if was.get("unit") in quantity.UNITS:
        quantity.convert(meant, was["unit"])  # raises for another dimension
    _can_be(meant)
    return {**after, "amount": {"unit": meant.unit, "value": meant.value}}


def _can_be(amount: Quantity) -> None:
    """Raise InputError for less than nothing, or colder than anything is."""
    place = "--set amount.value"
    if amount.unit in DIMENSIONS["temperature"]:
        if quantity.compare(amount, Quantity(ABSOLUTE_ZERO_C, "degC")) < 0:
            hint = f"nothing is colder than {ABSOLUTE_ZERO_C} degC"
            raise InputError(f"{amount} cannot be", place=place, hint=hint)
    elif amount.number < 0 and any(amount.unit in DIMENSIONS[one] for one in NEVER_NEGATIVE):
        raise InputError(f"{amount} cannot be", place=place, hint="it is nothing or more: write what was read")


def doubt(entry: Entry, instead: dict[str, Any]) -> str:
    """Return that the amount in a correction of `entry` can hardly be, as is asked where one is entered; else empty."""
    said = instead.get("amount")
    if not isinstance(said, dict):
        return ""
    amount = Quantity(said["value"], said["unit"])
    low, high = bounds(str(instead.get("what", entry.body.get("what"))), amount.unit)
    fine = Decimal(low) <= amount.number <= Decimal(high)
    return "" if fine else f"{amount} can hardly be: between {low} and {high} {amount.unit} is"


def _look(opened: Entry | None, entry: Entry, body: dict[str, Any], given: str) -> dict[str, Any] | None:
    """Return the body of a look that was yes or no as it reads corrected; None for anything else.

    Raises InputError for an answer that is neither, where nothing else is read off.
    """
    name, _, text = given.partition("=")
    steps = _steps(opened, entry)
    if entry.kind != "step" or name.strip() != "answer" or not steps or steps[0].get("choices") or body.get("answer"):
        return None
    said = text.strip().lower()
    if said not in ("yes", "no") or body.get("act") in ("opened", "closed"):
        hint = (
            "write --set answer=yes or --set answer=no where somebody looked; a value is amount.value, words are said"
        )
        raise InputError("it was looked at, and nothing was read off", place="--set answer", hint=hint)
    if said == "no":
        return {**body, "act": "skipped", "looked": True}
    return {**body, "act": "confirmed" if steps[0].get("act") == "check" else "done", "looked": False}


def _check_said(opened: Entry | None, entry: Entry, body: dict[str, Any], given: str) -> None:
    """Raise InputError for words at a step of the procedure that was answered by a choice: no reader looks for them."""
    name, _, text = given.partition("=")
    if name.strip() != "said" or not body.get("answer") or body.get("said") or not _steps(opened, entry):
        return
    what = f"this step was answered by what was chosen or read off, {body['answer']!r}, and nothing was said"
    raise InputError(what, place="--set said", hint=f"correct its answer: --set answer={text.strip() or 'WHAT'}")


def _steps(opened: Entry | None, entry: Entry) -> list[dict[str, Any]]:
    """Return the step of the procedure that an entry is of; nothing for one of the program's own."""
    procedure = {} if opened is None else opened.body.get("procedure", {})
    return [step for part in STEPS for step in procedure.get(part, ()) if step.get("id") == entry.body.get("step")]


def _with(entry: Entry, body: dict[str, Any], given: str) -> dict[str, Any]:
    kind = entry.kind
    name, equals, text = given.partition("=")
    path = name.strip().split(".")
    place = f"--set {name.strip()}"
    if not equals or not name.strip():
        raise InputError(f"{given!r} is not FIELD=VALUE", place="--set", hint="write it like --set amount.value=2.1")
    known = _fields(kind, body) + ([AT] if entry.occurred.basis == "typed" else [])
    if path[0] == AT and AT in known:
        raise InputError(f"{AT} has no parts", place=place, hint=f"write it like --set {AT}=10:42")
    if path[0] not in known and body.get("step") in (UNWRITTEN, UNEXPLAINED):
        hint = f"key the line in anew: `witnessmark job enter {entry.job}`, and back until it is asked for again"
        raise InputError("this line is not written, so there is nothing to correct", place=place, hint=hint)
    if path[0] not in known:
        raise InputError(
            f"a {kind} entry has no such field to correct", place=place, hint=f"it has: {', '.join(known)}"
        )
    if path == ["amount", "value"]:  # as it is typed, with a comma too
        text = quantity.parse(text.strip(), place=place, unit="1").value
    for value in _readings(text.strip()) if kind != "scan" else [_codes(text)]:
        changed = _put(body, path, value, place)
        if kind not in BODIES or _fits(kind, changed) is None:
            return changed
    why = _fits(kind, _put(body, path, text, place))
    now = textwrap.shorten(value_text(body.get(path[0], "")), 80)
    raise InputError(
        f"{text.strip()!r} does not fit: {why}", place=place, hint=f"now it reads {now!r}; give the same kind of value"
    )


def _codes(text: str) -> list[str]:
    """Return trouble codes as they are kept, none for `none`. Raises InputError for what is no code."""
    codes = [] if text.strip().lower() == "none" else re.split(r"[\s,;]+", text.strip())
    return list(dict.fromkeys(format_code(parse_code(one)) for one in codes))


def _fields(kind: str, body: dict[str, Any]) -> list[str]:
    if kind == "scan":
        return ["codes"]
    typed = [one.encode_name for one in msgspec.structs.fields(BODIES[kind])] if kind in BODIES else []
    return sorted({*typed, *body} - {WITHDRAWN})


def _readings(text: str) -> Iterator[Any]:
    """Yield what a typed value may mean: the text itself first, then what it says as JSON."""
    yield text
    try:
        yield json.loads({"yes": "true", "no": "false"}.get(text, text))
    except (ValueError, RecursionError):
        return


PARTS = ("unit", "value")
"""What an amount is made of."""


def _put(body: dict[str, Any], path: list[str], value: Any, place: str) -> dict[str, Any]:
    inside = body.get(path[0], {})
    if len(path) > 1:
        if not isinstance(inside, dict):
            raise InputError(f"{path[0]} has no parts", place=place, hint=f"write it like --set {path[0]}=VALUE")
        if path[0] == "amount" and path[1] not in PARTS:
            raise InputError(f"{path[0]} has no part {path[1]}", place=place, hint=f"it has: {', '.join(PARTS)}")
        value = _put(inside, path[1:], value, place)
    return {**body, path[0]: value}


def _fits(kind: str, body: dict[str, Any]) -> str | None:
    try:
        from_body(kind, body)
    except msgspec.ValidationError as error:
        return str(error)
    return None
