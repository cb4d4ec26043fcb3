"""The data identifiers that ISO 14229-1:2020, annex C.1 names, and the ranges it sets aside for others.

The standard ends each name with "DataIdentifier", which is left off here. A maker's own identifiers are not here: what
they mean is a fact of the protocol map.
"""

from __future__ import annotations

from witnessmark.wire.meaning import hex_text

VIN = 0xF190

NAMES = {
    0xF180: "bootSoftwareIdentification",
    0xF181: "applicationSoftwareIdentification",
    0xF182: "applicationDataIdentification",
    0xF183: "bootSoftwareFingerprint",
    0xF184: "applicationSoftwareFingerprint",
    0xF185: "applicationDataFingerprint",
    0xF186: "activeDiagnosticSession",
    0xF187: "vehicleManufacturerSparePartNumber",
    0xF188: "vehicleManufacturerECUSoftwareNumber",
    0xF189: "vehicleManufacturerECUSoftwareVersionNumber",
    0xF18A: "systemSupplierIdentifier",
    0xF18B: "ECUManufacturingDate",
    0xF18C: "ECUSerialNumber",
    0xF18D: "supportedFunctionalUnits",
    0xF18E: "vehicleManufacturerKitAssemblyPartNumber",
    0xF190: "VIN",
    0xF191: "vehicleManufacturerECUHardwareNumber",
    0xF192: "systemSupplierECUHardwareNumber",
    0xF193: "systemSupplierECUHardwareVersionNumber",
    0xF194: "systemSupplierECUSoftwareNumber",
    0xF195: "systemSupplierECUSoftwareVersionNumber",
    0xF196: "exhaustRegulationOrTypeApprovalNumber",
    0xF197: "systemNameOrEngineType",
    0xF198: "repairShopCodeOrTesterSerialNumber",
    0xF199: "programmingDate",
    0xF19A: "calibrationRepairShopCodeOrCalibrationEquipmentSerialNumber",
    0xF19B: "calibrationDate",
    0xF19C: "calibrationEquipmentSoftwareNumber",
    0xF19D: "ECUInstallationDate",
    0xF19E: "ODXFile",
    0xF19F: "entity",
    0xFF00: "UDSVersionData",
    0xFF01: "reservedForISO15765-5",
}

_TEXT = frozenset((0xF187, 0xF188, 0xF189, 0xF18A, 0xF18C, 0xF190, 0xF191, 0xF192, 0xF193, 0xF194, 0xF195, 0xF197))
"""Identifiers whose records are usually letters and digits (common practice; the standard leaves most formats open)."""

# From memory of annex C.1, and as two libraries have them; the first range that holds the number names it.
_RANGES = (
    (0x0000, 0x00FF, "ISOSAEReserved"),
    (0x0100, 0xA5FF, "vehicleManufacturerSpecific"),
    (0xA600, 0xA7FF, "reservedForLegislativeUse"),
    (0xA800, 0xACFF, "vehicleManufacturerSpecific"),
    (0xAD00, 0xAFFF, "reservedForLegislativeUse"),
    (0xB000, 0xB1FF, "vehicleManufacturerSpecific"),
    (0xB200, 0xBFFF, "reservedForLegislativeUse"),
    (0xC000, 0xC2FF, "vehicleManufacturerSpecific"),
    (0xC300, 0xCEFF, "reservedForLegislativeUse"),
    (0xCF00, 0xEFFF, "vehicleManufacturerSpecific"),
    (0xF000, 0xF00F, "networkConfigurationDataForTractorTrailerApplication"),
    (0xF010, 0xF0FF, "vehicleManufacturerSpecific"),
    (0xF100, 0xF17F, "identificationOptionVehicleManufacturerSpecific"),
    (0xF180, 0xF19F, "identificationOption"),
    (0xF1A0, 0xF1EF, "identificationOptionVehicleManufacturerSpecific"),
    (0xF1F0, 0xF1FF, "identificationOptionSystemSupplierSpecific"),
    (0xF200, 0xF2FF, "periodicDataIdentifier"),
    (0xF300, 0xF3FF, "dynamicallyDefinedDataIdentifier"),
    (0xF400, 0xF5FF, "OBDDataIdentifier"),
    (0xF600, 0xF6FF, "OBDMonitorDataIdentifier"),
    (0xF700, 0xF7FF, "OBDDataIdentifier"),
    (0xF800, 0xF8FF, "OBDInfoTypeDataIdentifier"),
    (0xF900, 0xF9FF, "tachographDataIdentifier"),
    (0xFA00, 0xFA0F, "airbagDeploymentDataIdentifier"),
    (0xFA10, 0xFAFF, "safetySystemDataIdentifier"),
    (0xFB00, 0xFCFF, "reservedForLegislativeUse"),
    (0xFD00, 0xFEFF, "systemSupplierSpecific"),
    (0xFF00, 0xFFFF, "ISOSAEReserved"),
)


def identifier_name(identifier: int) -> str:
    """Name a data identifier; where it has no name of its own, name its range. Empty beyond 0xFFFF. Never raises."""
    own = NAMES.get(identifier)
    if own is not None:
        return own
    return next((name for first, last, name in _RANGES if first <= identifier <= last), "")


def identifier_text(identifier: int) -> str:
    """Print an identifier for people: its number, and its name where the standard gives it one of its own."""
    own = NAMES.get(identifier)
    return f"0x{identifier:04X} {own}" if own else f"0x{identifier:04X}"


_VIN = 0xF190
"""A number that fills its record: bytes behind it belong to no filler."""


def record_text(identifier: int, record: bytes) -> str:
    """Print a data record: as text where it is all printable and the identifier usually holds text, else as hex."""
    if identifier in _TEXT:
        printable = record.rstrip(b"\x00 \xff")
        if printable and all(0x20 <= byte <= 0x7E for byte in printable):
            rest = record[len(printable) :]
            told = f", then {hex_text(rest)}" if identifier == _VIN and rest else ""
            return printable.decode("ascii") + told
    return hex_text(record)
