"""What a face shows next: a `View`, and the parts that every view is made of.

Rules that hold here: a view says all that a face needs (text, caution, unit, limits, buttons, questions), so that a
terminal and a page show the same; its `id` is given by the runner and changes with every view, so that a second press
of the same key acts on nothing. Which view stands when is told in `now`.

Kinds: `step` (buttons, perhaps words), `reading` (a value and unit), `open` and `close` (a nipple), `arm` (questions,
then read and arm), `armed` (start or leave), `running`, `hear` and `heard` (another tester is to run it, and runs it,
and we listen), `tell` and `told` (a person says when), `mixing` (fluids that never mix: only the lead goes on),
`inspect` (look, perhaps send stop), `result` (what came of a first use), `why` (why a run of another tester ended
early), `decide` (run again or accept), `paused`, `busy` (wait), `done`.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from witnessmark.job.walk.state import JobState

ViewKind = Literal[
    "step",
    "reading",
    "open",
    "close",
    "arm",
    "armed",
    "running",
    "hear",
    "heard",
    "tell",
    "told",
    "mixing",
    "inspect",
    "result",
    "why",
    "decide",
    "paused",
    "busy",
    "done",
]
UNKNOWN_ACT = "Treat as running; hands clear."
ELSEWHERE = "Stop it on the other tester."
"""What is said of a run that is not ours, wherever it is shown."""
GONE = "NOTHING IS HEARD ANY MORE"
"""How it begins what is said while the link that listens is lost."""
NOT_OURS = ("hear", "heard", "tell", "told")
"""Views in which another tester is to run something or runs it: no stop of ours ends that."""


BLEED_AGAIN = "e"
"""The key of a check that was not right by which a pass is done again first."""
NOT_OPEN_KEY = "u"
"""The key after a run by which a person says that the nipple was shut while it ran."""
INSTRUMENT = "i"
"""The key of a reading by which another instrument is named: the face sends its name with the value."""


class Button(msgspec.Struct, frozen=True, omit_defaults=True):
    """One key a person may press. `asks`: words must come with it (`said`), one of `reasons` or a person's own.

    Where `starts` are given the words begin with one of them.
    """

    key: str
    label: str
    asks: bool = False
    reasons: tuple[str, ...] = ()
    starts: tuple[str, ...] = ()


class Asked(msgspec.Struct, frozen=True, omit_defaults=True):
    """One question that is answered yes or no. `alone`: with a touch of its own, not together with others."""

    id: str
    text: str
    alone: bool = False


class View(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What to show. `unit`, `low`, `high` and `instrument` (with what it is
    read, and until when that is calibrated) belong to a reading; `wait_s` is how long arming would be refused.

    `fallback` is what a person does by hand if a run does not stop; `stands` what stands open, in words, `opened` which
    nipples do, or that the feed is under pressure; a reading
    outside `least` to `most` is asked about once more. `second` is who does what a second `person` does; `hands` whose
    hands they are, where more people are signed on than the one `at_screen`. `whole`: no key of it counts before all of
    its pages were shown. `doubt` is what is asked once before a yes is taken. `takes_s` is how many seconds what it
    asks for takes at least.
    """

    id: str = ""
    kind: ViewKind
    title: str = ""
    text: str = ""
    caution: str = ""
    fallback: str = ""
    stands: tuple[str, ...] = ()
    opened: str = ""
    least: str = ""
    most: str = ""
    pass_id: str = ""
    nipples: tuple[str, ...] = ()
    step: str = ""
    what: str = ""
    unit: str = ""
    low: str = ""
    high: str = ""
    instrument: str = ""
    person: str = ""
    second: str = ""
    hands: str = ""
    at_screen: str = ""
    buttons: tuple[Button, ...] = ()
    questions: tuple[Asked, ...] = ()
    shown: dict[str, str] = {}
    wait_s: str = ""
    whole: bool = False
    doubt: str = ""
    takes_s: str = ""
    at: int = 0
    of: int = 0


def busy_view(text: str) -> View:
    """Return the view of a wait in which no key but stop does anything."""
    return View(kind="busy", text=text)


def title(state: JobState, pass_id: str, nipple: str = "") -> str:
    """Return which pass it is and its nipples, by name; the procedure's title outside a pass."""
    if not pass_id:
        return state.procedure.title
    place = next((index for index, one in enumerate(state.plan, 1) if one.id == pass_id), 0)
    one = state.pass_of(pass_id)
    names = [
        known.name for known in state.procedure.nipples if one and known.id in ((nipple,) if nipple else one.nipples)
    ]
    return f"Pass {place} of {len(state.plan)}: {' and '.join(names)}"
