"""Layouts of Authentication (ISO 14229-1:2020, clause 10.6), by authentication task.

Every open-ended parameter is preceded by its length in two bytes.
"""

from __future__ import annotations

from typing import Any

from construct import Bytes, Int8ub, Int16ub, this

from witnessmark.wire.layout import Layout

_TASK = "authenticationTask" / Int8ub
_RETURN = "authenticationReturnParameter" / Int8ub
_CONFIGURATION = "communicationConfiguration" / Int8ub
_ALGORITHM = "algorithmIndicator" / Bytes(16)


def _measured(name: str) -> tuple[Any, Any]:
    """Give a parameter of open length, with the length that stands before it."""
    length = "lengthOf" + name[0].upper() + name[1:]
    return length / Int16ub, name / Bytes(this[length])


_VERIFY_CERTIFICATE = Layout(_TASK, _CONFIGURATION, *_measured("certificateClient"), *_measured("challengeClient"))
_VERIFY_PROOF = Layout(
    _TASK,
    _ALGORITHM,
    *_measured("proofOfOwnershipClient"),
    *_measured("challengeClient"),
    *_measured("additionalParameter"),
)

REQUESTS: dict[int, Layout] = {
    0x00: Layout(_TASK),
    0x01: _VERIFY_CERTIFICATE,
    0x02: _VERIFY_CERTIFICATE,
    0x03: Layout(_TASK, *_measured("proofOfOwnershipClient"), *_measured("ephemeralPublicKeyClient")),
    0x04: Layout(_TASK, "certificateEvaluationId" / Int16ub, *_measured("certificateData")),
    0x05: Layout(_TASK, _CONFIGURATION, _ALGORITHM),
    0x06: _VERIFY_PROOF,
    0x07: _VERIFY_PROOF,
    0x08: Layout(_TASK),
}

_RESULT = Layout(_TASK, _RETURN)

ANSWERS: dict[int, Layout] = {
    **dict.fromkeys((0x00, 0x04, 0x08), _RESULT),
    0x01: Layout(_TASK, _RETURN, *_measured("challengeServer"), *_measured("ephemeralPublicKeyServer")),
    0x02: Layout(
        _TASK,
        _RETURN,
        *_measured("challengeServer"),
        *_measured("certificateServer"),
        *_measured("proofOfOwnershipServer"),
        *_measured("ephemeralPublicKeyServer"),
    ),
    0x03: Layout(_TASK, _RETURN, *_measured("sessionKeyInfo")),
    0x05: Layout(_TASK, _RETURN, _ALGORITHM, *_measured("challengeServer"), *_measured("neededAdditionalParameter")),
    0x06: Layout(_TASK, _RETURN, _ALGORITHM, *_measured("sessionKeyInfo")),
    0x07: Layout(_TASK, _RETURN, _ALGORITHM, *_measured("proofOfOwnershipServer"), *_measured("sessionKeyInfo")),
}
