"""How the usual ISO 14230-3 messages are laid out behind their first byte. Importing this loads construct.

From memory of the standard. What is not here (downloads, memory writes, dynamic definitions) keeps its body raw.
"""

from __future__ import annotations

from construct import Int8ub, Int16ub, Int24ub

from witnessmark.wire.layout import Layout

_LOCAL = "recordLocalIdentifier" / Int8ub
_COMMON = "recordCommonIdentifier" / Int16ub
_MODE = "diagnosticMode" / Int8ub
_GROUP = "groupOfDTC" / Int16ub
_DTC = "DTC" / Int16ub
_STATUS = "statusOfDTC" / Int8ub
_OPTION = "identificationOption" / Int8ub
_COUNT = "numberOfDTC" / Int8ub
_ROUTINE = "routineLocalIdentifier" / Int8ub
_ADDRESS = "routineAddress" / Int24ub
_IO_LOCAL = "inputOutputLocalIdentifier" / Int8ub
_IO_COMMON = "inputOutputCommonIdentifier" / Int16ub
_CONTROL = "inputOutputControlParameter" / Int8ub
_ACCESS = "accessMode" / Int8ub
_TIMING = "timingParameterIdentifier" / Int8ub
_TIMES = tuple(name / Int8ub for name in ("P2min", "P2max", "P3min", "P3max", "P4min"))

REQUESTS: dict[int, Layout] = {
    0x10: Layout(_MODE, tail="baudrateIdentifier"),
    0x11: Layout("resetMode" / Int8ub),
    0x13: Layout(_GROUP, optional=0),
    0x14: Layout(_GROUP),
    0x17: Layout(_GROUP),
    0x18: Layout("statusOfDTCRequest" / Int8ub, _GROUP),
    0x1A: Layout(_OPTION, tail="identificationRecord"),
    0x20: Layout(),
    0x21: Layout(_LOCAL, tail="transmissionMode"),
    0x22: Layout(_COMMON, tail="transmissionMode"),
    0x23: Layout("memoryAddress" / Int24ub, "memorySize" / Int8ub, tail="transmissionMode"),
    0x27: Layout(_ACCESS, tail="key"),
    0x2E: Layout(_COMMON, tail="recordValue"),
    0x2F: Layout(_IO_COMMON, _CONTROL, tail="controlState"),
    0x30: Layout(_IO_LOCAL, _CONTROL, tail="controlState"),
    0x31: Layout(_ROUTINE, tail="routineEntryOption"),
    0x32: Layout(_ROUTINE, tail="routineExitOption"),
    0x33: Layout(_ROUTINE),
    0x38: Layout(_ADDRESS, tail="routineEntryOption"),
    0x39: Layout(_ADDRESS, tail="routineExitOption"),
    0x3A: Layout(_ADDRESS),
    0x3B: Layout(_LOCAL, tail="recordValue"),
    0x3E: Layout("responseRequired" / Int8ub, optional=0),
    0x81: Layout(),
    0x82: Layout(),
    0x83: Layout(_TIMING, *_TIMES, optional=1),
}

ANSWERS: dict[int, Layout] = {
    0x10: Layout(_MODE, tail="baudrateIdentifier"),
    0x11: Layout(tail="resetStatus"),
    0x13: Layout(_COUNT, records=(_DTC,)),
    0x14: Layout(_GROUP),
    0x17: Layout(_COUNT, _DTC, _STATUS, tail="DTCSystemSupplierData"),
    0x18: Layout(_COUNT, records=(_DTC, _STATUS)),
    0x1A: Layout(_OPTION, tail="identificationRecord"),
    0x20: Layout(),
    0x21: Layout(_LOCAL, tail="recordValue"),
    0x22: Layout(_COMMON, tail="recordValue"),
    0x23: Layout(tail="recordValue"),
    0x27: Layout(_ACCESS, tail="seed"),
    0x2E: Layout(_COMMON),
    0x2F: Layout(_IO_COMMON, _CONTROL, tail="controlStatus"),
    0x30: Layout(_IO_LOCAL, _CONTROL, tail="controlStatus"),
    0x31: Layout(_ROUTINE, tail="routineEntryStatus"),
    0x32: Layout(_ROUTINE, tail="routineExitStatus"),
    0x33: Layout(_ROUTINE, tail="routineResults"),
    0x38: Layout(_ADDRESS, tail="routineEntryStatus"),
    0x39: Layout(_ADDRESS, tail="routineExitStatus"),
    0x3A: Layout(_ADDRESS, tail="routineResults"),
    0x3B: Layout(_LOCAL),
    0x3E: Layout(),
    0x81: Layout("keyByte1" / Int8ub, "keyByte2" / Int8ub),
    0x82: Layout(),
    0x83: Layout(_TIMING, *_TIMES, optional=1),
}
