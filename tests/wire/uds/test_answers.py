"""Answers built are read back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError
from witnessmark.wire.uds import answers, requests
from witnessmark.wire.uds.decode import decode
from witnessmark.wire.uds.head import head
from witnessmark.wire.uds.reports import REPORT_NAMES
from witnessmark.wire.uds.services import Service
from witnessmark.wire.uds.timing import session_timing

CODES = st.lists(st.tuples(st.integers(0, 0xFFFFFF), st.integers(0, 0xFF)), max_size=12)


@given(st.sampled_from(list(Service)), st.integers(0, 0xFF))
def test_refusals_are_read_back(service, code):
    facts = head(answers.negative(service, code))
    assert (facts.service, facts.negative, facts.response_code) == (service, True, code)
    assert decode(answers.negative(service, code)).value("responseCode") == code


@given(st.integers(0, 0xFFFF), st.integers(0, 0xFFFF))
def test_session_times_are_read_back_to_the_unit(p2_ms, p2_star_10ms):
    payload = answers.session(3, p2_ms / 1000, p2_star_10ms / 100)
    assert session_timing(payload) == (p2_ms / 1000, p2_star_10ms / 100)


@given(st.integers(0, 0xFF), CODES)
def test_trouble_codes_are_read_back(availability, codes):
    read = decode(answers.dtc_list(availability, codes))
    assert read.problem == ""
    assert list(zip(read.values("DTC"), read.values("statusOfDTC"), strict=True)) == codes


@given(st.sampled_from(sorted(REPORT_NAMES)), st.data())
def test_every_report_is_built_and_read_back(report, data):
    from witnessmark.wire.uds.report_layouts import ANSWERS

    layout = ANSWERS[report]

    def draw(fields):
        return {
            field.name: data.draw(st.integers(-128, 127))
            if field.name == "DTCFaultDetectionCounter"
            else data.draw(st.integers(0, (1 << 8 * field.sizeof()) - 1))
            for field in fields
        }

    values = {**draw(layout.fields[1:]), "reportType": report}
    records = [draw(layout.records) for _ in range(data.draw(st.integers(0, 3)))] if layout.records else []
    tail = data.draw(st.binary(max_size=8)) if layout.tail else b""
    read = decode(answers.build(Service.READ_DTC_INFORMATION, values, records=records, tail=tail))
    assert read.problem == ""
    assert read.name == "ReadDTCInformation"
    assert REPORT_NAMES[report] in read.text
    for name, value in values.items():
        expected = (value, *(record[name] for record in records if name in record))
        assert read.values(name) == expected
    for name in {name for record in records for name in record} - values.keys():
        assert read.values(name) == tuple(record[name] for record in records)
    if tail:
        assert read.value(layout.tail) == tail


def test_the_other_answers_are_what_the_standard_lays_out():
    # ISO 14229-1:2020, worked by hand (from memory).
    assert answers.tester_present() == bytes.fromhex("7E00")
    assert answers.clear_dtc() == b"\x54"
    assert answers.key_accepted(2) == bytes.fromhex("6702")
    assert answers.communication(3) == bytes.fromhex("6803")
    assert answers.dtc_setting(2) == bytes.fromhex("C502")
    assert answers.io_control(0xD001, 3, b"\x05") == bytes.fromhex("6FD0010305")
    assert answers.dtc_record(6, 0x523456, 0x09, b"\x01\xaa") == bytes.fromhex("59065234560901AA")
    assert answers.positive(0x36, b"\x01") == bytes.fromhex("7601")


@pytest.mark.parametrize(
    "build",
    [
        lambda: answers.negative(0x31, 0x100),
        lambda: answers.session(3, 66.0),
        lambda: answers.dtc_list(0xFF, [(0x1000000, 0)]),
        lambda: answers.read_data({0x10000: b""}),
        lambda: answers.build(0xA8, {}),
        lambda: answers.positive(0x1FF),
    ],
)
def test_a_value_out_of_range_is_refused(build):
    with pytest.raises(InputError):
        build()


@given(st.dictionaries(st.integers(0x8000, 0xFFFF), st.binary(min_size=1, max_size=6), min_size=1, max_size=4))
def test_records_are_told_apart_or_left_together_and_never_wrongly(records):
    payload = answers.read_data(records)
    read = decode(payload, request=requests.read_data(*records))
    found = dict(zip(read.values("dataIdentifier"), read.values("dataRecord"), strict=True))
    first = next(iter(records))
    assert found in (records, {first: payload[3:]})
