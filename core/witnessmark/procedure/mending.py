"""What is said of a mend at a check that was not right: the words that are offered, and what each says of the vehicle.

A procedure and the words of an entry flow in; nipples and circuits flow out. Rules that hold here: a part that is
replaced opens its circuit, words of one's own may have; where nobody says which, it may have been any; a nipple that is
tightened has another torque than was read before.
"""

from __future__ import annotations

from witnessmark.procedure import own
from witnessmark.procedure.model import Procedure

MENDED, MENDED_AT = own.MENDED, own.MENDED_AT
"""The step ids by which it is said what was mended (the `answer`, or own words) and where: a nipple, or a circuit."""
TIGHTENED, REPLACED, BLED = "tightened and wiped dry", "the leaking part was replaced", "bled again"
NOTHING = "nothing was mended: the first look was wrong"
OFFERED = (TIGHTENED, REPLACED, BLED, NOTHING)
"""What may have been mended, in words that stand in the entry as they are."""
NONE, NOT_KNOWN = "none", "not known"
"""What is answered where no nipple was tightened or no circuit opened, and where nobody can say which."""


def has_place(what: str) -> bool:
    """Whether it matters where that was: for a nipple tightened, a part replaced, and words of one's own (empty)."""
    return what not in (BLED, NOTHING)


def tightened(procedure: Procedure, what: str, nipple: str, answer: str) -> tuple[str, ...]:
    """Return the nipples whose torque is another one after this mend, or may be."""
    known = tuple(one.id for one in procedure.nipples)
    if what != TIGHTENED or answer == NONE:
        return ()
    return (nipple,) if nipple in known else known


def opened(procedure: Procedure, what: str, answer: str) -> tuple[str, ...]:
    """Return the circuits that were opened for this mend, or may have been."""
    known = tuple(dict.fromkeys(one.circuit for one in procedure.nipples))
    if what in (TIGHTENED, BLED, NOTHING) or (answer == NONE and what != REPLACED):
        return ()
    return (answer,) if answer in known else known
