"""The practice control unit as an ISO 14229-1 server: what it answers, what it refuses, and when."""

from __future__ import annotations

import pytest

from witnessmark.wire.uds.codes import ResponseCode as Nrc
from witnessmark_practice.control_unit import ControlUnit, Mood
from witnessmark_practice.hydraulics import Hydraulics
from witnessmark_practice.identity import VIN
from witnessmark_practice.surroundings import Surroundings

START_REAR = bytes.fromhex("31017320")
STOP_REAR = bytes.fromhex("31027320")


class Bench:
    """A control unit that is awake, parked, supplied and under pressure, with a hand on its clock."""

    def __init__(self) -> None:
        self.around = Surroundings(ignition=True, supplied=True)
        self.fluid = Hydraulics(feed_fitted=True, feed_bar=2.0)
        self.unit = ControlUnit(self.around, self.fluid)
        self.now_s = 0.0

    def ask(self, request: str | bytes, functional: bool = False) -> list[bytes]:
        payload = bytes.fromhex(request) if isinstance(request, str) else request
        self.unit.receive(payload, functional, self.now_s)
        return self.unit.outgoing(self.now_s)

    def wait(self, seconds: float, *, present: bool = False) -> list[bytes]:
        """Let time pass; with `present` as a tester that keeps the session."""
        answers = []
        while seconds > 0:
            step = min(seconds, 2.0)
            self.now_s, seconds = self.now_s + step, seconds - step
            answers += self.unit.outgoing(self.now_s)
            if present:
                assert self.ask("3E80") == []
        return answers

    def extended(self) -> None:
        assert self.ask("1003") == [bytes.fromhex("500300C801F4")]

    def run(self, request: bytes = START_REAR) -> None:
        """Start a wire command in a new session and wait until it runs."""
        self.extended()
        answers = self.ask(request) + self.wait(3.0, present=True)
        assert answers[-1][0] == request[0] + 0x40


def refusal(code: Nrc, service: int) -> list[bytes]:
    return [bytes((0x7F, service, code))]


def test_the_session_answer_states_p2_in_1_ms_and_p2_star_in_10_ms() -> None:
    # ISO 14229-1:2020, 10.2.2.3 (from memory): 0x00C8 = 200 ms, 0x01F4 = 5000 ms
    assert Bench().ask("1003") == [bytes.fromhex("500300C801F4")]


def test_identification_and_live_values_are_read_together_in_the_order_asked() -> None:
    bench = Bench()
    assert bench.ask("22F190") == [b"\x62\xf1\x90" + VIN.encode()]
    assert bench.ask("2270057001") == [
        bytes.fromhex("627005") + (200).to_bytes(2, "big") + bytes.fromhex("7001") + b"\x88"
    ]
    assert bench.ask("22F186") == [bytes.fromhex("62F18601")]


def test_an_identifier_it_does_not_know_is_left_out_or_refused_when_alone() -> None:
    bench = Bench()
    assert bench.ask("2212347002") == [bytes.fromhex("62700200")]
    assert bench.ask("221234") == refusal(Nrc.REQUEST_OUT_OF_RANGE, 0x22)


@pytest.mark.parametrize(
    ("request_hex", "code"),
    [
        ("27", Nrc.SERVICE_NOT_SUPPORTED),
        ("1101", Nrc.SERVICE_NOT_SUPPORTED),
        ("1002", Nrc.SUB_FUNCTION_NOT_SUPPORTED),
        ("10", Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT),
        ("100300", Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT),
        ("3E01", Nrc.SUB_FUNCTION_NOT_SUPPORTED),
        ("22F1", Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT),
        ("1915FF", Nrc.SUB_FUNCTION_NOT_SUPPORTED),
        ("1902", Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT),
        ("14FFFF", Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT),
        ("14123456", Nrc.REQUEST_OUT_OF_RANGE),
        ("31017320", Nrc.SERVICE_NOT_SUPPORTED_IN_ACTIVE_SESSION),
        ("2F71010305", Nrc.SERVICE_NOT_SUPPORTED_IN_ACTIVE_SESSION),
    ],
)
def test_a_request_it_cannot_serve_gets_its_own_code(request_hex: str, code: Nrc) -> None:
    assert Bench().ask(request_hex) == refusal(code, bytes.fromhex(request_hex)[0])


@pytest.mark.parametrize(
    ("request_hex", "code"),
    [
        ("31057320", Nrc.SUB_FUNCTION_NOT_SUPPORTED),
        ("31019999", Nrc.REQUEST_OUT_OF_RANGE),
        ("3101732005", Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT),
        ("31017340", Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT),
        ("3101734000", Nrc.REQUEST_OUT_OF_RANGE),
        ("310173401F", Nrc.REQUEST_OUT_OF_RANGE),
        ("31027320", Nrc.REQUEST_SEQUENCE_ERROR),
        ("31037320", Nrc.REQUEST_SEQUENCE_ERROR),
        ("2F71010203", Nrc.REQUEST_OUT_OF_RANGE),
        ("2F710103", Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT),
        ("2F99990305", Nrc.REQUEST_OUT_OF_RANGE),
    ],
)
def test_a_wire_command_asked_for_wrongly_is_refused(request_hex: str, code: Nrc) -> None:
    bench = Bench()
    bench.extended()
    assert bench.ask(request_hex) == refusal(code, bytes.fromhex(request_hex)[0])


