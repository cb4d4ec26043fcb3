"""The whole truck on one bench: hands, bus, faults, record."""

from __future__ import annotations

import io
import json
import re

import pytest
from tests.plugins.practice.bay import Bay

from witnessmark.clock import Stamp
from witnessmark.errors import InputError
from witnessmark_practice.bus import BusFrame
from witnessmark_practice.faults import parse_fault
from witnessmark_practice.node import ANSWER_ID, FUNCTIONAL_ID, REQUEST_ID
from witnessmark_practice.trace import Trace
from witnessmark_practice.truth import truth

ORIGIN = Stamp(1_700_000_000_000_000_000, 5_000_000_000)


def test_a_request_on_the_bus_is_answered_in_frames_with_flow_control() -> None:
    bay = Bay()
    bay.ready()
    first = bay.send("0322f190")
    assert [first[0][:10], len(first)] == ["101462f190", 1]
    bay.send("300000")
    assert [answer[:2] for answer in bay.answers()] == ["21", "22"]


def test_a_long_request_gets_flow_control_from_the_control_unit() -> None:
    bay = Bay()
    bay.ready()
    assert bay.send("100922f190f187f1") == ["300801aaaaaaaaaa"]
    bay.wait(0.01)
    assert bay.send("2195f191")[0].startswith("10")


def test_a_functional_request_does_not_end_a_physical_one_in_progress() -> None:
    bay = Bay()
    bay.ready()
    bay.send("100922f190f187f1")
    assert bay.send("023e00", FUNCTIONAL_ID) == ["027e00aaaaaaaaaa"]
    assert bay.send("2195f191")[0].startswith("10")


def test_asleep_nobody_takes_a_frame_and_no_traffic_is_heard() -> None:
    bay = Bay(traffic=True)
    bay.wait(10)
    assert bay.frames == []
    assert not bay.truck.bus.put(bay, BusFrame(REQUEST_ID, b"\x02\x3e\x00", False, 10.0))
    assert bay.truck.due_s() is None


def test_awake_the_bus_has_its_ordinary_traffic_at_its_own_rate_and_the_same_for_the_same_seed() -> None:
    heard = []
    for _ in range(2):
        bay = Bay(traffic=True)
        bay.do("wake")
        bay.wait(10)
        heard.append([(frame.can_id, frame.data) for frame in bay.frames])
    assert heard[0] == heard[1]
    assert len(heard[0]) == pytest.approx(370, abs=5)  # 20 + 10 + 5 + 2 a second
    bay.do("traffic", "off")
    bay.frames.clear()
    bay.wait(10)
    assert bay.frames == []


def test_the_record_tells_what_truly_ran_and_what_was_truly_open() -> None:
    bay = Bay()
    bay.do("draw-off", "", "600 mL")
    bay.do("refill", "", "700 mL")
    bay.ready()
    bay.wait(1.0)
    bay.do("open", "rear-left")
    bay.start_rear()
    bay.wait(4.0)
    bay.send("0431027320")
    bay.do("close", "rear-left", "8.5 N.m")
    record = json.loads(json.dumps(truth(bay.truck, ORIGIN, 8)))
    (run,) = record["runs"]
    assert (run["wire_command"], run["ended_by"]) == ("pump-rear", "stop")
    assert run["end_s"] - run["start_s"] == pytest.approx(4.1)
    assert int(run["start_mono_ns"]) == ORIGIN.mono_ns + round(run["start_s"] * 1e9)
    assert int(run["end_wall_ns"]) == ORIGIN.wall_ns + round(run["end_s"] * 1e9)
    (opening,) = record["openings"]
    assert (opening["nipple"], opening["opened_s"], opening["torque"]) == ("rear-left", 1.0, "8.5 N.m")
    assert record["collected_ml"]["rear-left"] > 5
    assert [request["payload"] for request in record["requests"]] == ["1003", "31017320", "31027320"]
    assert record["washed"]["rear"] > record["washed"]["front"] == 0


