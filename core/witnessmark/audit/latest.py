"""What shows that a run had ended: the entry, and by when.

Moments (ns) flow in and words for people flow out. Rule that holds here: a person's word never bounds an end sooner
than the wire's own timing allows; where it would, it is told as that person's word, beside what the wire allows.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from witnessmark.audit import say

HOW = {
    "stop": "when the control unit confirmed a stop",
    "looked": "when a person looked and found it at rest",
    "next": "when the control unit took the next start",
}


class Latest(msgspec.Struct, frozen=True, gc=False):
    """The entry that shows that a run had ended by `at` (ns): a stop confirmed, somebody who looked, the next start.

    `by` is who looked; `said` the moment that person's word gives, where the wire allows it to have run on until `at`.
    """

    seq: int
    how: Literal["stop", "looked", "next"]
    at: int
    by: str = ""
    said: int | None = None

    def allowing(self, until: int) -> Latest:
        """Return the same where the wire allows the run to last `until` then: only a person's word yields to that."""
        if self.how != "looked" or self.at >= until:
            return self
        return msgspec.structs.replace(self, at=until, said=self.at)

    def doubted(self, start: int) -> str:
        """Say whose word it is that a run from `start` was at rest sooner than the wire allows; empty for no such."""
        if self.said is None:
            return ""
        rest, longest = say.seconds(self.said - start), say.seconds(self.at - start)
        return (
            f"as {self.by} says it was at rest {rest} after its start (entry {self.seq}); "
            f"the wire's own timing allows {longest}"
        )
