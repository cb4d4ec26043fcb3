"""The last lines on the shell's screen: how it ended, what stands open, and the way back."""

from __future__ import annotations

import pytest

from witnessmark.cli.bay.goodbye import ending_words, fitted, goodbye
from witnessmark.job.screens.now import AFTER

OPEN = "Nipple rear left is OPEN: close it."


@pytest.fixture(autouse=True)
def _typed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.argv", ["witnessmark", "job", "run", "J 1"])


def test_what_stands_open_and_the_command_to_come_back_are_told() -> None:
    assert goodbye({"kind": "step", "stands": [OPEN]}, [], {}, gone=True) == [
        OPEN,
        "Go on with: witnessmark job run 'J 1'",
    ]


def test_a_stop_that_nobody_confirmed_is_told_with_what_is_done_by_hand() -> None:
    run = {"state": "unknown", "result": "unknown"}
    lines = goodbye({"kind": "running", "fallback": "Ignition off."}, ending_words({"run": run}), run, gone=True)
    assert lines[:2] == ["run unknown; unknown", "UNKNOWN: treat as running; hands clear"]
    assert lines[2].endswith("Ignition off.")


def test_a_runner_that_does_not_end_is_unknown() -> None:
    lines = goodbye({"kind": "running", "fallback": "Ignition off."}, [], {"state": "running"}, gone=False)
    assert lines[0].startswith("UNKNOWN") and "Ignition off." in lines[1]


def test_a_run_that_ended_early_is_told_with_how_far_it_came_and_why() -> None:
    run = {"state": "stop confirmed", "result": "stopped", "elapsed_s": "6.2", "why": "the control unit is silent"}
    assert ending_words({"run": run}) == ["run stopped; stop confirmed, after 6.2 s: the control unit is silent"]
    full = {"state": "stop confirmed", "result": "completed", "elapsed_s": "10.0"}
    assert ending_words({"run": full}) == ["run completed; stop confirmed"]


def test_a_run_that_was_only_told_goes_on_without_us_and_the_last_lines_say_so() -> None:
    lines = goodbye({"kind": "told"}, ["error: there is nothing of ours to stop"], {}, gone=True)
    assert "stop it there" in lines[1] and "unknown" not in " ".join(lines).lower()


def test_a_job_that_is_over_has_no_way_back() -> None:
    assert goodbye({"kind": "done"}, [], {}, gone=True) == []
    view = {"kind": "done", "title": "The job is finished.", "text": "NOT RELEASED: DO NOT DRIVE."}
    assert goodbye(view, [], {}, gone=True) == ["The job is finished.", "NOT RELEASED: DO NOT DRIVE."]


def test_a_confirmed_stop_says_no_more_than_that() -> None:
    run = {"state": "stop confirmed", "result": "stopped"}
    lines = goodbye({"kind": "running", "fallback": "Ignition off."}, ending_words({"run": run}), run, gone=True)
    assert lines == ["run stopped; stop confirmed", "Go on with: witnessmark job run 'J 1'"]


@pytest.mark.parametrize("status", ["finished", "abandoned"])
def test_no_word_is_broken_at_the_edge_of_the_screen_and_a_command_stays_whole(status: str) -> None:
    view = {"kind": "done", "title": f"The job is {status}.", "text": AFTER[status]}
    lines = goodbye(view, [OPEN], {}, gone=True)
    shown = fitted([*lines, f"Go on with: witnessmark {'x' * 90}"], 80)
    assert max(map(len, shown[:-1])) <= 80 and len(shown[-1]) > 80
    assert " ".join(" ".join(shown[:-1]).split()) == " ".join(lines)
    assert {word for line in shown[:-1] for word in line.split()} == {word for line in lines for word in line.split()}
