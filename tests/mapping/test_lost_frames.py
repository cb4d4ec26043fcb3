"""Learning from a recording in which frames are missing: no run is taken for longer than it was seen to be."""

from __future__ import annotations

import pytest

from witnessmark.mapping.facts import Candidate
from witnessmark.mapping.learn import Learner
from witnessmark.mapping.seen import Answer, Seen
from witnessmark.recording.line import Line

NS = 1_000_000_000
ASK, ANSWER, ALL = Line("", 0x6B3, 11), Line("", 0x6BB, 11), Line("", 0x7DF, 11)
START, STARTED, STOP, STOPPED = "31017310", "71017310", "31027310", "71027310"


class Heard:
    """What a listener heard, in the order of time; `at` is in seconds."""

    def __init__(self) -> None:
        self.learner = Learner("heard", "bay.log")
        self.say(0, "1003", "5003003201F4")

    def say(self, at: float, request: str | None, answer: str = "", *, functional: bool = False) -> None:
        at_ns = round(at * NS)
        answers = (Answer(bytes.fromhex(answer), at_ns, at_ns),) if answer else ()
        payload = None if request is None else bytes.fromhex(request)
        if functional:
            self.learner.feed(Seen(None, ALL, True, payload, at_ns))
        else:
            self.learner.feed(Seen(ANSWER, None if payload is None else ASK, False, payload, at_ns, answers))

    def keep(self, first: int, last: int) -> None:
        for at in range(first, last, 2):
            self.say(at, "3E80")

    def run(
        self, at: float, start: str = START, seconds: float = 8, *, stop: str = STOP, stopped: str = STOPPED
    ) -> None:
        self.say(at, start, "71" + start[2:8])
        self.keep(round(at) + 1, round(at + seconds))
        self.say(at + seconds, stop, stopped)

    @property
    def candidate(self) -> Candidate:
        (unit,) = self.learner.vehicle("v", "v").units
        (found,) = unit.candidates
        return found

    @property
    def lengths(self) -> list[int | None]:
        return [run.ms for run in self.candidate.runs]


@pytest.fixture
def heard() -> Heard:
    return Heard()


def between(heard: Heard, *said: tuple[float, str | None, str]) -> list[int | None]:
    """Return the lengths of a run that starts at 1 s and of what is heard to stop at 41 s, with `said` between."""
    heard.say(1, START, STARTED)
    for at in range(2, 41):
        for when, request, answer in said:
            if when == at:
                heard.say(at, request, answer)
        heard.say(at + 0.5, "3E80")
    heard.say(41, STOP, STOPPED)
    return heard.lengths


def test_a_run_that_was_heard_whole_has_its_length(heard: Heard) -> None:
    assert between(heard) == [40_000]


def test_the_answer_to_a_stop_that_was_not_heard_ends_a_run_of_unknown_length(heard: Heard) -> None:
    assert between(heard, (9, None, STOPPED)) == [None]
    assert heard.candidate.never == ("its end was never observed",)


def test_the_answer_to_a_start_that_was_not_heard_leaves_the_run_before_without_a_length(heard: Heard) -> None:
    assert between(heard, (33, None, STARTED)) == [None]


def test_a_start_whose_answer_was_not_heard_leaves_the_run_before_without_a_length(heard: Heard) -> None:
    assert between(heard, (33, START, "")) == [None]


def test_a_start_that_was_refused_leaves_the_run_before_without_a_length(heard: Heard) -> None:
    assert between(heard, (33, START, "7F3122")) == [None]


def test_a_stop_that_was_heard_and_its_answer_not_leaves_a_run_without_a_length(heard: Heard) -> None:
    assert between(heard, (9, STOP, "")) == [None]


def test_a_stop_or_start_for_all_without_a_word_leaves_a_run_without_a_length(heard: Heard) -> None:
    for request in ("31827310", "31817310"):
        again = Heard()
        again.say(1, START, STARTED)
        again.keep(2, 9)
        again.say(9, request, functional=True)
        again.keep(10, 41)
        again.say(41, STOP, STOPPED)
        assert again.lengths == [None]


def test_nothing_heard_for_longer_than_a_session_lasts_leaves_a_run_without_a_length(heard: Heard) -> None:
    heard.say(1, START, STARTED)
    heard.keep(2, 9)
    heard.keep(20, 41)  # the listener was deaf for eleven seconds: stop and start may have been among them
    heard.say(41, STOP, STOPPED)
    assert heard.lengths == [None]


def test_the_same_silence_among_tester_present_to_all(heard: Heard) -> None:
    heard.say(1, START, STARTED)
    for at in (3, 5, 7, 21, 23, 25):
        heard.say(at, "3E80", functional=True)
    heard.say(26, STOP, STOPPED)
    assert heard.lengths == [None]


def test_a_start_to_all_that_came_first_is_held_against_it(heard: Heard) -> None:
    heard.say(1, START, functional=True)
    heard.run(20)
    assert heard.candidate.observed.functional and "it was sent to all control units at once" in heard.candidate.never


@pytest.mark.parametrize(
    ("lasting", "request_"), [(True, "2EF15A01"), (True, "3D1200"), (False, "2703"), (False, "8502")]
)
def test_what_was_written_is_held_against_it_across_sessions_and_what_was_unlocked_is_not(
    heard: Heard, lasting: bool, request_: str
) -> None:
    heard.say(1, request_, f"{int(request_[:2], 16) + 0x40:02X}{request_[2:]}")
    heard.say(2, "1001", "5001003201F4")
    heard.say(3, "1003", "5003003201F4")
    heard.run(4)
    assert heard.candidate.observed.needs == ((request_[:2],) if lasting else ())


def test_what_a_stop_needed_is_held_against_it(heard: Heard) -> None:
    heard.say(1, START, STARTED)
    heard.say(3, "2701", "670111223344")
    heard.say(6, STOP, STOPPED)
    assert heard.candidate.observed.needs == ("27",)


@pytest.mark.parametrize("counts", [(5, 6, 7), (7, 6, 5), (5, 6), (4, 6, 8), (6, 8)])
def test_a_byte_near_the_seconds_that_no_run_follows_is_no_seconds(heard: Heard, counts: tuple[int, ...]) -> None:
    for number, count in enumerate(counts):
        heard.run(10 + 30 * number, f"{START}{count:02X}", 6)
    assert "{" not in heard.candidate.start and any("unexplained" in why for why in heard.candidate.never)


@pytest.mark.parametrize("counts", [(5, 6, 7), (7, 6), (4, 8, 6), (3, 10)])
def test_a_byte_that_the_runs_follow_is(heard: Heard, counts: tuple[int, ...]) -> None:
    for number, count in enumerate(counts):
        heard.run(10 + 30 * number, f"{START}{count:02X}", count + 0.4 + number / 10)
    assert heard.candidate.start == f"{START}{{seconds}}" and heard.candidate.never == ()
    assert heard.candidate.observed.seconds == tuple(sorted(counts))


def test_seconds_of_a_run_whose_end_was_not_seen_were_not_observed(heard: Heard) -> None:
    for number, count in enumerate((5, 8)):
        heard.run(10 + 30 * number, f"{START}{count:02X}", count)
    heard.run(100, f"{START}3C", 60, stopped="")
    assert heard.candidate.observed.seconds == (5, 8) and heard.candidate.observed.longest_ms == 8000
