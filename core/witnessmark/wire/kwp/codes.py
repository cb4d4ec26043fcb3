"""Response codes of ISO 14230-3, clause 4.4: some numbers mean something else than in ISO 14229-1.

From memory, held against one library's table by a test. 0x23 routineNotComplete asks to come again, as 0x21 does.
"""

from __future__ import annotations

RESPONSE_PENDING = 0x78
ROUTINE_NOT_COMPLETE = 0x23

NAMES: dict[int, str] = {
    0x10: "generalReject",
    0x11: "serviceNotSupported",
    0x12: "subFunctionNotSupported-invalidFormat",
    0x21: "busy-repeatRequest",
    0x22: "conditionsNotCorrectOrRequestSequenceError",
    0x23: "routineNotComplete",
    0x31: "requestOutOfRange",
    0x33: "securityAccessDenied",
    0x35: "invalidKey",
    0x36: "exceedNumberOfAttempts",
    0x37: "requiredTimeDelayNotExpired",
    0x40: "downloadNotAccepted",
    0x41: "improperDownloadType",
    0x42: "can'tDownloadToSpecifiedAddress",
    0x43: "can'tDownloadNumberOfBytesRequested",
    0x50: "uploadNotAccepted",
    0x51: "improperUploadType",
    0x52: "can'tUploadFromSpecifiedAddress",
    0x53: "can'tUploadNumberOfBytesRequested",
    0x71: "transferSuspended",
    0x72: "transferAborted",
    0x74: "illegalAddressInBlockTransfer",
    0x75: "illegalByteCountInBlockTransfer",
    0x76: "illegalBlockTransferType",
    0x77: "blockTransferDataChecksumError",
    0x78: "reqCorrectlyRcvd-RspPending",
    0x79: "incorrectByteCountDuringBlockTransfer",
    0x80: "serviceNotSupportedInActiveDiagnosticSession",
}


def code_name(code: int) -> str:
    """Name a response code; an unknown one is named by its number and range. Never raises."""
    known = NAMES.get(code)
    if known is not None:
        return known
    if 0x90 <= code <= 0xF9:
        return f"0x{code:02X} vehicle manufacturer specific"
    if 0xFA <= code <= 0xFE:
        return f"0x{code:02X} system supplier specific"
    return f"0x{code:02X} reserved"
