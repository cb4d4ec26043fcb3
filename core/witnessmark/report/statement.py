"""The dispute statement and the key tag: two small papers made of the same facts as the sheet.

The statement says, on one page where that has the room, what the record shows, what it gives no proof of, who said
what, and what no record of this kind can prove. The tag hangs on the key while the vehicle must not be driven, and
lists what is open.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from witnessmark.audit.say import counted, listing
from witnessmark.report.facts import CROWDED
from witnessmark.report.released import BY_NAME
from witnessmark.report.sheet import deciding, environment
from witnessmark.report.witness import SAID

MANY = 8
"""From how many open questions on they are set in two columns, so that a statement stays one page as far as it can.

Each page says which it is, of how many."""
MOST_ON_TAG = 8
"""So many questions a tag names at most: it hangs on a key and is one small page."""
MOST_RUNS_ON_TAG = 3
"""And so many runs without a known end."""
LOST = {"missing": "MISSING", "changed": "ALTERED"}
"""What is said of an attached file that cannot be shown as it was attached."""
MOST_LOST = 4
"""So many of them a statement names at most."""
ANSWERS = ("not met", "no proof")

LIMITS = (
    "A count and a head show that entries were changed or removed since printing. They do not make an entry true.",
    "When a nipple was opened or closed, and what a gauge showed, is what a person entered. No machine saw it.",
    "An answer of the control unit says what the control unit answered. It does not say what the fluid did.",
    "What was done without an entry is not in the record; what is not in the record may still have been done.",
)
"""What no record of this kind can prove."""
OF_PAPERS = ("checkpoint", "sheet", "left")
"""Kinds of entry by which a paper is signed, or a program ends: no machine saw anything of the work by them."""


def statement(facts: dict[str, Any]) -> str:
    """Return the HTML of the dispute statement for the facts of one job."""
    told = [one for one in facts["people"] if one["what"] == "person"]
    machines = {one["id"] for one in facts["people"] if one["what"] == "machine"}
    seen = sum(one["by"] in machines and one["kind"] not in OF_PAPERS for one in facts["entries"])
    who = {one["number"]: behind(facts, one) for one in facts["findings"]}
    below = [one["text"] for one in facts["findings"] if one["answer"] in ANSWERS]
    several = len(below) > MANY
    more = {
        "several": several,
        "crowded": len(below) > CROWDED,
        "grades": grades(facts),
        "attached": files(facts),
        "told_below": any(facts["record"]["text"] in text for text in below),
    }
    template = environment().get_template("statement.html.j2")
    return template.render(facts, told=told, seen=seen, who=who, limits=LIMITS, **more)


def behind(facts: dict[str, Any], finding: dict[str, Any]) -> str:
    """Return whose entries a finding's answer rests on: persons by their ids, and the machine."""
    parts = {one["id"] for one in facts["people"] if one["what"] == "machine"}
    rests = set(deciding(finding))
    said = dict.fromkeys(one["by"] for one in facts["entries"] if one["seq"] in rests)
    people = sorted(name for name in said if name not in parts)
    return listing([*people, *(["the machine"] if len(people) < len(said) else [])])


def files(facts: dict[str, Any]) -> str:
    """Return how many files are attached, and which of them are gone or are not what was attached; empty for none."""
    each = facts["files"]
    gone = [f"{one['name']} (entry {one['seq']}) is {LOST[one['state']]}" for one in each if one["state"] in LOST]
    more = len(gone) - MOST_LOST
    gone = [*gone[:MOST_LOST], f"and {more} more MISSING or ALTERED"] if more > 0 else gone
    unseen = sum(one["state"] == "not looked at" for one in each)
    rest = [f"{'it was' if len(each) == 1 else 'they were'} not at hand when this was made"] if unseen else []
    whole = ["there, as it was attached" if len(each) == 1 else "all there, as they were attached"]
    return f"{counted(len(each), 'file', 'files')} attached: {'; '.join(gone or rest or whole)}" if each else ""


def grades(facts: dict[str, Any]) -> list[str]:
    """Return a line for each grade of evidence that runs of the job have."""
    runs = Counter(one["witness"] for one in facts["timeline"]["runs"] if one["ran"] and not one["taken_back"])
    counts = ((runs[one], said) for one, said in SAID.items() if runs[one])
    return [f"{'One run was' if count == 1 else f'{count} runs were'} {said}" for count, said in counts]


def tag(facts: dict[str, Any], others: Sequence[str] = ()) -> str:
    """Return the HTML of the key tag: NOT RELEASED and what is open, or that the job is released and by whom.

    What stands open on the vehicle is on top, then what a correction opened since the release: that the record is not
    as it was written stands above it by itself. `others` is what other jobs left open.
    """
    accepted = (facts["release"] or {}).get("accepted", ())
    stands = [*({"text": one} for one in others), *facts["standing"]]
    more = {**_on_tag(facts["open"]), **_accepted(accepted), "standing": stands, "others": others}
    more["since"] = _worst_first(facts["since"])
    return environment().get_template("tag.html.j2").render({**facts, **more, "by_name": BY_NAME, "most": MOST_ON_TAG})


def _accepted(accepted: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Return what a tag names of what a release accepted: each by its question and its answer, the worst first."""
    worst = sorted(
        accepted, key=lambda one: ("seen" not in one, not one["text"].partition(": ")[0].endswith("not met"))
    )
    named = [_named(one) for one in worst]
    count = counted(len(named), "point", "points")
    return {"accepted_count": count, "accepted": named[:MOST_ON_TAG], "accepted_more": len(named[MOST_ON_TAG:])}


def _named(one: dict[str, Any]) -> str:
    """Return the question and answer of what was accepted, with what was seen where somebody looked."""
    name = str(one["text"].partition(": ")[0])
    return f"{name}: {one['seen']}" if "seen" in one else name


def _worst_first(open_: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return open questions with those first of which somebody saw that it is not right: no tag cuts these off."""
    return sorted(open_, key=lambda one: "seen" not in one)


def _on_tag(open_: Sequence[dict[str, str]]) -> dict[str, Any]:
    """Return what a tag names and what it only counts: what is not met comes before what has no proof.

    What has no proof is named where all of it still fits: the first few of thirty say nothing of a job hardly begun.
    Of more only what was seen not to be right is.
    """
    of = {what: [one for one in open_ if one["what"] == what] for what in ("state", "no known end", *ANSWERS)}
    unmet, unproven = _worst_first(of["not met"]), _worst_first(of["no proof"])
    fits = len(unmet) + len(unproven) <= MOST_ON_TAG
    alone = unproven if fits else [one for one in unproven if "seen" in one]
    endless = of["no known end"]
    return {
        "states": of["state"],
        "endless": endless[:MOST_RUNS_ON_TAG],
        "endless_more": max(0, len(endless) - MOST_RUNS_ON_TAG),
        "named": [*unmet[:MOST_ON_TAG], *alone],
        "unmet_more": max(0, len(unmet) - MOST_ON_TAG),
        "unproven_more": len(unproven) - len(alone),
    }
