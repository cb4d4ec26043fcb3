"""How the program that ran a job ended: what it writes, what the next one finds, and what is shut before all else."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

import pytest
from msgspec.structs import replace as changed
from tests.job.stand import STOP, Stand

from witnessmark.clock import NS
from witnessmark.job.record import MACHINE
from witnessmark.job.walk.fold import advance, fold
from witnessmark.job.walk.leaving import last_word, take_up
from witnessmark.journal.bodies import Body, Left, Remark, State, to_body
from witnessmark.journal.entry import Entry, occurred


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand()
    yield made
    made.close()


def parted(stand: Stand) -> Left:
    """Turn until the runner has ended, and return what it wrote of that."""
    stand.until(stand.runner.over)
    (said,) = stand.bodies("left")
    assert isinstance(said, Left)
    return said


def found(stand: Stand, after_s: float = 20) -> list[Body]:
    """Return what the next program writes that takes the job up so long after the last entry."""
    entries = stand.journal.of("J1")
    return [body for body, _, _ in take_up(fold(entries), entries, entries[-1].recorded.wall_ns + round(after_s * NS))]


def test_who_leaves_says_so_and_the_job_goes_on_where_it_stood(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.send(do="leave")
    stand.face.shutdown(1)  # both come in one read
    assert parted(stand) == Left(how="left", open_nipples=("rr",), pressurised=True)
    assert stand.journal.made[-1].done_by.startswith("person:") and found(stand) == []


@pytest.mark.parametrize(("why", "how", "signal"), [("", "screen closed", ""), ("SIGTERM", "told to end", "SIGTERM")])
def test_what_stood_open_as_nobody_left_it_is_shut_first_however_short_that_was(
    stand: Stand, why: str, how: str, signal: str
) -> None:
    stand.go_to("arm", "p1")
    if why:
        stand.runner.leave(why)
    else:
        stand.face.shutdown(1)
    said = parted(stand)
    assert (said.how, said.signal, said.open_nipples) == (how, signal, ("rr",))
    assert [type(one) for one in found(stand)] == [State]


def test_a_program_that_ended_without_a_word_is_told_with_the_moments_between_which_it_did(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    entries = stand.journal.of("J1")
    then_ns = entries[-1].recorded.wall_ns
    left, on = take_up(fold(entries), entries, then_ns + 20 * NS)
    assert left[:2] == (
        Left(how="unseen", open_nipples=("rr",), pressurised=True, after=entries[-1].seq),
        occurred(then_ns, then_ns + 20 * NS),
    )
    assert f"after entry {entries[-1].seq}" in left[2] and on[0] == State(state="open", why=on[0].why)


@pytest.mark.parametrize(("since", "said"), [(None, "was not recorded"), (9999, "was not recorded"), (0, "killed")])
def test_that_it_may_have_been_killed_is_said_only_where_programs_said_by_then_how_they_ended(
    stand: Stand, since: int | None, said: str
) -> None:
    stand.go_to("arm", "p1")
    entries = stand.journal.of("J1")
    (_, _, words), _ = take_up(fold(entries), entries, entries[-1].recorded.wall_ns, since)
    assert said in words


def test_of_a_job_that_was_paused_nothing_is_told(stand: Stand) -> None:
    stand.go_to("open", "p1")
    stand.send(do="pause", why="lunch")
    stand.until(lambda: stand.view["kind"] == "paused")
    assert found(stand) == [] and found(stand, 7 * 3600) == []


@pytest.mark.parametrize("confirmed", [True, False])
def test_a_run_that_was_stopped_as_the_screen_was_lost_says_at_the_taking_up_whether_that_was_confirmed(
    stand: Stand, confirmed: bool
) -> None:
    stand.go_to("running", "p1")
    if not confirmed:
        stand.unit.table.pop(STOP)
    stand.face.shutdown(1)
    stand.until(stand.runner.over)
    stand.crash()
    stand.until(lambda: stand.view.get("kind") in ("close", "inspect"))
    if not confirmed:
        stand.press("1")
    at = datetime.fromtimestamp(next(one for one in stand.journal.made if one.kind == "outcome").recorded.wall_ns / NS)
    how = f"confirmed its stop at {at:%H:%M:%S}, 0." if confirmed else "did not confirm its stop."
    assert f"This run did not complete. The control unit {how}" in stand.view["text"]
    assert stand.view["text"].endswith("s after its start. What stopped it: the screen was lost.") == confirmed


def test_the_clock_may_have_run_back_since(stand: Stand) -> None:
    stand.go_to("open", "p1")
    entries = stand.journal.of("J1")
    ((_, between, _), _) = take_up(fold(entries), entries, entries[-1].recorded.wall_ns - NS)
    assert between is not None and between.from_ns == between.to_ns


def test_with_nothing_open_it_is_told_and_nothing_is_asked(stand: Stand) -> None:
    assert stand.view["kind"] == "step"
    stand.press("y", "DOT 4")
    assert [getattr(one, "how", "") for one in found(stand)] == ["unseen"]


def test_the_word_of_one_program_is_not_that_of_the_next(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.face.shutdown(1)
    parted(stand)
    entries = stand.journal.of("J1")
    last = entries[-1]
    other = changed(last.recorded, process="process-2")
    unseen = changed(last, body={"how": "unseen", "after": last.seq}, recorded=other, seq=last.seq + 1)
    touch = changed(entries[-2], kind="step", recorded=other, seq=last.seq + 1)
    desk = changed(entries[-2], kind="amendment", done_by="person:l-heron", recorded=other, seq=last.seq + 1)
    assert last_word(entries) == ("screen closed", last)
    assert last_word([*entries, touch]) == ("unseen", touch) and last_word([*entries, unseen]) == ("unseen", unseen)
    assert last_word([*entries, desk]) == ("screen closed", last), "it was written at a desk"


def test_of_a_job_that_is_over_or_was_never_run_nothing_is_said(stand: Stand) -> None:
    opened: list[Entry] = stand.journal.of("J1")[:1]
    assert last_word(opened) == ("", None) and not list(take_up(fold(opened), opened, opened[0].recorded.wall_ns))
    stand.go_to("open", "p1")
    entries = stand.journal.of("J1")
    over = replace(fold(entries), status="abandoned")
    assert not list(take_up(over, entries, entries[-1].recorded.wall_ns))


def test_taken_up_soon_at_a_step_that_takes_some_time_a_note_is_written_that_its_time_counts_from(stand: Stand) -> None:
    stand.press("y", "DOT 4")
    before = stand.state
    stand.runner.leave("left")
    parted(stand)
    entries, state = stand.journal.of("J1"), fold(stand.journal.of("J1"))
    point = state.point
    assert point is not None and point.step is not None and found(stand) == []
    timed = replace(point, step=changed(point.step, takes_at_least="1 min"))
    state = replace(state, points=(*state.points[: state.cursor], timed, *state.points[state.cursor + 1 :]))
    ((body, when, said),) = take_up(state, entries, entries[-1].recorded.wall_ns + NS)
    assert (type(body), when, said) == (Remark, None, "")
    note = changed(entries[-1], kind="note", done_by=MACHINE, body=to_body(body), seq=entries[-1].seq + 1)
    after = advance(state, note)
    assert (after.last_wall_ns, after.worked_wall_ns) == (before.last_wall_ns, before.worked_wall_ns), "it lies on"
    later = changed(note, recorded=changed(note.recorded, process="process-2"))
    assert last_word([*entries, later]) == ("unseen", later), "who wrote it ran the job"


def test_what_it_says_of_its_end_is_no_work_so_the_job_lies_on(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    before = stand.state
    stand.runner.leave("SIGHUP")
    parted(stand)
    after = fold(stand.journal.of("J1"))
    assert (after.last_wall_ns, after.worked_wall_ns, after.worked_seq) == (
        before.last_wall_ns, before.worked_wall_ns, before.worked_seq,
    )  # fmt: skip