def test_readings_come_from_the_model() -> None:
    bay = Bay()
    assert bay.do("read", "gear") == "P"
    assert bay.do("read", "level") == "620 mL"
    assert bay.do("draw-off", "", "500 mL") == "120 mL"
    assert bay.do("refill", "", "700 mL") == "820 mL"
    assert bay.do("fit-feed") == "ok"
    assert bay.do("pressurise", "", "2.1 bar") == "2.10 bar"
    bay.do("open", "rear-left")
    bay.wait(60)
    assert 1.9 < float(bay.do("read", "feed-pressure").split()[0]) < 2.05
    volume = float(bay.do("read", "volume rear-left").split()[0])
    assert 80 < volume < 140
    assert bay.do("read", "outflow", "rear-left") == "clear"
    bay.do("close", "rear-left")
    assert bay.do("read", "torque rear-left") == "8 N.m"
    assert bay.do("pedal") == "soft"
    assert bay.do("read", "voltage") == "12.4 V"
    bay.do("supply", "on")
    assert bay.do("read", "voltage") == "13.6 V"


@pytest.mark.parametrize(
    ("act", "what"),
    [
        (("jump", "", ""), "'jump' is not something hands can do"),
        (("open", "left", ""), "'left' is not a nipple"),
        (("read", "weather", ""), "'weather' cannot be read"),
        (("pressurise", "", "2 bar"), "no feed is fitted"),
        (("refill", "", "800 mL"), "only 280 mL fit"),
        (("refill", "", "much"), "'much' is not an amount in mL"),
        (("draw-off", "", "1 bar"), "'1 bar' is not an amount in mL"),
        (("supply", "maybe", ""), "'maybe' is neither on nor off"),
        (("fault", "storm", ""), "'storm' is not a fault"),
        (("fault", "dies@0", ""), "'dies@0' is not a fault"),
        (("software", "03.21 beta", ""), "'03.21 beta' is not a software number"),
        (("software", "0" * 21, ""), "is not a software number"),
        (("tester", "xyz", ""), "'xyz' is not a request"),
        (("pedal", "", "NaN"), "'NaN' is not an amount"),
    ],
)
def test_what_hands_cannot_do_is_refused_and_changes_nothing(act: tuple[str, str, str], what: str) -> None:
    bay = Bay()
    before = truth(bay.truck, ORIGIN, 1)
    with pytest.raises(InputError) as error:
        bay.do(*act)
    assert what in error.value.what
    assert error.value.hint
    assert truth(bay.truck, ORIGIN, 1) == before


def test_other_software_tells_its_own_number_and_the_rest_as_before_until_the_old_one_is_back() -> None:
    bay = Bay()
    bay.ready()
    as_built = dict(bay.truck.unit.identification)
    assert bay.do("software", "03.9") == "03.9"
    assert bay.send("0322f195") == ["0762f195" + b"03.9".hex()]
    changed = {one for one, value in bay.truck.unit.identification.items() if value != as_built[one]}
    assert changed == {0xF189, 0xF195}
    assert bay.do("software") == "03.20.7" and bay.truck.unit.identification == as_built


def test_a_lid_under_pressure_cannot_be_refilled_through_and_sprays_when_taken_off() -> None:
    bay = Bay()
    bay.ready()
    with pytest.raises(InputError, match=r"2\.0 bar stand on the reservoir"):
        bay.do("refill", "", "10 mL")
    assert bay.do("remove-feed") == "fluid sprays out"
    assert bay.truck.remarks[-1][1] == "feed removed under pressure"
    bay.do("fit-feed")
    bay.do("pressurise")
    bay.do("depressurise")
    assert bay.do("remove-feed") == "ok"


def test_another_tester_can_be_heard_on_the_bus() -> None:
    bay = Bay()
    assert bay.do("tester", "3E00") == "nobody took it"
    bay.do("wake")
    bay.wait(0)
    assert bay.do("tester", "3E00") == "answered 7E00"
    assert [frame.can_id for frame in bay.frames] == [REQUEST_ID, ANSWER_ID]


