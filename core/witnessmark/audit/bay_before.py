"""An anchor that was printed at the bay that a job came from, held against the file of the bay it came to.

A `Chain` that begins with `moved` and an anchor flow in; what can be said flows out. Rules that hold here: such a file
has none of the entries of the bay before, only their count and head in its first entry; so it is neither called altered
for them nor intact.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.audit.chain import Chain, check_pin
from witnessmark.journal.checkpoint import Anchor, parse_checkpoint

EARLIER = "give that bay's evidence file with --earlier"


@dataclass(frozen=True, slots=True)
class Said:
    """The verdict on a file of which the anchor pins no entry, and why."""

    verdict: str
    text: str


def of_bay_before(chain: Chain, origin: str | None, anchor: Anchor) -> Said | None:
    """Return what an anchor of the bay before shows; None when it is none, and is held against the file as usual.

    `origin` is that of the file's own checkpoint, None where it has none.
    """
    first = chain.entries[0]
    if first.kind != "moved":
        return None
    there, body = first.body.get("origin"), first.body
    cited = (body.get("count"), str(body.get("head")))
    if anchor.note is None:
        assert anchor.pin is not None
        if check_pin(chain, anchor.pin, "the sheet", "anchor") is None:
            return None
        pin, what = anchor.pin, f"the count of {anchor.pin.count} with its head"
        lack = (
            f"{what} fits no entry here: it is of the bay before ({there or 'without a key'}), and then {EARLIER}; or "
        )
        lack += "it is of this bay, and then the record was altered"
    else:
        held = parse_checkpoint(anchor.note.text, place="anchor")
        if there is None or held.origin != there or there == origin:
            return None
        what = f"the checkpoint of size {held.size} of {there}, the bay before,"
        lack = f"{what} says nothing of the entries here: {EARLIER}"
        if held.job is None or held.job.job != body.get("job"):
            return Said("incomplete", lack)
        pin = held.job
    if pin.count != cited[0] or not cited[1].startswith(pin.head):
        return Said("incomplete", lack)
    text = f"{what} pins exactly the {pin.count} entries there that entry {first.seq} cites; no anchor pins those here"
    return Said("consistent, unanchored", text)
