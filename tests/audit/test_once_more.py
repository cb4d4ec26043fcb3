"""One more entry in a job that meets every question: exactly those it stands against are not met any more."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.audit.jobs import NS, Job
from tests.audit.procedures import complete
from tests.audit.shipped import QUESTIONS
from tests.audit.test_absence import Intact

from witnessmark.audit.run import audit
from witnessmark.journal import bodies

Act = Callable[[Job, float], object]
AT_P1: dict[str, Any] = {"pass_id": "p1", "nipple": "rr"}
SEEN = {"instrument": "gauge 3", "extra": {"calibrated_until": "2026-01-31"}}
RUN = 16
"""The entry of the first run."""
EVERY_RUN = {7, 17, 19, 20, 21, 22}
UNCLOSED = {4, 9, 10, 11, 23, 25, 26, 27, 34, 36}
UNOPENED = {4, 9, 10, 11, 33, 35, 36}


def step(name: str, affects: str = "", **more: Any) -> Act:
    return lambda job, at: job.step(name, at, affects, **more)


def silent(name: str, **more: Any) -> Act:
    return step("not-written", act="confirmed", answer=name, **more)


def read(what: str, amount: str, **more: Any) -> Act:
    return lambda job, at: job.read(what, amount, at, **SEEN, **more)


def start(job: Job, at: float) -> None:
    job.add("exchange", {**job.entries()[RUN + 1].body, "actuation": RUN}, at)


def gap(job: Job, at: float) -> None:
    body = bodies.KeepAlive(actuation=RUN, request="3E80", count=10, largest_gap_ns=str(9 * NS))
    job.add("keepalive", body, at)


@pytest.mark.parametrize(
    ("at", "act", "fallen"),
    [
        (135, lambda job, at: job.open("rr", "p1", at), UNCLOSED | {7, 33}),
        (655, lambda job, at: job.open("rr", "p1", at), UNCLOSED | {14, 15, 33, 35}),
        (135, lambda job, at: job.close("rr", at, "p1"), UNOPENED),
        (135, lambda job, at: job.close("rr", at), UNOPENED),
        (110, lambda job, at: job.close("fl", at, "p4"), UNOPENED | {7}),
        (126, start, EVERY_RUN),
        (110, gap, {20, 22}),
        (126, gap, {20, 22}),
        (126, lambda job, at: job.looked(RUN, at, safe=False), {20}),
        (126, lambda job, at: job.looked(RUN, at), set()),
        (126, silent("run", pass_id="p1"), EVERY_RUN - {7} | {28}),
        (615, read("feed-pressure", "1.9 bar"), {24}),
        (615, read("feed-pressure", "0 bar"), set()),
        (615, read("feed-pressure", "0.1 bar", high="0.2 bar"), set()),
        (625, read("feed-pressure", "1.9 bar"), {24}),
        (625, read("feed-pressure", "0 bar"), set()),
        (695, step("service-on", "service-mode-on"), {36}),
        (655, step("service-on", "service-mode-on"), set()),
        (655, silent("level"), {25, 28}),
        (5, read("volume-removed", "0 mL"), {14}),
        (655, read("volume-drawn", "0 mL"), {14, 25}),
        (645, silent("level"), {28}),
        (145, silent("torque", **AT_P1), {23, 28}),
        (140, silent("torque", **AT_P1), {28}),
        (145, read("torque", "5 N.m", step="torque", **AT_P1), {23}),
        (140, read("torque", "5 N.m", step="torque", **AT_P1), set()),
        (150, step("cap", act="skipped", said="lost", **AT_P1), {23}),
        (675, read("wheel-torque", "100 N.m", step="wheels"), {34}),
        (685, step("refit", act="skipped", said="no", looked=True), {34}),
        (665, step("leaks", act="skipped", said="wet", looked=True), {26}),
        (695, step("service-off", act="skipped", said="no tester"), {36}),
        (45, step("grade", "fluid-grade", answer="DOT 3"), {2}),
        (45, read("container-age", "40 d"), {3}),
        (705, lambda job, at: job.scan("after", ["C9999-11"], at), {27}),
        (699, lambda job, at: job.scan("after", ["C9999-11"], at), set()),
        (905, step("safe", "made-safe"), {26, 34}),
    ],
)  # fmt: skip
def test_one_more_entry_stands_against_exactly_those_that_rest_on_the_last_word(
    at: float, act: Act, fallen: set[int]
) -> None:
    found = audit(complete((at, act)).entries(), list(QUESTIONS.values()), integrity=Intact()).findings
    assert {one.number: one.text for one in found if one.answer != "met"}.keys() == fallen, [
        one for one in found if (one.answer != "met") != (one.number in fallen)
    ]
