"""What the body of each kind of entry holds: what `job` writes and what `audit` and `report` read.

Rules that hold here: no floats; every number of nanoseconds and every quantity is text; bytes of the wire are
upper-case hex text, hashes lower-case (`canonical`); plate, customer and a person's own words (`said`, `why`,
`complaint`) stand in an entry as commitments (`commitment`); a field that nobody knows is left out. Readers ignore
fields they do not know, so that a body may grow; no field ever changes its meaning. References to other entries are
their `seq`.
"""

from __future__ import annotations

from typing import Any, Literal

import msgspec

from witnessmark.journal.body import Body as Body
from witnessmark.journal.permission import Approval, People
from witnessmark.journal.spelling import Hex, Ns, Number

Grade = Literal["sent", "heard", "told"]
"""Who saw an actuation: we sent it, we heard another tester send it, or a person told it."""
GRADES: tuple[Grade, ...] = ("sent", "heard", "told")


class Amount(Body, frozen=True):
    """A quantity as it was entered: the text of the value and its unit."""

    value: Number
    unit: str


class JobOpened(Body, frozen=True, kw_only=True):
    """kind `job-opened`. The documents stand in it whole, so that a job can be read without any other file.

    `plan` is the passes to do, in order. `procedure_digest` and `map_digest` are SHA-256 (hex) of the canonical text
    of the documents. `grade` is how actuations of this job are witnessed. `instruments` says until when (a date) each
    instrument of the shop is calibrated, as its file said then. `earlier` is what the job that this one follows left
    open.
    """

    title: str
    vehicle: dict[str, str]
    procedure: dict[str, Any]
    procedure_digest: str
    map: dict[str, Any] | None = None
    map_digest: str = ""
    plan: tuple[str, ...]
    scope: str = "full"
    grade: Grade = "sent"
    link: str = ""
    complaint: str = ""
    customer: str = ""
    invented: bool = False
    instruments: dict[str, str] = msgspec.field(default_factory=dict)
    earlier: tuple[str, ...] = ()


class StepDone(Body, frozen=True, kw_only=True):
    """kind `step`. A manual step; when it was is the entry's `occurred` range.

    `act`: `done`, `skipped` (with `said` as the reason), `opened` or `closed` (then `nipple` is set), `confirmed`.
    `answer` is what was chosen from the step's list or read off a container, `said` a remark in a person's own words.
    `on_cue`: the act was counted down aloud and started with the run. `affects` is the procedure's word for it, `also`
    further words of it that the same touch said. `looked` with `skipped`: a person looked, and it was not right; the
    step was not left out. `mended` is what the person says was put right since it was looked at and not right.
    """

    step: str
    act: Literal["done", "skipped", "opened", "closed", "confirmed"]
    pass_id: str = ""
    nipple: str = ""
    affects: str = ""
    answer: str = ""
    said: str = ""
    on_cue: bool = False
    also: tuple[str, ...] = ()
    looked: bool = False
    mended: str = ""


class Reading(Body, frozen=True, kw_only=True):
    """kind `reading`. `within` says how it stands to the limit shown; None when the procedure gives none. Of a bottle
    all that was read of its pass until then stands for it to the least.

    `nipple` is set for a torque or a volume at one; `affects` is the procedure's word for what it did, `also` further
    words that the same touch said. `calibrated_until` (a date, YYYY-MM-DD) is the instrument's, as the shop gave it.
    """

    what: str
    amount: Amount
    step: str = ""
    pass_id: str = ""
    instrument: str = ""
    low: str = ""
    high: str = ""
    within: bool | None = None
    nipple: str = ""
    affects: str = ""
    also: tuple[str, ...] = ()
    calibrated_until: str = ""


class Condition(Body, frozen=True, kw_only=True):
    """kind `condition`. A precondition as it was found. `source` is `read` (with `exchange`) or `told`."""

    name: str
    found: str
    wanted: str
    holds: bool
    source: Literal["read", "told"]
    exchange: int | None = None
    pass_id: str = ""


class Armed(Body, frozen=True, kw_only=True):
    """kind `armed`. What was shown, what was asked and answered, and until when (monotonic ns) it holds.

    `lead` is who was present at the first use of a learned wire command.
    """

    pass_id: str
    wire_command: str
    shown: dict[str, str]
    answers: dict[str, bool]
    until_mono: str
    lead: str = ""


