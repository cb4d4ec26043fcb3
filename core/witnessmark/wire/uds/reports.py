"""The reports of ReadDTCInformation (ISO 14229-1:2020, clause 12.3), by number and by the name the standard prints."""

from __future__ import annotations

from enum import IntEnum


class Report(IntEnum):
    """A report type: the sub-function of service 0x19."""

    NUMBER_OF_DTC_BY_STATUS_MASK = 0x01
    DTC_BY_STATUS_MASK = 0x02
    DTC_SNAPSHOT_IDENTIFICATION = 0x03
    DTC_SNAPSHOT_RECORD_BY_DTC_NUMBER = 0x04
    DTC_STORED_DATA_BY_RECORD_NUMBER = 0x05
    DTC_EXT_DATA_RECORD_BY_DTC_NUMBER = 0x06
    NUMBER_OF_DTC_BY_SEVERITY_MASK_RECORD = 0x07
    DTC_BY_SEVERITY_MASK_RECORD = 0x08
    SEVERITY_INFORMATION_OF_DTC = 0x09
    SUPPORTED_DTC = 0x0A
    FIRST_TEST_FAILED_DTC = 0x0B
    FIRST_CONFIRMED_DTC = 0x0C
    MOST_RECENT_TEST_FAILED_DTC = 0x0D
    MOST_RECENT_CONFIRMED_DTC = 0x0E
    MIRROR_MEMORY_DTC_BY_STATUS_MASK = 0x0F
    MIRROR_MEMORY_DTC_EXT_DATA_RECORD_BY_DTC_NUMBER = 0x10
    NUMBER_OF_MIRROR_MEMORY_DTC_BY_STATUS_MASK = 0x11
    NUMBER_OF_EMISSIONS_OBD_DTC_BY_STATUS_MASK = 0x12
    EMISSIONS_OBD_DTC_BY_STATUS_MASK = 0x13
    DTC_FAULT_DETECTION_COUNTER = 0x14
    DTC_WITH_PERMANENT_STATUS = 0x15
    DTC_EXT_DATA_RECORD_BY_RECORD_NUMBER = 0x16
    USER_DEF_MEMORY_DTC_BY_STATUS_MASK = 0x17
    USER_DEF_MEMORY_DTC_SNAPSHOT_RECORD_BY_DTC_NUMBER = 0x18
    USER_DEF_MEMORY_DTC_EXT_DATA_RECORD_BY_DTC_NUMBER = 0x19
    SUPPORTED_DTC_EXT_DATA_RECORD = 0x1A
    WWH_OBD_DTC_BY_MASK_RECORD = 0x42
    WWH_OBD_DTC_WITH_PERMANENT_STATUS = 0x55
    DTC_INFORMATION_BY_DTC_READINESS_GROUP_IDENTIFIER = 0x56

    @property
    def iso_name(self) -> str:
        """The name as the standard prints it, such as `reportDTCByStatusMask`."""
        return REPORT_NAMES[self]


REPORT_NAMES: dict[int, str] = {
    0x01: "reportNumberOfDTCByStatusMask",
    0x02: "reportDTCByStatusMask",
    0x03: "reportDTCSnapshotIdentification",
    0x04: "reportDTCSnapshotRecordByDTCNumber",
    0x05: "reportDTCStoredDataByRecordNumber",
    0x06: "reportDTCExtDataRecordByDTCNumber",
    0x07: "reportNumberOfDTCBySeverityMaskRecord",
    0x08: "reportDTCBySeverityMaskRecord",
    0x09: "reportSeverityInformationOfDTC",
    0x0A: "reportSupportedDTC",
    0x0B: "reportFirstTestFailedDTC",
    0x0C: "reportFirstConfirmedDTC",
    0x0D: "reportMostRecentTestFailedDTC",
    0x0E: "reportMostRecentConfirmedDTC",
    0x0F: "reportMirrorMemoryDTCByStatusMask",
    0x10: "reportMirrorMemoryDTCExtDataRecordByDTCNumber",
    0x11: "reportNumberOfMirrorMemoryDTCByStatusMask",
    0x12: "reportNumberOfEmissionsOBDDTCByStatusMask",
    0x13: "reportEmissionsOBDDTCByStatusMask",
    0x14: "reportDTCFaultDetectionCounter",
    0x15: "reportDTCWithPermanentStatus",
    0x16: "reportDTCExtDataRecordByRecordNumber",
    0x17: "reportUserDefMemoryDTCByStatusMask",
    0x18: "reportUserDefMemoryDTCSnapshotRecordByDTCNumber",
    0x19: "reportUserDefMemoryDTCExtDataRecordByDTCNumber",
    0x1A: "reportSupportedDTCExtDataRecord",
    0x42: "reportWWHOBDDTCByMaskRecord",
    0x55: "reportWWHOBDDTCWithPermanentStatus",
    0x56: "reportDTCInformationByDTCReadinessGroupIdentifier",
}
"""Reports 0x0F to 0x13 are of edition 2013 and were withdrawn in 2020; units in the field still answer them."""
