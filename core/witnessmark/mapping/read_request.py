"""The only requests that a probe can make: they read, and change nothing.

Numbers flow in, a `ReadRequest` flows out. Rules that hold here: there is no other way to one, and one that is not in
the table below cannot exist; the extended session, in which some control units switch brake functions off, needs the
caution to have been read and accepted.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from witnessmark.errors import LocalError
from witnessmark.wire.kwp import messages as kwp
from witnessmark.wire.obd import messages as obd
from witnessmark.wire.uds import requests as uds
from witnessmark.wire.uds.names import Session
from witnessmark.wire.uds.reports import Report

CAUTION = (
    "In the extended session some brake control units switch functions off: the anti-lock or stability function, or "
    "the parking brake. Only on a vehicle that stands, held so that it cannot roll."
)

FORMS = re.compile(
    rb"""
      \x10[\x01\x03]                # DiagnosticSessionControl: default, extended
    | \x3e[\x00\x80]                # TesterPresent
    | \x22..                        # ReadDataByIdentifier, one identifier
    | \x19(?:[\x01\x02].|\x0a)      # ReadDTCInformation: number and list by status mask, supported codes
    | \x1a.                         # ReadECUIdentification (ISO 14230-3)
    | \x21.                         # ReadDataByLocalIdentifier (ISO 14230-3)
    | \x01. | \x02.\x00             # ISO 15031-5: current data, freeze frame 0
    | \x03 | \x07 | \x0a            # stored, pending, permanent codes
    | \x09.                         # vehicle information
    """,
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Accepted:
    """Somebody read CAUTION and said yes. `by` is who, as an id."""

    by: str


@dataclass(frozen=True, slots=True)
class ReadRequest:
    """One request that only reads. Raises LocalError for bytes of any other form: then nothing can be sent."""

    payload: bytes

    def __post_init__(self) -> None:
        if not isinstance(self.payload, bytes) or not FORMS.fullmatch(self.payload):
            raise LocalError("a probe only reads", hint="learn what acts by listening to a tester that may send it")

    @property
    def extended(self) -> bool:
        """Whether this asks for the extended session."""
        return self.payload == b"\x10\x03"


def default_session() -> ReadRequest:
    """Ask for the default session: its answer states P2 and P2*."""
    return ReadRequest(uds.session(Session.DEFAULT))


def extended_session(accepted: Accepted) -> ReadRequest:
    """Ask for the extended session. Raises LocalError unless CAUTION was accepted."""
    if not isinstance(accepted, Accepted) or not accepted.by:
        raise LocalError("the caution was not accepted", hint=CAUTION)
    return ReadRequest(uds.session(Session.EXTENDED))


def tester_present(*, answer: bool = True) -> ReadRequest:
    """Ask whether anybody is there."""
    return ReadRequest(uds.tester_present(suppress=not answer))


def read(identifier: int) -> ReadRequest:
    """Read one identifier (22)."""
    return ReadRequest(uds.read_data(identifier))


def codes(mask: int = 0xFF) -> ReadRequest:
    """List trouble codes by status mask (19 02)."""
    return ReadRequest(uds.read_dtc(Report.DTC_BY_STATUS_MASK, DTCStatusMask=mask))


def code_count(mask: int = 0xFF) -> ReadRequest:
    """Count trouble codes by status mask (19 01): the answer names their format."""
    return ReadRequest(uds.read_dtc(Report.NUMBER_OF_DTC_BY_STATUS_MASK, DTCStatusMask=mask))


def identification(option: int) -> ReadRequest:
    """Read an identification record (1A, ISO 14230-3)."""
    return ReadRequest(kwp.read_identification(option))


def local(identifier: int) -> ReadRequest:
    """Read a record by its local identifier (21, ISO 14230-3)."""
    return ReadRequest(kwp.read_local(identifier))


def current_data(parameter: int) -> ReadRequest:
    """Read a parameter (OBD mode 01)."""
    return ReadRequest(obd.current_data(parameter))


def freeze_frame(parameter: int) -> ReadRequest:
    """Read a parameter of freeze frame 0 (OBD mode 02)."""
    return ReadRequest(obd.freeze_frame(parameter))


def obd_codes(mode: int) -> ReadRequest:
    """Read stored (03), pending (07) or permanent (0A) codes."""
    return ReadRequest(obd.codes(mode))


def vehicle_information(kind: int) -> ReadRequest:
    """Read vehicle information (OBD mode 09)."""
    return ReadRequest(obd.vehicle_information(kind))
