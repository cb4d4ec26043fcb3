"""What an endpoint tells upwards: N_USData indications and confirmations, and each thing that went wrong by its name.

Rules: every failure and every ignored frame carries its raw frame; a failed reception carries all its frames, so that
nothing that arrived is lost to the journal.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Role = Literal["receive", "send"]

Reason = Literal[
    "n_timeout_a",  # N_As or N_Ar: the link did not report our frame as sent
    "n_timeout_bs",  # no flow control came
    "n_timeout_cs",  # we were too late with a consecutive frame
    "n_timeout_cr",  # no consecutive frame came
    "wrong_sn",  # a consecutive frame out of sequence
    "interrupted_by_sf",  # a single frame ended the reception in progress
    "interrupted_by_ff",  # a first frame ended the reception in progress
    "overflow",  # the receiver has no room: theirs said so, or a first frame exceeds ours
    "wft_overrun",  # more WAITs in a row than N_WFTmax
    "invalid_fs",  # a reserved flow status
    "reset",  # ended from our side
]

Neglect = str
"""Why a frame was ignored: a reason of `pdu.parse`, or `unexpected_cf`, `unexpected_fc`, `cf_length`, `foreign`,
`functional_segmented`."""


@dataclass(frozen=True, slots=True)
class Received:
    """A whole message. `frames` are the data of its frames as they came."""

    payload: bytes
    first_ns: int
    last_ns: int
    frames: tuple[bytes, ...]

    @property
    def at_ns(self) -> int:
        """When it was complete."""
        return self.last_ns


@dataclass(frozen=True, slots=True)
class FirstFrameSeen:
    """A message of `length` bytes has begun (N_USData_FF.indication): an answer is on its way, so P2 stops."""

    length: int
    at_ns: int


@dataclass(frozen=True, slots=True)
class Sent:
    """The message handed to `send` has left completely (N_USData.confirm, N_OK)."""

    at_ns: int


@dataclass(frozen=True, slots=True)
class Failed:
    """A message ended early. `during` is the state it ended in; `raw` the frame that ended it, empty for a timeout."""

    role: Role
    reason: Reason
    raw: bytes
    during: str
    at_ns: int
    frames: tuple[bytes, ...] = ()


@dataclass(frozen=True, slots=True)
class Ignored:
    """A frame that the standard tells to ignore, kept so that it can be shown."""

    reason: Neglect
    raw: bytes
    at_ns: int


Indication = Received | FirstFrameSeen | Sent | Failed | Ignored