class Disarmed(Body, frozen=True, kw_only=True):
    """kind `disarmed`. Armed and not started, and why."""

    pass_id: str
    why: str


class Refused(Body, frozen=True, kw_only=True):
    """kind `refused`. We refused to send; nothing reached the vehicle. `rule` is a short name of the rule."""

    pass_id: str
    rule: str
    why: str


class Intent(Body, frozen=True, kw_only=True):
    """kind `intent`. Synced to disk before the first byte of the start request leaves.

    `seconds` is how long the run is meant to take; `approval` the entry that approved the map for this control unit.
    `learned`: the wire command was learned by listening. `first_use`: it is its first on this control unit, of no pass
    and with all nipples shut. A `heard` run is written when its start was answered, a `told` one when it is told; one
    that is heard and is not of the pass in hand has no pass and no nipples, and `seconds` only where its request does.
    """

    pass_id: str
    nipples: tuple[str, ...]
    wire_command: str
    seconds: str
    start: str
    stop: str
    peer: dict[str, str]
    grade: Grade = "sent"
    approval: int | None = None
    map_digest: str = ""
    learned: bool = False
    first_use: bool = False


class Answer(Body, frozen=True, kw_only=True):
    """One message after a request, and what it was to it; it may have come up to `late_ns` before it was read."""

    source: str
    payload: Hex
    verdict: Literal["positive", "negative", "pending", "late", "foreign", "ambiguous", "malformed"]
    first_mono: Ns
    last_mono: Ns
    raw: tuple[str, ...] = ()
    late_ns: Ns = ""


class ExchangeBody(Body, frozen=True, kw_only=True):
    """kind `exchange`. One request, and all that answered it.

    `result`: `positive`, `negative` (then `code` is the response code in hex), `silence`, `suppressed` (no answer was
    asked for) or `lost`. `actuation` is the intent it belongs to. `heard`: another tester asked it, we only listened.
    """

    purpose: Literal["start", "stop", "results", "session", "condition", "identification", "scan", "clear", "wake"]
    request: Hex
    peer: dict[str, str]
    sent_mono: Ns
    sent_wall: Ns
    result: Literal["positive", "negative", "silence", "suppressed", "lost"]
    answers: tuple[Answer, ...] = ()
    code: Hex = ""
    raw: tuple[str, ...] = ()
    actuation: int | None = None
    pass_id: str = ""
    budget: str = ""
    shows_pending: bool = True
    heard: bool = False


class KeepAlive(Body, frozen=True, kw_only=True):
    """kind `keepalive`. One an actuation: how many were sent, the largest gap between them, each moment."""

    actuation: int
    request: Hex
    count: int
    largest_gap_ns: Ns
    at_mono: tuple[str, ...] = ()


class Outcome(Body, frozen=True, kw_only=True):
    """kind `outcome`. What came of an intent.

    `result`: `completed` (ran its time and the stop was confirmed), `stopped` (by the operator, confirmed), `refused`
    (negative answer to the start), `failed` (it ended by itself before its time), `unknown` (nothing says how it
    ended: treat as running). The run counts from the positive answer to the start to the positive answer to the stop
    or to the last sign of life; both are monotonic ns and left out when there is none. What was heard may have come up
    to `from_late_ns` and `to_late_ns` before they were read, as long as the listener may have been held up.
    """

    actuation: int
    pass_id: str
    result: Literal["completed", "stopped", "refused", "failed", "unknown"]
    stop: Literal["not sent", "sent", "confirmed", "unknown"]
    from_mono: Ns = ""
    to_mono: Ns = ""
    duration_ns: Ns = ""
    code: Hex = ""
    why: str = ""
    next_act: str = ""
    from_late_ns: Ns = ""
    to_late_ns: Ns = ""


CARD_SAYS, CARD_ENDLESS = "as the card says", "the card does not say when it ended"
"""The `why` of the outcome of a run that was keyed in from a card."""


class Interrupted(Body, frozen=True, kw_only=True):
    """kind `interrupted`. A later runner found an intent without outcome; what it then offered and asked."""

    actuation: int
    pass_id: str
    found: str


