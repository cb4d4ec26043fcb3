"""What is said of a mend at a check that was not right: the words that are offered, and what each says of the vehicle.

A procedure and the words of an entry flow in; nipples and passes flow out. Rules that hold here: a part that is
replaced opens the line of its nipple, or of each nipple of its circuit, words of one's own may have; where nobody says
which, it may have been any; a nipple that is tightened has another torque than was read before.
"""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.procedure import own
from witnessmark.procedure.model import Pass, Procedure

MENDED, MENDED_AT = own.MENDED, own.MENDED_AT
"""The step ids by which it is said what was mended (the `answer`, or own words) and where: a nipple, or a circuit.

Entries of before nipples could be named for a part say its circuit: they stand for each nipple of it."""
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


def opened(procedure: Procedure, what: str, nipple: str, answer: str) -> tuple[str, ...]:
    """Return the nipples whose lines were opened for this mend, or may have been: each is bled again after it."""
    if what in (TIGHTENED, BLED, NOTHING) or (answer == NONE and what != REPLACED):
        return ()
    if nipple in {one.id for one in procedure.nipples}:
        return (nipple,)
    known = circuits(procedure)
    return tuple(one for name in ((answer,) if answer in known else known) for one in of_circuit(procedure, name))


def circuits(procedure: Procedure) -> tuple[str, ...]:
    """Return the hydraulic circuits, in the procedure's order."""
    return tuple(dict.fromkeys(one.circuit for one in procedure.nipples))


def of_circuit(procedure: Procedure, circuit: str) -> tuple[str, ...]:
    """Return the nipples by which a circuit is bled: those that a pass opens, all of them where none is opened."""
    known = tuple(one.id for one in procedure.nipples if one.circuit == circuit)
    bled = {name for one in procedure.passes for name in one.nipples}
    return tuple(name for name in known if name in bled) or known


def unbled(names: Iterable[str]) -> str:
    """Return what is said of these nipples, by name, wherever a vehicle is left before they are bled."""
    return f"TO BLEED before it is driven, for its line was opened for a mend, or may have been: {', '.join(names)}."


def bleeding(procedure: Procedure, nipples: Iterable[str]) -> tuple[Pass, ...]:
    """Return the passes, planned or not, that open one of these nipples."""
    opened = set(nipples)
    return tuple(one for one in procedure.passes if opened & set(one.nipples))
