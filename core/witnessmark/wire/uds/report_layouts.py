"""Layouts of ReadDTCInformation (ISO 14229-1:2020, 12.3.2 and 12.3.3), by report type.

Snapshot and extended data records hold values whose lengths only the maker knows: the first record's number (and the
first identifier in a snapshot) are named, what follows stays one raw tail. Everywhere else each trouble code is a
record of its own.
"""

from __future__ import annotations

from construct import Int8sb, Int8ub, Int16ub, Int24ub

from witnessmark.wire.layout import Layout

_REPORT = "reportType" / Int8ub
_MASK = "DTCStatusMask" / Int8ub
_SEVERITY_MASK = "DTCSeverityMask" / Int8ub
_MASK_RECORD = "DTCMaskRecord" / Int24ub
_SNAPSHOT = "DTCSnapshotRecordNumber" / Int8ub
_STORED = "DTCStoredDataRecordNumber" / Int8ub
_EXTENDED = "DTCExtDataRecordNumber" / Int8ub
_USER_SNAPSHOT = "UserDefDTCSnapshotRecordNumber" / Int8ub
_MEMORY = "MemorySelection" / Int8ub
_GROUP = "FunctionalGroupIdentifier" / Int8ub
_READINESS = "DTCReadinessGroupIdentifier" / Int8ub

_AVAILABILITY = "DTCStatusAvailabilityMask" / Int8ub
_SEVERITY_AVAILABILITY = "DTCSeverityAvailabilityMask" / Int8ub
_FORMAT = "DTCFormatIdentifier" / Int8ub
_COUNT = "DTCCount" / Int16ub
_SEVERITY = "DTCSeverity" / Int8ub
_UNIT = "DTCFunctionalUnit" / Int8ub
_DTC = "DTC" / Int24ub
_STATUS = "statusOfDTC" / Int8ub
_IDENTIFIERS = "DTCSnapshotRecordNumberOfIdentifiers" / Int8ub
_IDENTIFIER = "dataIdentifier" / Int16ub
_COUNTER = "DTCFaultDetectionCounter" / Int8sb

_BY_STATUS = Layout(_REPORT, _MASK)
_BARE = Layout(_REPORT)
_BY_SEVERITY = Layout(_REPORT, _SEVERITY_MASK, _MASK)
_EXTENDED_OF_CODE = Layout(_REPORT, _MASK_RECORD, _EXTENDED)

REQUESTS: dict[int, Layout] = {
    **dict.fromkeys((0x01, 0x02, 0x0F, 0x11, 0x12, 0x13), _BY_STATUS),
    **dict.fromkeys((0x03, 0x0A, 0x0B, 0x0C, 0x0D, 0x0E, 0x14, 0x15), _BARE),
    0x04: Layout(_REPORT, _MASK_RECORD, _SNAPSHOT),
    0x05: Layout(_REPORT, _STORED),
    **dict.fromkeys((0x06, 0x10), _EXTENDED_OF_CODE),
    **dict.fromkeys((0x07, 0x08), _BY_SEVERITY),
    0x09: Layout(_REPORT, _MASK_RECORD),
    0x16: Layout(_REPORT, _EXTENDED),
    0x17: Layout(_REPORT, _MASK, _MEMORY),
    0x18: Layout(_REPORT, _MASK_RECORD, _USER_SNAPSHOT, _MEMORY),
    0x19: Layout(_REPORT, _MASK_RECORD, _EXTENDED, _MEMORY),
    0x1A: Layout(_REPORT, _EXTENDED),
    0x42: Layout(_REPORT, _GROUP, _MASK, _SEVERITY_MASK),
    0x55: Layout(_REPORT, _GROUP),
    0x56: Layout(_REPORT, _GROUP, _READINESS),
}

_CODES = (_DTC, _STATUS)
_COUNTED = Layout(_REPORT, _AVAILABILITY, _FORMAT, _COUNT)
_LISTED = Layout(_REPORT, _AVAILABILITY, records=_CODES)
_OF_ONE_CODE = Layout(_REPORT, _DTC, _STATUS, _EXTENDED, tail="DTCExtDataRecord", optional=3)
_BY_SEVERITY_LISTED = Layout(_REPORT, _AVAILABILITY, records=(_SEVERITY, _UNIT, _DTC, _STATUS))

ANSWERS: dict[int, Layout] = {
    **dict.fromkeys((0x01, 0x07, 0x11, 0x12), _COUNTED),
    **dict.fromkeys((0x02, 0x0A, 0x0B, 0x0C, 0x0D, 0x0E, 0x0F, 0x13, 0x15), _LISTED),
    0x03: Layout(_REPORT, records=(_DTC, _SNAPSHOT)),
    0x04: Layout(_REPORT, _DTC, _STATUS, _SNAPSHOT, _IDENTIFIERS, _IDENTIFIER, tail="DTCSnapshotRecord", optional=3),
    0x05: Layout(
        _REPORT,
        _STORED,
        _DTC,
        _STATUS,
        "DTCStoredDataRecordNumberOfIdentifiers" / Int8ub,
        _IDENTIFIER,
        tail="DTCStoredDataRecord",
        optional=2,
    ),
    **dict.fromkeys((0x06, 0x10), _OF_ONE_CODE),
    **dict.fromkeys((0x08, 0x09), _BY_SEVERITY_LISTED),
    0x14: Layout(_REPORT, records=(_DTC, _COUNTER)),
    0x16: Layout(_REPORT, _EXTENDED, _DTC, _STATUS, tail="DTCExtDataRecord", optional=2),
    0x17: Layout(_REPORT, _MEMORY, _AVAILABILITY, records=_CODES),
    0x18: Layout(
        _REPORT,
        _MEMORY,
        _DTC,
        _STATUS,
        _USER_SNAPSHOT,
        _IDENTIFIERS,
        _IDENTIFIER,
        tail="UserDefDTCSnapshotRecord",
        optional=4,
    ),
    0x19: Layout(_REPORT, _MEMORY, _DTC, _STATUS, _EXTENDED, tail="DTCExtDataRecord", optional=4),
    0x1A: Layout(_REPORT, _AVAILABILITY, _EXTENDED, records=_CODES, optional=2),
    0x42: Layout(_REPORT, _GROUP, _AVAILABILITY, _SEVERITY_AVAILABILITY, _FORMAT, records=(_SEVERITY, _DTC, _STATUS)),
    0x55: Layout(_REPORT, _GROUP, _AVAILABILITY, _FORMAT, records=_CODES),
    0x56: Layout(_REPORT, _GROUP, _AVAILABILITY, _FORMAT, _READINESS, records=_CODES),
}
