from __future__ import annotations

import msgspec
import pytest
from tests.job.stand import Stand

from witnessmark.errors import InputError
from witnessmark.job.walk.fold import advance, fold


@pytest.fixture(scope="module")
def done() -> Stand:
    stand = Stand()
    stand.go_to("armed")
    stand.wait(60.1)
    stand.go_to("running")
    stand.stop()
    stand.go_to("decide")
    stand.press("r")
    stand.go_to("running")
    stand.crash()
    stand.go_to("decide")
    stand.press("r")
    stand.go_to("done")
    stand.close()
    return stand


def test_the_state_is_a_pure_fold_entry_by_entry_or_all_at_once(done: Stand) -> None:
    entries = done.journal.of("J1")
    state = fold(entries[:1])
    for count, entry in enumerate(entries[1:], 2):
        state = advance(state, entry)
        assert state == fold(entries[:count])
    assert state == done.state


def test_a_job_begins_with_the_entry_that_opens_it(done: Stand) -> None:
    for entries in ([], done.journal.of("J1")[1:]):
        with pytest.raises(InputError, match="no entry opens"):
            fold(entries)


def test_only_runs_that_may_have_reached_the_vehicle_count_for_its_rest(done: Stand) -> None:
    intents = [one.seq for one in done.journal.of("J1") if one.kind == "intent"]
    assert [run.intent for run in done.state.runs] == intents and len(intents) == 4


def test_a_kind_that_changes_nothing_is_passed_over(done: Stand) -> None:
    entries = done.journal.of("J1")
    exchange = next(one for one in entries if one.kind == "exchange")
    state = fold(entries[:3])
    after = advance(state, exchange)
    assert after.cursor == state.cursor and after.last_seq == exchange.seq


def test_a_motor_that_ran_in_another_bay_rests_from_when_the_job_came_here(done: Stand) -> None:
    last = done.journal.of("J1")[-1]
    here = msgspec.structs.replace(last.recorded, boot_id="boot of this bay", wall=str(last.recorded.wall_ns + 10**12))
    came = msgspec.structs.replace(last, kind="moved", body={}, seq=1000, recorded=here)
    after = advance(done.state, came)
    assert {run.recorded for run in after.runs} == {here} and len(after.runs) == len(done.state.runs)
    assert {(run.from_mono, run.to_mono) for run in after.runs} == {(None, None)}
