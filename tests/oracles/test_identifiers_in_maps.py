"""The names that a learned map carries, against the tables of udsoncan and scapy.

A unit that answers every identifier F180-F19F and was asked every service is made up; its map is what is looked at.
"""

import re
import warnings

import pytest
from udsoncan.common.dids import DataIdentifier

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # scapy's own imports warn about ciphers; nothing of ours is loaded here
    from scapy.contrib.automotive.uds import UDS

from witnessmark.mapping.learn import Learner
from witnessmark.mapping.peers import standard_peers
from witnessmark.mapping.seen import Answer, Seen
from witnessmark.recording.line import Line
from witnessmark.wire.can_id import partner

ASKED_ON, UNIT = Line("", 0x7E0), Line("", 0x7E8)
SERVICES = {number: name for number, name in UDS.services.items() if not number & 0x40}


@pytest.fixture(scope="module")
def unit():
    learner = Learner("probed", "made up")
    for number in range(0xF180, 0xF1A0):
        request = b"\x22" + number.to_bytes(2, "big")
        answer = b"\x62" + request[1:] + b"A"
        learner.feed(Seen(UNIT, ASKED_ON, False, request, 1, (Answer(answer, 2, 2),)))
    for number in SERVICES:
        learner.feed(Seen(UNIT, ASKED_ON, False, bytes((number, 1)), 3, (Answer(bytes((0x7F, number, 0x11)), 4, 4),)))
    (found,) = learner.vehicle("v", "v").units
    return found


def letters(name):
    return re.sub(r"[^a-z0-9]", "", name.lower())


def test_identifiers_f180_to_f19f_are_named_as_udsoncan_names_them(unit):
    named = {int(one.identifier, 16): one.name for one in unit.identifiers if one.service == "22"}
    assert set(named) == set(range(0xF180, 0xF1A0))
    # ISO 14229-1:2020, annex C.1 has no F18F of its own: it belongs to a range, so a map gives it no name.
    assert named.pop(0xF18F) == ""
    for number, name in named.items():
        assert letters(name) + "dataidentifier" == letters(DataIdentifier.name_from_id(number)), hex(number)


def test_services_are_named_as_scapy_names_them(unit):
    named = {int(one.service, 16): one.name for one in unit.services}
    # scapy leaves "By" out of 2A; ISO 14229-1, 11.5 has it.
    assert named.pop(0x2A) == "ReadDataByPeriodicIdentifier" and SERVICES[0x2A] == "ReadDataPeriodicIdentifier"
    assert {number: letters(name) for number, name in named.items()} == {
        number: letters(name) for number, name in SERVICES.items() if number != 0x2A
    }


def test_the_standard_addresses_pair_as_iso_15765_4_pairs_them():
    """7E0-7E7 answer 8 above; 18DAxxF1 is answered on 18DAF1xx (the 29-bit ones from memory)."""
    for peer in (*standard_peers(), *standard_peers(extended=True)):
        if peer.extended:
            unit = peer.target >> 8 & 0xFF
            assert (peer.target, peer.source) == (0x18DA00F1 | unit << 8, 0x18DAF100 | unit)
        else:
            assert peer.source == peer.target + 8
        assert partner(peer.source, peer.extended) == peer.target
