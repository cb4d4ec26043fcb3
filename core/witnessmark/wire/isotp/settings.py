"""How an endpoint behaves: what it asks of the peer, how it fills frames, how long it waits. ISO 15765-2:2016, 9.8.

All times are ns. N_As, N_Ar, N_Bs and N_Cr are timeouts (1000 ms). N_Br and N_Cs are the standard's performance
requirements, here kept by us: a held receiver says WAIT every `n_br_ns`, and a consecutive frame that could have left
`n_cs_ns` ago leaves no more, because the receiver has given up.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.errors import LocalError
from witnessmark.wire.isotp.pdu import CAN_LENGTHS, MS


@dataclass(frozen=True, slots=True)
class Settings:
    """What one side of a connection is set to. Raises LocalError for a value that no frame can carry.

    `block_size` and `st_min` are the raw bytes of our flow control; `padding` the fill byte or None for short frames;
    `tx_dl` the longest frame we send (8, or up to 64 with CAN FD); `fd` whether longer frames than 8 are accepted;
    `max_length` the longest message we take in before we answer OVERFLOW; `wft_max` how many WAITs in a row we send,
    and how many we put up with; `confirms` says that the link reports each frame as it leaves (`Endpoint.sent`), which
    makes N_As and N_Ar run.
    """

    block_size: int = 0
    st_min: int = 0
    padding: int | None = 0xCC
    tx_dl: int = 8
    fd: bool = False
    max_length: int = 1 << 20
    wft_max: int = 10
    confirms: bool = False
    n_as_ns: int = 1000 * MS
    n_ar_ns: int = 1000 * MS
    n_bs_ns: int = 1000 * MS
    n_br_ns: int = 500 * MS
    n_cs_ns: int = 900 * MS
    n_cr_ns: int = 1000 * MS

    def __post_init__(self) -> None:
        for name in ("block_size", "st_min", "padding"):
            value = getattr(self, name)
            if value is not None and not 0 <= value <= 0xFF:
                raise LocalError(f"{name} {value} is not a byte", hint="use 0 to 255")
        if self.tx_dl not in CAN_LENGTHS[8:]:
            raise LocalError(f"no CAN frame has {self.tx_dl} bytes", hint="use 8, 12, 16, 20, 24, 32, 48 or 64")
        if self.tx_dl > 8 and not self.fd:
            raise LocalError(f"frames of {self.tx_dl} bytes need CAN FD", hint="set fd")
        if self.wft_max < 0 or self.max_length < 1:
            raise LocalError("wft_max below 0 or max_length below 1", hint="use the defaults")
        if min(self.n_as_ns, self.n_ar_ns, self.n_bs_ns, self.n_br_ns, self.n_cs_ns, self.n_cr_ns) <= 0:
            raise LocalError("a network layer timer is not above 0", hint="use the defaults of ISO 15765-2")