def test_rolling_and_parking_change_what_the_control_unit_sees() -> None:
    bay = Bay()
    bay.ready()
    bay.do("roll", "", "5 km/h")
    assert bay.send("0522700270 03".replace(" ", "")) == ["0762700205700302"]
    bay.do("park")
    assert bay.send("03227002") == ["0462700200aaaaaa"]


def test_an_unplugged_adapter_is_pulled_two_seconds_into_its_run_and_put_back_by_none() -> None:
    bay = Bay()
    bay.truck.plan_fault(parse_fault("unplugged@1"))
    bay.ready()
    bay.start_rear()
    bay.wait(1.5)
    assert bay.pulled == []
    bay.wait(1.0)
    assert bay.pulled == [True]
    bay.do("fault", "none")
    assert bay.pulled == [True, False]


def test_a_fault_may_name_its_moment_in_the_run() -> None:
    bay = Bay()
    bay.truck.plan_fault(parse_fault("dies@1+0.5"))
    bay.ready()
    bay.start_rear()
    bay.wait(1.0)
    run = bay.truck.unit.actuator.runs[0]
    assert (run.ended_by, run.end_s) == ("died", pytest.approx(run.start_s + 0.5))
    assert bay.send("023e00") == []
    bay.do("fault", "none")
    bay.wait(0)
    assert bay.send("023e00") == ["027e00aaaaaaaaaa"]


def test_dies_without_a_run_waits_for_the_next_one() -> None:
    bay = Bay()
    bay.ready()
    bay.do("fault", "dies")
    assert bay.send("023e00") != []
    bay.start_rear()
    bay.wait(3.0)
    assert bay.truck.unit.actuator.runs[0].ended_by == "died"


def test_a_refusal_set_for_the_second_run_leaves_the_first_alone() -> None:
    bay = Bay()
    bay.truck.plan_fault(parse_fault("refusal@2"))
    bay.ready()
    bay.start_rear()
    bay.send("0431027320")
    for _ in range(20):
        bay.wait(1.0)
        bay.send("023e80")
    assert bay.send("0431017320") == ["037f3126aaaaaaaa"]
    assert bay.send("0431017320") == ["037f3178aaaaaaaa"]


def test_a_stop_that_is_ignored_leaves_it_running() -> None:
    bay = Bay()
    bay.ready()
    bay.start_rear()
    bay.do("fault", "stop-ignored")
    assert bay.send("0431027320") == []
    assert bay.truck.unit.actuator.active is not None


def test_low_voltage_refuses_a_start() -> None:
    bay = Bay()
    bay.ready()
    bay.send("021003")
    bay.do("fault", "low-voltage")
    assert bay.send("0431017320") == ["037f3193aaaaaaaa"]


def test_a_weak_supply_is_mended_by_putting_the_charger_on_anew() -> None:
    bay = Bay()
    bay.ready()
    bay.do("fault", "low-voltage")
    assert bay.do("read", "voltage") == "10.6 V"
    bay.do("supply", "off")
    assert bay.do("read", "voltage") == "10.6 V"
    bay.do("supply", "on")
    assert bay.do("read", "voltage") == "13.6 V"


def test_the_trace_is_candump_text() -> None:
    bay = Bay()
    file = io.StringIO()
    bay.truck.bus.ears.insert(0, Trace(file, ORIGIN))
    bay.ready()
    bay.wait(1.25)
    bay.send("023e00")
    bay.truck.bus.put(bay, BusFrame(0x18DAF110, b"\x55", True, bay.truck.now_s))
    lines = file.getvalue().splitlines()
    assert lines == [
        "(1700000001.250000) can0 6B3#023E00",
        "(1700000001.250000) can0 6BB#027E00AAAAAAAAAA",
        "(1700000001.250000) can0 18DAF110#55",
    ]
    assert all(re.fullmatch(r"\(\d+\.\d{6}\) can0 ([0-9A-F]{3}|[0-9A-F]{8})#([0-9A-F]{2})*", line) for line in lines)
