"""A job begins with what the bay's other jobs left on the same vehicle: a warm motor, an empty reservoir."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.job.stand import MAP, PROCEDURE, TECHNICIAN
from tests.procedure.kept import kept

from witnessmark.audit.assemble import HEARD_ELSEWHERE
from witnessmark.clock import NS, ManualClock, Stamp
from witnessmark.host.opening import open_job
from witnessmark.host.other_jobs import BY_NAME, against, still_open, warnings
from witnessmark.host.work_before import with_work_before
from witnessmark.job.allowed.rules import Request, refusal
from witnessmark.job.bay import peer_of
from witnessmark.job.heard.hearing import OTHER_TESTER
from witnessmark.job.screens.now import next_view
from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.state import LEFT_BY_OTHERS, JobState
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal
from witnessmark.mapping.load import from_document

KNOWN = from_document(MAP)
PLAN = kept(PROCEDURE.replace('pressure = { low = "1.8 bar", high = "2.2 bar" }\npressure_age = "90 s"\n', ""))
TRUCK, OTHER = "1M8GDM9AXKP042788", "1J9RP1A36A1644345"  # 49 CFR 565: examples with a right check digit


class Shop:
    """One journal on a clock that is moved by hand."""

    def __init__(self, folder: Path) -> None:
        self.clock = ManualClock()
        self.journal = Journal.create(folder / "journal.db", "bay1.tests.invalid", self.clock)

    def open(self, vin: str = "", scope: str = "full", plate: str = "", name: str = "") -> str:
        vehicle = {"what": "a truck"} | ({"vin": vin} if vin else {}) | ({"id": name} if name else {})
        return open_job(
            self.journal, PLAN, KNOWN, by=TECHNICIAN, vehicle=vehicle, scope=scope, plate=plate,
            now_ns=self.clock.now_ns,
        )  # fmt: skip

    def folded(self, job: str) -> JobState:
        return fold(self.journal.entries(job))

    def write(self, job: str, kind: str, body: bodies.Body) -> int:
        return self.journal.append(Draft(kind, job, TECHNICIAN.actor, body=bodies.to_body(body))).seq

    def run(self, job: str, result: str = "completed", command: str = "pump") -> None:
        """Write a run of 8 s that ends now."""
        intent = bodies.Intent(
            pass_id="p1", nipples=("rr",), wire_command=command, seconds="8", start="", stop="", peer={},
            grade="heard",
        )  # fmt: skip
        seq = self.write(job, "intent", intent)
        now = self.clock.now_ns
        outcome = bodies.Outcome(
            actuation=seq, pass_id="p1", result=result, stop="not sent" if result == "refused" else "confirmed",  # type: ignore[arg-type]
            from_mono=str(now - 8 * NS), to_mono=str(now),
        )  # fmt: skip
        self.write(job, "outcome", outcome)

    def spoil(self, job: str, kind: str) -> int:
        """Write an entry that does not fit its kind, as one that was altered may not."""
        return self.journal.append(Draft(kind, job, TECHNICIAN.actor, body={"pass_id": 7})).seq

    def say(self, job: str, affects: str) -> None:
        self.write(job, "step", bodies.StepDone(step=f"said-{affects}", act="done", affects=affects))

    def state(self, job: str) -> JobState:
        entries = list(self.journal.entries(job))
        return with_work_before(self.journal, fold(entries), self.clock.stamp(), entries[0].recorded.boot_id)

    def refused(self, job: str) -> str:
        """Return the rule by which the pump is refused in `job` now."""
        state = self.state(job)
        boot = next(self.journal.entries(job)).recorded.boot_id
        now = self.clock.stamp()
        command = KNOWN.wire_commands[0]
        request = Request(state, state.plan[0], command, peer_of(KNOWN), now, boot, now.mono_ns, None)
        found = refusal(request)
        return found.rule if found is not None else ""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    with made.journal:
        yield made


@pytest.mark.parametrize("vins", [("", ""), (TRUCK, ""), ("", TRUCK), (TRUCK, TRUCK.lower())])
def test_a_motor_that_ran_in_another_job_rests_in_this_one(shop: Shop, vins: tuple[str, str]) -> None:
    first, second = shop.open(vins[0]), shop.open(vins[1])
    assert shop.refused(second) == ""
    shop.run(first)
    shop.clock.advance(14)
    assert shop.refused(second) == "cool-down"
    shop.clock.advance(1.1)
    assert shop.refused(second) == ""


def test_the_motor_of_another_vehicle_needs_no_rest_here(shop: Shop) -> None:
    first, second = shop.open(TRUCK), shop.open(OTHER)
    shop.run(first)
    assert shop.refused(second) == ""


def test_what_another_map_calls_otherwise_rests_as_long_as_anything_of_this_map(shop: Shop) -> None:
    first, second = shop.open(), shop.open()
    shop.run(first, command="pump-of-another-map")
    shop.clock.advance(14)
    assert shop.refused(second) == "cool-down"


def test_a_run_that_was_refused_there_leaves_nothing(shop: Shop) -> None:
    first, second = shop.open(), shop.open()
    shop.run(first, result="refused")
    assert shop.refused(second) == ""


def test_what_ran_in_other_jobs_counts_for_the_time_on(shop: Shop) -> None:
    jobs = [shop.open() for _ in range(3)]
    for job in (jobs[0], jobs[1], jobs[0]):
        shop.run(job)
        shop.clock.advance(16)
    assert shop.refused(jobs[2]) == "on-time"  # 24 s within 100 s, and 8 s more; the procedure allows 30 s
    shop.clock.advance(85)
    assert shop.refused(jobs[2]) == ""


def test_a_reservoir_left_empty_is_empty_in_the_next_job_on_that_vehicle_until_it_is_filled(shop: Shop) -> None:
    first, second = shop.open(TRUCK), shop.open(TRUCK)
    shop.say(first, "empty")
    shop.clock.advance(100)
    assert shop.refused(second) == "reservoir-empty"
    shop.say(second, "refill")
    assert shop.refused(second) == ""
    shop.say(second, "empty")
    assert shop.refused(second) == "reservoir-empty" == shop.refused(first)


def test_the_reservoir_of_a_job_that_this_one_follows_is_the_same(shop: Shop) -> None:
    first = shop.open()
    second = shop.open(scope=f"follows {first} p1")
    shop.say(first, "empty")
    assert shop.refused(second) == "reservoir-empty"


@pytest.mark.parametrize("vins", [("", ""), (TRUCK, ""), (TRUCK, OTHER)])
def test_the_reservoir_of_what_may_be_another_vehicle_is_left_alone(shop: Shop, vins: tuple[str, str]) -> None:
    first, second = shop.open(vins[0]), shop.open(vins[1])
    shop.say(first, "empty")
    assert shop.refused(second) == ""


def test_a_level_read_below_its_limit_fills_nothing(shop: Shop) -> None:
    job = shop.open()
    shop.say(job, "empty")
    level = bodies.Reading(what="level", amount=bodies.Amount("0", "mL"), within=False, affects="refill")
    shop.write(job, "reading", level)
    assert shop.refused(job) == "reservoir-empty"
    shop.write(job, "reading", bodies.Reading(what="level", amount=bodies.Amount("300", "mL"), affects="refill"))
    assert shop.refused(job) == ""


@pytest.mark.parametrize(("up_s", "rule"), [(5, "cool-down"), (14, "cool-down"), (16, "")])
def test_after_a_start_of_the_machine_no_more_rest_counts_than_since_then_whatever_its_wall_clock_says(
    shop: Shop, up_s: int, rule: str
) -> None:
    job = shop.open()
    shop.run(job)
    state = shop.state(job)
    now = Stamp(shop.clock.now_ns + 3600 * NS, up_s * NS, up_s * NS)
    request = Request(state, state.plan[0], KNOWN.wire_commands[0], peer_of(KNOWN), now, "boot-2", 0, None)
    found = refusal(request)
    assert (found.rule if found is not None else "") == rule


def test_another_tester_that_any_job_heard_is_remembered(shop: Shop) -> None:
    first, second = shop.open(TRUCK), shop.open(OTHER)
    assert shop.state(second).other_tester is None
    for what in (OTHER_TESTER, OTHER_TESTER, "garbled"):
        shop.clock.advance(1)
        shop.write(first, "event", bodies.LinkEvent(what=what))
    heard = shop.state(second).other_tester
    assert heard is not None and heard.wall_ns == shop.clock.now_ns - NS


def test_a_run_that_was_heard_was_another_testers(shop: Shop) -> None:
    first, second = shop.open(), shop.open()
    for job in (first, second):
        shop.clock.advance(30)
        shop.run(job)
        heard = shop.state(second).other_tester
        assert heard is not None and heard.wall_ns == shop.clock.now_ns
    shop.clock.advance(5)
    shop.write(first, "event", bodies.LinkEvent(what=HEARD_ELSEWHERE))
    heard = shop.state(second).other_tester
    assert heard is not None and heard.wall_ns == shop.clock.now_ns


def test_a_start_that_was_heard_to_be_refused_was_another_testers(shop: Shop) -> None:
    first, second = shop.open(), shop.open()
    shop.run(first, "refused")
    heard = shop.state(second).other_tester
    assert heard is not None and heard.wall_ns == shop.clock.now_ns


def left_open(shop: Shop, job: str, status: str = "abandoned") -> None:
    """A nipple is opened under pressure, and the job left so."""
    shop.write(job, "step", bodies.StepDone(step="pressurise", act="done", affects="pressurise"))
    shop.write(job, "step", bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rr"))
    if status != "open":
        shop.write(job, "state", bodies.State(state=status, why="called away"))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("status", "how"), [("abandoned", "is OPEN"), ("paused", "was left OPEN"), ("open", "is OPEN")]
)
def test_what_another_job_left_open_on_the_vehicle_comes_before_all_else(shop: Shop, status: str, how: str) -> None:
    first = shop.open(TRUCK)
    left_open(shop, first, status)
    for scope in ("full", "nipples rr"):
        state = shop.state(shop.open(TRUCK, scope))
        nipple, feed = state.others
        assert nipple.startswith(f"Job {first} ({status}): Nipple rear right {how}")
        assert feed == f"Job {first} ({status}): The feed's pressure is on."
        view = next_view(state)
        assert all(line in view.text for line in state.others) and [one.key for one in view.buttons] == ["y"]
    assert shop.state(shop.open(OTHER)).others == () and shop.state(shop.open()).others == ()


def test_it_is_said_of_a_job_that_was_open_already_and_not_again_once_it_is_closed(shop: Shop) -> None:
    first, second = shop.open(TRUCK), shop.open(TRUCK)
    assert shop.state(second).others == ()
    left_open(shop, first)
    assert len(shop.state(second).others) == 2
    shop.write(second, "step", bodies.StepDone(step=LEFT_BY_OTHERS, act="done"))
    assert shop.state(second).others == () and next_view(shop.state(second)).step == "grade"
    third = shop.open(TRUCK)
    assert shop.state(third).others == (), "what was closed in one job is not asked in the next"
    shop.write(first, "step", bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rr"))
    assert len(shop.state(third).others) == 2, "it was opened anew"


def test_what_was_left_before_a_release_is_settled(shop: Shop) -> None:
    left_open(shop, shop.open(TRUCK))
    released = shop.open(TRUCK)
    shop.write(released, "state", bodies.State(state="released", why=""))
    assert warnings(shop.journal, TRUCK) == () and shop.state(shop.open(TRUCK)).others == ()


def test_before_another_job_is_opened_it_is_said_what_stands_open_and_what_is_not_finished(shop: Shop) -> None:
    first, second = shop.open(TRUCK), shop.open(TRUCK)
    left_open(shop, first, "paused")
    nipple, feed, unfinished = warnings(shop.journal, TRUCK)
    assert nipple.startswith(f"STOP, before anything else: Job {first} (paused): Nipple rear right was left OPEN")
    assert feed.endswith("The feed's pressure is on.")
    assert all(f"{one} (" in unfinished for one in (first, second)) and unfinished.startswith("note: not finished")
    assert warnings(shop.journal, OTHER) == ()


def test_a_plate_alone_finds_what_an_earlier_job_left_open_however_it_is_spaced(shop: Shop) -> None:
    first, second = shop.open(plate="tt 100"), shop.open(plate="TT100")
    left_open(shop, first)
    nipple, *_ = warnings(shop.journal, "", "TT 1 00")
    assert nipple.startswith(f"STOP, before anything else: Job {first}")
    assert shop.state(second).others[0].startswith(f"Job {first} (abandoned): Nipple rear right is OPEN")
    assert warnings(shop.journal, "", "TT 200") == () and shop.state(shop.open(plate="TT 200")).others == ()


def test_without_number_and_plate_it_is_said_that_a_name_is_all_there_is(shop: Shop) -> None:
    assert warnings(shop.journal, "") == (), "there is no job yet"
    left_open(shop, shop.open(plate="TT 100"))
    assert warnings(shop.journal, "", "", "depot-14") == (BY_NAME,)


@pytest.mark.parametrize(
    ("left", "mine", "same"),
    [
        ({}, {}, True),
        ({"vin": TRUCK}, {}, True),
        ({}, {"vin": TRUCK}, True),
        ({"vin": TRUCK}, {"plate": "TT 100"}, True),
        ({"vin": TRUCK}, {"vin": OTHER}, False),
        ({"plate": "TT 100"}, {"plate": "TT 200"}, False),
        ({}, {"name": "depot-15"}, False),
    ],
)
def test_a_name_finds_what_an_earlier_job_left_open_where_nothing_says_that_it_is_another_vehicle(
    shop: Shop, left: dict[str, str], mine: dict[str, str], same: bool
) -> None:
    first = shop.open(**{"name": "depot-14", **left})
    left_open(shop, first)
    asked = {"name": "depot-14", **mine}
    told = warnings(shop.journal, asked.get("vin", ""), asked.get("plate", ""), asked["name"])
    said = f"Job {first} (abandoned, found by the name alone: perhaps another vehicle): Nipple rear right is OPEN"
    assert any(line.startswith(f"STOP, before anything else: {said}") for line in told) == same
    second = shop.open(**asked)
    assert bool(shop.state(second).others) == same and all(said in one for one in shop.state(second).others[:1])


def test_what_has_only_the_same_name_settles_what_was_left_where_somebody_looked_and_by_no_release(shop: Shop) -> None:
    first = shop.open(name="depot-14")
    left_open(shop, first)
    released = shop.open(name="depot-14")
    shop.write(released, "state", bodies.State(state="released", why=""))
    third = shop.open(name="depot-14")
    assert len(shop.state(third).others) == 2
    shop.write(third, "step", bodies.StepDone(step=LEFT_BY_OTHERS, act="done"))
    assert shop.state(shop.open(name="depot-14")).others == ()
    assert still_open(shop.journal, shop.folded(first), next(shop.journal.entries(first))) == ()


def test_what_a_job_left_open_is_told_until_another_job_on_the_vehicle_settled_it(shop: Shop) -> None:
    first = shop.open(plate="TT 100")
    left_open(shop, first)
    told = still_open(shop.journal, shop.folded(first), next(shop.journal.entries(first)))
    assert told == ("Nipple rear right is OPEN: close it.", "The feed's pressure is on.")
    shop.write(shop.open(plate="TT 100"), "step", bodies.StepDone(step=LEFT_BY_OTHERS, act="done"))
    assert still_open(shop.journal, shop.folded(first), next(shop.journal.entries(first))) == ()


def state_entry(shop: Shop, job: str, state: str) -> None:
    shop.write(job, "state", bodies.State(state=state, why=""))  # type: ignore[arg-type]


@pytest.mark.parametrize("closed_late", [False, True])
def test_the_release_of_an_older_job_says_nothing_of_what_a_newer_one_opened_since_its_work(
    shop: Shop, closed_late: bool
) -> None:
    first = shop.open(TRUCK)
    if not closed_late:
        state_entry(shop, first, "finished")
    second = shop.open(TRUCK)
    left_open(shop, second, "open")
    if closed_late:
        state_entry(shop, first, "finished")
    nipple = f"Job {second} (open): Nipple rear right is OPEN: close it."
    assert against(shop.journal, first)[0] == nipple and against(shop.journal, second) == ()
    state_entry(shop, first, "released")
    assert warnings(shop.journal, TRUCK)[0] == f"STOP, before anything else: {nipple}"
    assert shop.state(shop.open(TRUCK)).others[0] == nipple
    assert still_open(shop.journal, shop.folded(second), next(shop.journal.entries(second)))


def test_what_a_comeback_closed_of_the_job_it_follows_stands_open_no_more_and_only_that(shop: Shop) -> None:
    first, other = shop.open(), shop.open(TRUCK)
    left_open(shop, first)
    left_open(shop, other)
    stands = ("Nipple rear right is OPEN: close it.", "The feed's pressure is on.")
    back = open_job(
        shop.journal, PLAN, KNOWN, by=TECHNICIAN, vehicle={"what": "a truck"}, scope=f"follows {first} p1",
        earlier=stands, now_ns=shop.clock.now_ns,
    )  # fmt: skip
    for number in (1, 2):
        assert len(against(shop.journal, back)) == 2, "by the job that it follows, though nobody typed a number"
        shop.write(back, "step", bodies.StepDone(step=f"earlier-{number}", act="confirmed"))
    assert against(shop.journal, back) == ()
    assert still_open(shop.journal, shop.folded(first), next(shop.journal.entries(first))) == ()
    assert still_open(shop.journal, shop.folded(other), next(shop.journal.entries(other))) != ()


@pytest.mark.parametrize("kind", ["step", "reading", "intent", "outcome"])
def test_a_job_that_cannot_be_read_is_taken_to_have_left_everything_open(shop: Shop, kind: str) -> None:
    before = shop.open(TRUCK)
    seq = shop.spoil(before, kind)
    said = f"the record of job {before} cannot be read from entry {seq} on"
    (stop,) = warnings(shop.journal, TRUCK)
    assert stop.startswith("STOP, before anything else: ") and said in stop and "Take it that nipples" in stop
    job, other = shop.open(TRUCK), shop.open(OTHER)
    assert said in shop.state(job).others[0] and said in against(shop.journal, job)[0]
    assert not shop.state(other).others and not against(shop.journal, other)
    shop.write(job, "step", bodies.StepDone(step=LEFT_BY_OTHERS, act="confirmed"))
    assert not shop.state(job).others and not against(shop.journal, job)
    nameless = shop.open()
    assert not shop.state(nameless).others
