"""Ending a job beside others that write of it: what is looked at is what stands there as the end is written."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.job.stand import PROCEDURE, TECHNICIAN
from tests.procedure.kept import kept

from witnessmark.errors import LocalError
from witnessmark.host import closing
from witnessmark.host.opening import open_job
from witnessmark.host.shop import Shop
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal


class Busy(Shop):
    """A shop in which somebody else wrote of the job right before it was this one's turn."""

    @contextmanager
    def beside(self, job: str, who: str) -> Iterator[Journal]:
        with super().beside(job, who) as journal:
            given_up = bodies.to_body(bodies.State(state="abandoned", why="late"))
            journal.append(Draft("state", job, TECHNICIAN.actor, body=given_up))
            yield journal


def test_a_job_that_somebody_else_ended_meanwhile_ends_no_second_time(tmp_path: Path) -> None:
    shop = Busy(tmp_path)
    with shop.write("bay1.depot.example") as journal:
        job = open_job(journal, kept(PROCEDURE), None, by=TECHNICIAN, vehicle={}, grade="told", now_ns=0)
    with pytest.raises(LocalError, match="abandoned already"):
        closing.abandon(shop, job, TECHNICIAN, "called away")
    with shop.read() as journal:
        assert [one.kind for one in journal.entries(job)] == ["job-opened", "state"]