def _ignition_off(bench: Bench) -> None:
    bench.around.sleep(bench.now_s)


def _rolls(bench: Bench) -> None:
    bench.around.speed_kmh = 3


def _in_neutral(bench: Bench) -> None:
    bench.around.gear = "N"


def _weak(bench: Bench) -> None:
    bench.around.weak_supply = True


def _overcharged(bench: Bench) -> None:
    bench.around.drained_v = -4.0
    bench.around.supplied = False


def _no_feed(bench: Bench) -> None:
    bench.fluid.feed_bar = 0.2


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (_ignition_off, Nrc.CONDITIONS_NOT_CORRECT),
        (_rolls, Nrc.VEHICLE_SPEED_TOO_HIGH),
        (_in_neutral, Nrc.SHIFTER_LEVER_NOT_IN_PARK),
        (_weak, Nrc.VOLTAGE_TOO_LOW),
        (_overcharged, Nrc.VOLTAGE_TOO_HIGH),
        (_no_feed, Nrc.CONDITIONS_NOT_CORRECT),
    ],
)
def test_a_start_is_refused_while_a_condition_does_not_hold(spoil, code: Nrc) -> None:  # type: ignore[no-untyped-def]
    bench = Bench()
    bench.extended()
    spoil(bench)
    assert bench.ask(START_REAR) == refusal(code, 0x31)
    assert bench.unit.actuator.runs == []


def test_a_start_is_refused_while_the_pump_cools_down_and_taken_after() -> None:
    bench = Bench()
    bench.run()
    assert bench.ask(STOP_REAR) == [bytes.fromhex("7102732000")]
    assert bench.ask(START_REAR) == refusal(Nrc.TEMPERATURE_TOO_HIGH, 0x31)
    bench.wait(15.5, present=True)
    assert bench.ask(START_REAR) == refusal(Nrc.RESPONSE_PENDING, 0x31)


def test_the_valve_does_not_wait_for_the_pump_to_cool_down() -> None:
    bench = Bench()
    bench.run()
    bench.ask(STOP_REAR)
    assert bench.ask("2F71010305") == [bytes.fromhex("6F71010301")]
    assert bench.ask("2F710100") == [bytes.fromhex("6F71010000")]


def test_one_run_at_a_time() -> None:
    bench = Bench()
    bench.run()
    assert bench.ask("2F71010305") == refusal(Nrc.CONDITIONS_NOT_CORRECT, 0x2F)


def test_asleep_it_is_silent_and_after_the_ignition_it_listens_for_five_seconds() -> None:
    bench = Bench()
    bench.around.sleep(0.0)
    assert bench.ask("1003") == refusal(Nrc.CONDITIONS_NOT_CORRECT, 0x10)
    bench.now_s = 4.9
    assert bench.ask("3E00") == [b"\x7e\x00"]
    bench.now_s = 5.1
    assert bench.ask("3E00") == []


def test_it_says_0x78_while_it_works_and_is_busy_for_others_but_tester_present() -> None:
    bench = Bench()
    bench.extended()
    assert bench.ask("3101734005") == refusal(Nrc.RESPONSE_PENDING, 0x31)
    assert bench.ask("22F190") == refusal(Nrc.BUSY_REPEAT_REQUEST, 0x22)
    assert bench.ask("3E00") == [b"\x7e\x00"]
    assert bench.wait(2.4) == refusal(Nrc.RESPONSE_PENDING, 0x31) * 2
    assert bench.unit.actuator.runs == []
    assert bench.wait(0.2) == [bytes.fromhex("7101734001")]
    assert bench.unit.actuator.runs[0].start_s == pytest.approx(2.5)


def test_a_run_ends_by_stop_at_the_moment_it_is_confirmed() -> None:
    bench = Bench()
    bench.run(bytes.fromhex("310173400A"))
    asked_s = bench.now_s
    assert bench.ask("31027340") == refusal(Nrc.RESPONSE_PENDING, 0x31)
    assert bench.wait(1.2) == [bytes.fromhex("7102734000")]
    run = bench.unit.actuator.runs[0]
    assert (run.ended_by, run.end_s) == ("stop", pytest.approx(asked_s + 1.0))
    assert all(line.head_bar == 0 for line in bench.fluid.lines.values())


def test_a_run_ends_by_itself_two_seconds_after_its_ordered_time_and_its_stop_is_confirmed() -> None:
    bench = Bench()
    bench.run(bytes.fromhex("2F71010305"))
    bench.wait(8.0, present=True)
    run = bench.unit.actuator.runs[0]
    assert run.end_s is not None
    assert (run.ended_by, run.end_s - run.start_s) == ("time", pytest.approx(7.0))
    assert bench.ask("2F710100") == [bytes.fromhex("6F71010000")]


