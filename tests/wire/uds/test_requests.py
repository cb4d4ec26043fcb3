"""Requests built: what goes out of range is refused, what is built is read back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError
from witnessmark.wire.uds import requests
from witnessmark.wire.uds.decode import decode
from witnessmark.wire.uds.head import head
from witnessmark.wire.uds.reports import Report

BYTE = st.integers(0, 0xFF)
WORD = st.integers(0, 0xFFFF)
RECORD = st.binary(max_size=12)


@pytest.mark.parametrize(
    ("build", "place"),
    [
        (lambda: requests.session(0x80), "diagnosticSessionType"),
        (lambda: requests.session(-1), "diagnosticSessionType"),
        (lambda: requests.routine(0x81, 1), "routineControlType"),
        (lambda: requests.start_routine(0x10000), "routineIdentifier"),
        (lambda: requests.read_data(), "dataIdentifier"),
        (lambda: requests.read_data(0xF190, 0x10000), "dataIdentifier"),
        (lambda: requests.write_data(-1, b""), "dataIdentifier"),
        (lambda: requests.io_control(0xD001, 0x100), "inputOutputControlParameter"),
        (lambda: requests.clear_dtc(0x1000000), "groupOfDTC"),
        (lambda: requests.clear_dtc(1, 0x100), "MemorySelection"),
        (lambda: requests.request_seed(2), "securityAccessType"),
        (lambda: requests.send_key(1, b""), "securityAccessType"),
        (lambda: requests.communication(4), "nodeIdentificationNumber"),
        (lambda: requests.communication(0, 1, 5), "nodeIdentificationNumber"),
        (lambda: requests.read_memory(0x100, 1, address_bytes=1), "memoryAddress"),
        (lambda: requests.read_memory(1, 1, address_bytes=16), "address_bytes"),
        (lambda: requests.read_dtc(0x02), "reportType"),
        (lambda: requests.read_dtc(0x02, DTCStatusMask=1, MemorySelection=1), "reportType"),
        (lambda: requests.read_dtc(0x02, DTCStatusMask=0x100), "DTCStatusMask"),
        (lambda: requests.read_dtc(0x7E), "reportType"),
        (lambda: requests.build(0xA8, {}), "service"),
    ],
)
def test_a_value_out_of_range_is_refused_by_name_and_nothing_is_built(build, place):
    with pytest.raises(InputError) as caught:
        build()
    assert caught.value.place == place
    assert caught.value.hint
    assert caught.value.reached == "nothing"


def test_keep_alive_wants_no_answer():
    assert requests.tester_present() == b"\x3e\x80"
    assert head(requests.tester_present()).suppress


def test_the_default_report_takes_a_status_mask():
    assert requests.read_dtc(DTCStatusMask=0xFF) == bytes.fromhex("1902FF")
    assert requests.read_dtc(Report.DTC_SNAPSHOT_IDENTIFICATION) == bytes.fromhex("1903")


@given(st.integers(1, 3), WORD, RECORD, st.booleans())
def test_routine_requests_are_read_back(control, identifier, option, suppress):
    payload = requests.routine(control, identifier, option, suppress=suppress)
    facts = head(payload)
    assert (facts.sub_function, facts.identifier, facts.suppress) == (control, identifier, suppress)
    read = decode(payload)
    assert read.problem == ""
    assert read.value("routineControlType") == control
    assert read.value("routineIdentifier") == identifier
    assert (read.value("routineControlOptionRecord") or b"") == option


@given(WORD, st.integers(0, 3), RECORD, RECORD)
def test_input_output_requests_are_read_back(identifier, control, state, mask):
    read = decode(requests.io_control(identifier, control, state, mask))
    assert read.value("dataIdentifier") == identifier
    assert read.value("inputOutputControlParameter") == control
    assert (read.value("controlState") or b"") == state + mask


@given(st.lists(WORD, min_size=1, max_size=8))
def test_identifiers_asked_for_are_read_back(identifiers):
    assert decode(requests.read_data(*identifiers)).values("dataIdentifier") == tuple(identifiers)


@given(st.integers(1, 15), st.integers(1, 15), st.data())
def test_memory_requests_are_read_back(address_bytes, size_bytes, data):
    address = data.draw(st.integers(0, (1 << 8 * address_bytes) - 1))
    size = data.draw(st.integers(0, (1 << 8 * size_bytes) - 1))
    read = decode(requests.read_memory(address, size, address_bytes=address_bytes, size_bytes=size_bytes))
    assert (read.value("memoryAddress"), read.value("memorySize"), read.problem) == (address, size, "")


@given(st.sampled_from(list(Report)), st.data())
def test_report_requests_are_read_back(report, data):
    from witnessmark.wire.uds.report_layouts import REQUESTS

    widths = {field.name: field.sizeof() for field in REQUESTS[report].fields[1:]}
    values = {name: data.draw(st.integers(0, (1 << 8 * width) - 1)) for name, width in widths.items()}
    read = decode(requests.read_dtc(report, **values))
    assert read.problem == ""
    assert {name: read.value(name) for name in values} == values