class Left(Body, frozen=True, kw_only=True):
    """kind `left`. The program that ran the job ended, with these nipples open and the feed `pressurised` or not.

    `how`: `left` (the person at the screen left it), `screen closed` (or cut off, or lost), `told to end` (by the
    signal in `signal`), `unseen`: nothing of that program says so, as where it was killed or the power went. That a
    later one wrote as it took the job up; `after` is the last entry that the other had written, and it ended between.
    """

    how: Literal["left", "screen closed", "told to end", "unseen"]
    open_nipples: tuple[str, ...] = ()
    pressurised: bool = False
    signal: str = ""
    after: int | None = None


class Inspection(Body, frozen=True, kw_only=True):
    """kind `inspection`. A named person looked after an interrupted or unknown actuation, and what was seen."""

    actuation: int
    pass_id: str
    said: str
    safe: bool


class FirstUse(Body, frozen=True, kw_only=True):
    """kind `first-use`. What a person saw and felt of the first use of a learned wire command on a control unit.

    `result`: `worked` (as expected), `failed`, `unsure`. It holds for the control unit with this `identification` and
    for these requests, in whatever job; who was present is in its `armed` entry. `unit` is what that very unit said of
    its vehicle's number (F190) and its serial number (F18C), empty where it did not tell: another one has its own.
    """

    actuation: int
    wire_command: str
    result: Literal["worked", "failed", "unsure"]
    said: str
    start: str
    stop: str
    identification: dict[str, str]
    unit: dict[str, str] = msgspec.field(default_factory=dict)


class LinkEvent(Body, frozen=True, kw_only=True):
    """kind `event`. Something the link said."""

    what: str
    detail: str = ""
    raw: str = ""
    actuation: int | None = None


class State(Body, frozen=True, kw_only=True):
    """kind `state`. The job's state from here on, and why.

    `accepted` is what stood open at a release and was accepted, each in words. `proven` says how whoever released
    proved to be that person (`pin`, `name only`), `may_release` whom the shop's file allowed to, besides its leads,
    `policy` by whose tolerances it was found open, in words.
    With `paused`, `open_nipples` stood open and the feed was `pressurised`; with `open`, `again` is why all that may
    have changed is asked again.
    """

    state: Literal["open", "paused", "abandoned", "finished", "released"]
    why: str = ""
    accepted: tuple[str, ...] = ()
    open_nipples: tuple[str, ...] = ()
    pressurised: bool = False
    again: str = ""
    proven: str = ""
    may_release: tuple[str, ...] | None = None
    policy: str = ""


class CodeScan(Body, frozen=True, kw_only=True):
    """kind `reading`'s sibling for trouble codes, kind `scan`: the codes a control unit reported.

    One by a person has no `exchange`: it is what another tester showed them.
    """

    when: Literal["before", "after"]
    codes: tuple[str, ...]
    control_unit: str = ""
    exchange: int | None = None
    step: str = ""


class Loss(Body, frozen=True, kw_only=True):
    """Entries of the journal that were lost: from `start`, to `end` where that is known (`from`, `to` in the text)."""

    start: int = msgspec.field(name="from")
    end: int | None = msgspec.field(name="to", default=None)


class Remark(Body, frozen=True, kw_only=True):
    """kind `note`. What a person `said`; or that entries were `lost`, some of which may have been of this job."""

    said: str = ""
    lost: Loss | None = None


BODIES: dict[str, type[Body]] = {
    "job-opened": JobOpened,
    "step": StepDone,
    "reading": Reading,
    "condition": Condition,
    "armed": Armed,
    "disarmed": Disarmed,
    "refused": Refused,
    "intent": Intent,
    "exchange": ExchangeBody,
    "keepalive": KeepAlive,
    "outcome": Outcome,
    "interrupted": Interrupted,
    "left": Left,
    "inspection": Inspection,
    "first-use": FirstUse,
    "event": LinkEvent,
    "state": State,
    "approval": Approval,
    "people": People,
    "scan": CodeScan,
    "note": Remark,
}
"""The typed bodies; kinds that only the journal itself writes are in `kinds`."""


def to_body(body: Body) -> dict[str, Any]:
    """Return the plain form that goes into an entry."""
    plain = msgspec.to_builtins(body)
    assert isinstance(plain, dict)
    return plain


def from_body(kind: str, body: dict[str, Any]) -> Body:
    """Read the body of an entry of `kind` (a key of BODIES). Raises msgspec.ValidationError when it does not fit."""
    return msgspec.convert(body, BODIES[kind])
