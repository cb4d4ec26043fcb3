"""The reasons that a gloved hand picks by number, for each touch that needs one. Own words can be typed instead."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from witnessmark.procedure.model import Step

MOST_PICKED = 9
"""So many reasons have a number of their own; what is beyond them is typed."""
LEAD = "the lead said so, as I say here: no lead was asked for a PIN"
"""A lead's word that only who presses the key tells of: every paper has it beside that person's name."""
LEAVE_OUT = ("cannot be done here", "was done before this job", LEAD)
KEEP = ("read twice, it stays so", "cannot be put right now", LEAD)
NOT_CLEAR = ("bubbles", "dark or dirty", "nothing came")
AS_EXPECTED = ("not clear, or bubbles: as expected here", "it is taken back: it was not so")
"""What one key says of what ran where nobody asks for it, and what the same key says then."""
UNSEEABLE = "cannot be seen"
UNDRIVEN = "it was not driven"
NOT_LOOKED = (UNSEEABLE, UNDRIVEN)
"""What is said where nobody looked, or could."""
LEAKS = "it leaks"
NO = (LEAKS, "it is not so", UNSEEABLE)
ROAD = (LEAKS, "it pulls to one side", "the pedal is soft or sinks", UNDRIVEN)
"""What may be wrong on the road."""
TIGHTENED = ("tightened again to its torque", "loosened and tightened again", "another wrench, tightened again")
"""What was put right at wheels that were read outside their limits."""
MISREAD = ("misread: nothing more ran or went in", "misread: the wrong mark was read")
"""Why a volume that was read outside its limits counts no more once it is read again."""
WHEELS = "wheel-torque"
SPILLED = ("it was spilled", "it was not measured", "it ran together with another bottle")
"""Why nobody knows how much was in a bottle."""
SCANNED_AFTER = {
    "nothing was done: they are read once more": "",
    "what they tell of was put right": "",
    "cleared with the maker's own means": "codes-cleared",
}
"""What was done before the codes are read again, each with the procedure's word for it."""
CODES_STAY = ("the customer is told of it", "a job that follows puts it right", LEAD)
UNREAD = ("there is no label", "the label cannot be read", "two labels differ")
NOT_SO = ("it is not reached", "it does not stay so", "what it needs is not here")
"""Why what makes it safe to open is not so: nothing is opened then."""
UNREADABLE = ("its gauge or screen shows nothing", "what it shows cannot be so", "what reads it is not here")
"""Why what shows that it is safe to open cannot be read: nothing is opened then."""
LATER = ("both hands are needed", "the spanner is not on yet", "the nipple sits tight")
MIXED = ("the label is wrong, it was tested", "seals and hoses are replaced, all of it is out")
EARLY = ("the other tester stopped it", "it stopped by itself", "it was stopped because something was wrong")
UNSEEN = ("nobody stood there", "the other tester did not show it", "it could not be heard")
WORKED = ("it was heard to run and to stop", "it was seen and heard, and nothing else moved")
FAILED = ("nothing was heard", "something else moved", "it did not stop in time")
UNSURE = ("it could not be heard", "it was heard, and nobody saw what it moved")
OTHER_NUMBER = ("the order is wrong: it was looked at on the vehicle", "the tester shows another unit's number", LEAD)
"""Why it is gone on where another tester shows another number than the order's."""
ELSEWHERE = "nothing of ours asks on this job, and nobody read it off another tester"
"""Why the machine's own step is left out where it sends nothing."""
ELSEWHERE_BEFORE = "another tester speaks on this job: nothing of ours asks"
"""The same as journals of before have it."""
AIR = ("air cannot have been drawn: it was looked at", LEAD)
STAYS = ("this job does it again", "nobody can show it any more", LEAD)
"""Why what an earlier job left open stays so."""
ACCEPTED = ("it ran long enough", "enough fluid came", LEAD)
PICKED = frozenset(
    (
        *LEAVE_OUT, *KEEP, *NOT_CLEAR, *NO, *ROAD, *TIGHTENED, *MISREAD, *SPILLED, *SCANNED_AFTER, *CODES_STAY, *UNREAD,
        *NOT_SO, *UNREADABLE, *LATER, *MIXED, *EARLY, *UNSEEN, *WORKED, *FAILED, *UNSURE, ELSEWHERE, *AIR, *STAYS,
        *ACCEPTED, *OTHER_NUMBER, ELSEWHERE_BEFORE,
    )
)  # fmt: skip
"""Every reason that has a number: words of nobody's own."""


def pass_again(offered: Mapping[str, str]) -> tuple[str, ...]:
    """Return one reason for what may be bled again after a check: it begins with the pass or passes, then why."""
    return tuple(f"{one} {why}" for one, why in offered.items())[:MOST_PICKED]


def pass_first(ahead: Iterable[str]) -> tuple[str, ...]:
    """Return one reason for each pass that may be taken first, which begins with the pass."""
    return tuple(f"{one} the next one cannot be reached now" for one in ahead)


def puts_right(step: Step) -> tuple[str, ...]:
    """Return what may be said of a reading outside its limits so that only the next counts; often nothing."""
    return TIGHTENED if step.what == WHEELS else MISREAD if step.act == "volume" else ()
