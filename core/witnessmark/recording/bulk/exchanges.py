"""What the bulk reading gives: arrays of everything, and conversations that are made when they are looked at."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, overload

from witnessmark.recording.bulk.heads import Heads
from witnessmark.recording.bulk.reassembly import Told
from witnessmark.recording.conversation import Conversation
from witnessmark.recording.finding import Found
from witnessmark.wire.isotp.passive import Lost, Message

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[Any]


class Exchanges(Sequence[Conversation]):
    """The conversations of a recording, in the order of their first message.

    `told` and `heads` have a row for each message, whole or lost, in the order of telling; `conversation` is the one it
    belongs to.
    """

    def __init__(self, told: Told, heads: Heads, opener: Array, found: Found) -> None:
        import numpy as np

        self.told, self.heads = told, heads
        openers = np.flatnonzero(opener == np.arange(opener.size))
        number = np.full(opener.size, -1, np.int64)
        number[openers] = np.arange(openers.size)
        self.conversation: Array = number[opener]
        self._members = np.argsort(self.conversation, kind="stable")
        self._ends = np.cumsum(np.bincount(self.conversation, minlength=openers.size))
        self._asks = told.table.whole & ~heads.is_response & (heads.service >= 0)
        self._functional = found.functional

    def __len__(self) -> int:
        return int(self._ends.size)

    @overload
    def __getitem__(self, at: int) -> Conversation: ...
    @overload
    def __getitem__(self, at: slice) -> list[Conversation]: ...
    def __getitem__(self, at: int | slice) -> Conversation | list[Conversation]:
        if isinstance(at, slice):
            return [self[one] for one in range(*at.indices(len(self)))]
        if at < 0:
            at += len(self)
        if not 0 <= at < len(self):
            raise IndexError(at)
        members = self._members[self._ends[at - 1] if at else 0 : self._ends[at]]
        request: Message | None = None
        answers: list[Message] = []
        lost: list[Lost] = []
        for place in map(int, members):
            part = self.told.message(place)
            if isinstance(part, Lost):
                lost.append(part)
            elif self._asks[place]:
                request = part
            else:
                answers.append(part)
        functional = request is not None and request.key in self._functional
        return Conversation(request, tuple(answers), tuple(lost), functional)
