"""Who the practice control unit says it is: identification by identifier (ISO 14229-1, annex C.1). All invented.

The world manufacturer identifier begins with 0, which ISO 3780 gives to no region, so the number can be nobody's.
"""

from __future__ import annotations

VIN = "0DU14LT2XN0000014"

SOFTWARE = "03.20.7"
IDENTIFICATION: dict[int, bytes] = {
    0xF187: b"DEPOT-BCU-1400",  # vehicleManufacturerSparePartNumber
    0xF188: b"BCU14SW",  # vehicleManufacturerECUSoftwareNumber
    0xF189: SOFTWARE.rpartition(".")[0].encode("ascii"),  # vehicleManufacturerECUSoftwareVersionNumber
    0xF18A: b"INVENTED",  # systemSupplierIdentifier
    0xF18B: bytes((0x20, 0x26, 0x04, 0x17)),  # ECUManufacturingDate
    0xF18C: b"P00014",  # ECUSerialNumber
    0xF190: VIN.encode("ascii"),  # VIN
    0xF191: b"BCU14HW-B",  # vehicleManufacturerECUHardwareNumber
    0xF195: SOFTWARE.encode("ascii"),  # systemSupplierECUSoftwareVersionNumber
    0xF197: b"BRAKE CONTROL",  # systemNameOrEngineType
}


def with_software(number: str) -> dict[int, bytes]:
    """Return what the unit says once it runs other software: the whole number, and the version before its last dot."""
    version = number.rpartition(".")[0] or number
    return IDENTIFICATION | {0xF189: version.encode("ascii"), 0xF195: number.encode("ascii")}
