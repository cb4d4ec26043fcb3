"""ISO 15765-2:2016, the network layer on CAN: sans-IO, both roles, from one transition table.

`Endpoint` talks to one peer; `PassiveReassembler` reads what others said; `pdu` has the single frame's data.
"""

from witnessmark.wire.isotp.address import Address, Addressing, fixed_id
from witnessmark.wire.isotp.endpoint import Endpoint
from witnessmark.wire.isotp.indication import Failed, FirstFrameSeen, Ignored, Indication, Received, Sent
from witnessmark.wire.isotp.passive import Lost, Message, PassiveReassembler
from witnessmark.wire.isotp.settings import Settings
from witnessmark.wire.isotp.table import diagram

__all__ = [
    "Address",
    "Addressing",
    "Endpoint",
    "Failed",
    "FirstFrameSeen",
    "Ignored",
    "Indication",
    "Lost",
    "Message",
    "PassiveReassembler",
    "Received",
    "Sent",
    "Settings",
    "diagram",
    "fixed_id",
]
