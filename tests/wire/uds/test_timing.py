"""Session times."""

import pytest

from witnessmark.errors import PeerError
from witnessmark.wire.uds import timing


def test_the_session_answer_states_p2_in_one_and_p2_star_in_ten_milliseconds():
    # ISO 14229-1, 10.2: 0032 is 50 ms, 01F4 is 500 x 10 ms.
    assert timing.session_timing(bytes.fromhex("5003 0032 01F4")) == (0.050, 5.0)


def test_a_session_answer_without_its_record_says_so():
    with pytest.raises(PeerError) as caught:
        timing.session_timing(bytes.fromhex("5003"))
    assert caught.value.reason == "no_timing"


@pytest.mark.parametrize("payload", ["", "7F1022", "6203003201F4"])
def test_another_message_is_no_session_answer(payload):
    with pytest.raises(PeerError) as caught:
        timing.session_timing(bytes.fromhex(payload))
    assert caught.value.reason == "not_a_session_answer"


def test_keep_alive_comes_well_inside_the_servers_session_time():
    # 2000 ms against 5000 ms: ISO 14229-2, from memory; both figures also stand in two libraries' defaults.
    assert (timing.TESTER_PRESENT_S, timing.S3_SERVER_S) == (2.0, 5.0)


def test_the_servers_own_times_are_those_of_the_default_session():
    # ISO 14229-2, clause 8: P2 50 ms, P2* 5000 ms; as in a library's defaults.
    assert (timing.P2_S, timing.P2_STAR_S) == (0.050, 5.0)


def test_the_answer_of_a_session_of_iso_14230_3_states_no_times_in_this_form():
    with pytest.raises(PeerError) as caught:
        timing.session_timing(bytes.fromhex("508900320032"))
    assert caught.value.reason == "no_timing"
