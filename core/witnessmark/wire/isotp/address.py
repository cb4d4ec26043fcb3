"""Whom a network layer message goes to: the addressing modes of ISO 15765-2:2016, 9.7.

In: identifiers and, where the mode has one, the address byte. Out: `Address`, which tells the byte every frame begins
with. Rules: extended addressing puts N_TA, mixed addressing N_AE into the first data byte; the other modes put nothing
there. Normal fixed is 29 bit only; extended and mixed may be either.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from witnessmark.errors import LocalError


class Addressing(Enum):
    """The four addressing modes, named as ISO 15765-2 names them."""

    NORMAL = "normal"
    NORMAL_FIXED = "normal fixed"
    EXTENDED = "extended"
    MIXED = "mixed"


_FIXED = {(Addressing.NORMAL_FIXED, False): 0xDA, (Addressing.NORMAL_FIXED, True): 0xDB}
_MIXED = {(Addressing.MIXED, False): 0xCE, (Addressing.MIXED, True): 0xCD}
PDU_FORMAT = _FIXED | _MIXED
"""(mode, functional) to the PDU format byte of a 29-bit identifier: ISO 15765-2:2016, 9.7.3 and 9.7.5."""


def fixed_id(mode: Addressing, target: int, source: int, *, functional: bool = False, priority: int = 6) -> int:
    """Return the 29-bit identifier of a normal fixed or mixed address.

    `target` and `source` are one byte each, `priority` 0 to 7 (6 by default, ISO 15765-2:2016, 9.7.3).
    Raises LocalError for a value out of range or a mode whose identifiers are free.
    """
    pdu_format = PDU_FORMAT.get((mode, functional))
    if pdu_format is None or not (0 <= target <= 0xFF and 0 <= source <= 0xFF and 0 <= priority <= 7):
        raise LocalError(
            f"no 29-bit identifier for {mode.value} target {target:#x} source {source:#x} priority {priority}",
            hint="use normal fixed or mixed addressing with byte-sized addresses and a priority from 0 to 7",
        )
    return priority << 26 | pdu_format << 16 | target << 8 | source


@dataclass(frozen=True, slots=True)
class Address:
    """One physical peer as seen from here: what we send on, what it answers on.

    `tx_ext` and `rx_ext` are the first data byte of frames that leave and that arrive (N_TA or N_AE), None in the
    modes without one. Raises LocalError for a combination that the standard does not have.
    """

    tx_id: int
    rx_id: int
    extended_id: bool = False
    mode: Addressing = Addressing.NORMAL
    tx_ext: int | None = None
    rx_ext: int | None = None

    def __post_init__(self) -> None:
        top = 0x1FFF_FFFF if self.extended_id else 0x7FF
        for can_id in (self.tx_id, self.rx_id):
            if not 0 <= can_id <= top:
                raise _wrong(f"identifier {can_id:#x} does not fit {29 if self.extended_id else 11} bits")
        for byte in (self.tx_ext, self.rx_ext):
            if self.has_ext != (byte is not None):
                raise _wrong(f"{self.mode.value} addressing {'needs' if self.has_ext else 'has no'} address byte")
            if byte is not None and not 0 <= byte <= 0xFF:
                raise _wrong(f"address byte {byte:#x} does not fit 8 bits")
        if self.mode is Addressing.NORMAL_FIXED and not self.extended_id:
            raise _wrong("normal fixed addressing has 29-bit identifiers only")
        if self.extended_id and self.mode in (Addressing.NORMAL_FIXED, Addressing.MIXED):
            for can_id in (self.tx_id, self.rx_id):
                if can_id >> 16 & 0xFF not in (PDU_FORMAT[self.mode, False], PDU_FORMAT[self.mode, True]):
                    raise _wrong(f"identifier {can_id:#x} is not one of {self.mode.value} addressing")

    @property
    def has_ext(self) -> bool:
        """Whether the first data byte of every frame is an address."""
        return self.mode in (Addressing.EXTENDED, Addressing.MIXED)

    @classmethod
    def normal_fixed(cls, target: int, source: int, *, functional: bool = False) -> Address:
        """Return the 29-bit normal fixed address of `target` as `source` uses it (18DA, functional 18DB)."""
        mode = Addressing.NORMAL_FIXED
        tx_id = fixed_id(mode, target, source, functional=functional)
        return cls(tx_id, fixed_id(mode, source, target), True, mode)

    @classmethod
    def mixed_29(cls, target: int, source: int, extension: int, *, functional: bool = False) -> Address:
        """Return the 29-bit mixed address of `target` behind N_AE `extension` (18CE, functional 18CD)."""
        mode = Addressing.MIXED
        tx_id = fixed_id(mode, target, source, functional=functional)
        return cls(tx_id, fixed_id(mode, source, target), True, mode, extension, extension)


def _wrong(what: str) -> LocalError:
    return LocalError(what, hint="compare the address with ISO 15765-2, 9.7")