def test_a_run_without_seconds_ends_at_its_longest() -> None:
    bench = Bench()
    bench.run()
    bench.wait(30.0, present=True)
    run = bench.unit.actuator.runs[0]
    assert run.end_s is not None and run.end_s - run.start_s == pytest.approx(20.0)
    assert bench.ask("31037320") == [bytes.fromhex("710373200214")]


def test_a_lost_session_ends_a_run_five_seconds_after_the_last_request() -> None:
    bench = Bench()
    bench.run()
    heard_s = bench.now_s
    bench.wait(8.0)
    run = bench.unit.actuator.runs[0]
    assert (run.ended_by, run.end_s) == ("session", pytest.approx(heard_s + 5.0))
    assert bench.ask("22F186") == [bytes.fromhex("62F18601")]


def test_one_routine_goes_on_after_the_session_is_lost() -> None:
    bench = Bench()
    bench.run(bytes.fromhex("310173401E"))
    bench.wait(20.0)
    assert bench.unit.session == 1
    assert bench.unit.actuator.active is not None
    bench.wait(20.0)
    assert bench.unit.actuator.runs[0].ended_by == "time"


def test_tester_present_keeps_the_session_without_an_answer() -> None:
    bench = Bench()
    bench.extended()
    bench.wait(60.0, present=True)
    assert bench.ask("22F186") == [bytes.fromhex("62F18603")]


@pytest.mark.parametrize("request_hex", ["27", "1002", "221234", "31017320"])
def test_a_functional_request_never_gets_the_codes_that_the_standard_withholds(request_hex: str) -> None:
    # ISO 14229-1:2020, 8.7 (from memory): 11, 12, 31, 7E, 7F are not sent to a functional request
    assert Bench().ask(request_hex, functional=True) == []


def test_a_functional_request_is_served_but_never_acts() -> None:
    bench = Bench()
    assert bench.ask("3E00", functional=True) == [b"\x7e\x00"]
    assert bench.ask("1003", functional=True) == [bytes.fromhex("500300C801F4")]
    assert bench.ask("22F1", functional=True) == refusal(Nrc.INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT, 0x22)
    assert bench.ask(START_REAR, functional=True) == []
    assert bench.unit.actuator.runs == []


def test_trouble_codes_are_counted_listed_and_cleared() -> None:
    bench = Bench()
    assert bench.ask("19012C") == [bytes.fromhex("59012F010002")]
    assert bench.ask("1902FF") == [bytes.fromhex("59022F5B41542F5B52162C")]
    assert bench.ask("190A") == [bytes.fromhex("590A2F5B3012005B41542F5B52162C5B600000")]
    bench.run()
    assert bench.ask("14FFFFFF") == refusal(Nrc.CONDITIONS_NOT_CORRECT, 0x14)
    bench.ask(STOP_REAR)
    assert bench.ask("14FFFFFF") == [b"\x54"]
    assert bench.ask("1902FF") == [bytes.fromhex("59022F5B41542F")]


def test_the_code_of_an_unbled_unit_can_be_cleared_only_after_its_purge() -> None:
    bench = Bench()
    bench.run(bytes.fromhex("3101734008"))
    bench.wait(10.0, present=True)
    assert bench.ask("14FFFFFF") == [b"\x54"]
    assert bench.ask("1902FF") == [bytes.fromhex("59022F")]


def test_a_dry_reservoir_and_a_weak_supply_leave_their_codes() -> None:
    bench = Bench()
    bench.ask("14FFFFFF")
    bench.fluid.draw_off(900)
    bench.around.weak_supply = True
    assert bench.ask("190201") == [bytes.fromhex("59022F5B30122F5B41542F5B52162F")]
    bench.fluid.refill(500)
    bench.around.weak_supply = False
    assert bench.ask("190201") == [bytes.fromhex("59022F5B41542F")]


def test_faults_of_the_control_unit_show_as_a_practitioner_would_see_them() -> None:
    refuses, late, silent = Bench(), Bench(), Bench()
    for bench in (refuses, late, silent):
        bench.extended()
    refuses.unit.mood = Mood.REFUSES
    assert refuses.ask(START_REAR) == refusal(Nrc.FAILURE_PREVENTS_EXECUTION_OF_REQUESTED_ACTION, 0x31)
    late.unit.mood = Mood.LATE
    assert late.ask(START_REAR) == []
    assert late.unit.actuator.active is not None
    assert late.wait(1.4) == []
    assert late.wait(0.2) == [bytes.fromhex("7101732001")]
    silent.unit.mood = Mood.SILENT
    assert silent.ask(START_REAR) == []
    assert silent.unit.actuator.runs == []


def test_without_supply_it_stops_and_keeps_a_code_of_it() -> None:
    bench = Bench()
    bench.run()
    bench.unit.lose_supply(bench.now_s)
    assert bench.ask("3E00") == []
    assert bench.unit.actuator.runs[0].ended_by == "died"
    bench.unit.boot()
    assert bench.ask("190201") == [bytes.fromhex("59022F5B41542F")]
    assert bytes.fromhex("5B60002E") in bench.ask("190208")[0]
