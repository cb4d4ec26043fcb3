"""Work done otherwise than the procedure says: recorded with its reason, never in silence, never past a refusal."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import ACTS, PROCEDURE, Stand

from witnessmark.job.walk.fold import fold

LIMITED = PROCEDURE.replace(
    'armed_for = "60 s"', 'armed_for = "60 s"\npressure_limit = { low = "1.5 bar", high = "2.4 bar" }'
)


@pytest.fixture
def stand() -> Iterator[Stand]:
    one = Stand(procedure=LIMITED)
    yield one
    one.close()


def keys(stand: Stand) -> list[str]:
    return [one["key"] for one in stand.view.get("buttons", [])]


def steps(stand: Stand, step: str) -> list[tuple[str, str, str]]:
    return [(one.act, one.pass_id, one.said) for one in stand.bodies("step") if one.step == step]


def test_a_later_pass_may_be_taken_first_with_a_reason(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.press("t", "p2 the hose is at that wheel")
    assert stand.view["pass_id"] == "p2"
    assert steps(stand, "pass-first") == [("confirmed", "p2", "the hose is at that wheel")]
    stand.go_to("done")
    assert [one.pass_id for one in stand.bodies("intent")] == ["p2", "p1"]


BOTTLE = """[[steps_after_each_pass]]
id = "bottle"
text = "Read the bottle"
act = "volume"
what = "volume"
unit = "mL"
whole_pass = true
[[steps_after]]"""
MANUAL = """
[[passes]]
id = "{}"
nipples = ["{}"]
pressure = {{ low = "1.8 bar", high = "2.2 bar" }}
pressure_age = "90 s"
"""
SHARED = (
    PROCEDURE[: PROCEDURE.index("[[passes]]")]
    + MANUAL.format("p1", "rr")
    + 'bottle_with = "p2"\n'
    + MANUAL.format("p2", "rr")
    + MANUAL.format("p3", "rl")
    + PROCEDURE[PROCEDURE.index("[[steps_after_each_pass]]") :].replace("[[steps_after]]", BOTTLE)
)


@pytest.fixture
def shared() -> Iterator[Stand]:
    one = Stand(procedure=SHARED)
    yield one
    one.close()


def bottles(stand: Stand) -> list[str]:
    return [one.pass_id for one in stand.bodies("reading") if one.what == "volume"]


def test_how_much_is_to_run_through_is_said_before_the_nipple_is_shut_for_it() -> None:
    """The bottle is read when it is too late for more."""
    volume = 'id = "p3"\nnipples = ["rl"]\nvolume = { low = "120 mL", high = "300 mL" }'
    one = Stand(procedure=SHARED.replace('id = "p3"\nnipples = ["rl"]', volume))
    one.go_to("open", "p3")
    assert one.view["text"] == "Open the nipple rear left. To run through before it is shut: 120 mL to 300 mL."
    one.follow()
    assert one.view["kind"] == "close" and "To run through before it is shut: 120 mL to 300 mL." in one.view["text"]
    one.close()


def test_a_volume_above_its_limits_counts_unless_it_is_said_to_be_misread() -> None:
    volume = 'id = "p3"\nnipples = ["rl"]\nvolume = { low = "120 mL", high = "300 mL" }'
    one = Stand(procedure=SHARED.replace('id = "p3"\nnipples = ["rl"]', volume))
    one.go_to("reading", "p3")
    while one.view.get("what") != "volume" or one.view["pass_id"] != "p3":
        one.follow()
    one.read("500", "mL")
    assert one.view["text"].endswith(
        "It was 500 mL, outside the limits (120 mL to 300 mL), and counts unless it was misread."
    )
    assert (one.view["kind"], [each["key"] for each in one.view["buttons"]]) == ("step", ["k", "w"]), "no more runs"
    one.press("w", "misread: the wrong mark was read")
    said = one.bodies("step")[-1]
    assert (said.step, said.answer, said.pass_id, said.mended) == (
        "put-right", "bottle", "p3", "misread: the wrong mark was read",
    )  # fmt: skip
    assert "the first is recorded as misread, the later reading counts" in one.view["text"]
    one.read("150", "mL")
    assert one.view.get("what") != "volume"
    one.close()


def test_a_shared_bottle_is_read_before_another_pass_than_the_one_it_is_shared_with(shared: Stand) -> None:
    shared.go_to("reading", "p2")
    assert bottles(shared) == []
    shared.press("t", "p3 the hose is at that wheel")
    assert (shared.view["pass_id"], shared.view["what"]) == ("p1", "volume")
    shared.go_to("done")
    assert bottles(shared) == ["p1", "p3", "p2"]


def test_a_shared_bottle_is_read_once_where_the_passes_follow_each_other(shared: Stand) -> None:
    shared.go_to("done")
    assert bottles(shared) == ["p2", "p3"]


def test_one_that_shares_its_bottle_with_a_pass_taken_before_it_has_its_own(shared: Stand) -> None:
    shared.go_to("reading", "p1")
    shared.press("t", "p2 the hose is at that wheel")
    shared.go_to("done")
    assert bottles(shared) == ["p2", "p1", "p3"]


@pytest.mark.parametrize("said", ["p2", "p1 why not", "p9 no such pass", "because"])
def test_a_pass_that_is_not_ahead_or_has_no_reason_is_refused(stand: Stand, said: str) -> None:
    stand.go_to("reading", "p1")
    stand.press("t", said)
    assert "p2" in stand.errors[-1]["hint"] and steps(stand, "pass-first") == []
    assert stand.view["pass_id"] == "p1"


def test_a_pass_that_was_begun_is_finished_before_another(stand: Stand) -> None:
    stand.go_to("open", "p1")
    assert "t" not in keys(stand)


def test_a_nipple_may_be_left_shut_until_the_run_has_begun_with_a_reason(stand: Stand) -> None:
    stand.go_to("open", "p1")
    stand.press("l", "the spanner was not on yet")
    stand.go_to("running")
    assert "rear right" in stand.view["text"] and keys(stand) == ["o"]
    stand.wait(3)
    stand.press("o")
    assert steps(stand, "open-later") == [("skipped", "p1", "the spanner was not on yet")]
    stand.go_to("done")
    opened = next(one for one in stand.journal.of("J1") if one.body.get("act") == "opened")
    outcome = stand.bodies("outcome")[0]
    assert opened.occurred.to_ns > int(outcome.from_mono) + 2_000_000_000


def test_a_low_pressure_may_be_kept_with_a_reason_and_then_it_runs(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.read("1.6", "bar")
    assert "k" in keys(stand)
    stand.press("k", "the feed is nearly empty")
    assert stand.view["kind"] == "open" and [one.said for one in stand.bodies("step")][-1] == "the feed is nearly empty"
    stand.go_to("running")
    assert stand.unit.heard.count(ACTS[0]) == 1


@pytest.mark.parametrize("value", ["1.4", "2.5"])
def test_a_pressure_outside_what_the_procedure_allows_at_all_is_never_kept(stand: Stand, value: str) -> None:
    stand.go_to("reading", "p1")
    stand.read(value, "bar")
    assert "k" not in keys(stand)


def test_keeping_counts_for_that_reading_alone(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.read("1.6", "bar")
    stand.press("k", "the feed is nearly empty")
    stand.go_to("arm", "p1")
    stand.wait(100)
    assert stand.view["kind"] == "close", "it has grown too old"
    stand.press("n")
    stand.read("1.7", "bar")
    assert stand.view["kind"] == "reading" and "k" in keys(stand)


ROAD = '[[steps_after]]\nid = "road-test"'
LEAKS = '[[steps_after]]\nid = "leaks"\ntext = "Nothing is wet"\nact = "check"\naffects = "leak-check"\n'


def to_leaks(stand: Stand) -> None:
    while stand.view.get("step") != "leaks":
        stand.follow()


def test_a_pass_done_again_behind_the_last_reads_its_own_bottle_though_it_shared_one() -> None:
    one = Stand(procedure=SHARED.replace(ROAD, LEAKS + ROAD))
    to_leaks(one)
    assert bottles(one) == ["p2", "p3"]
    one.press("n", "it leaks")
    one.press("e", "p1 its circuit was opened to mend it")
    to_leaks(one)
    assert bottles(one) == ["p2", "p3", "p1"]
    assert fold(one.journal.of("J1")).points == one.state.points
    one.close()
