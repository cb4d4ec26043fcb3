"""`witnessmark demo` as a newcomer meets it: the whole job over a serial port, two audits, two sheets."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from witnessmark.audit.verify import verify

LIMIT_S = 600


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """What the demo printed, and its folder."""
    folder = tmp_path_factory.mktemp("demo") / "out"
    command = [sys.executable, "-c", "from witnessmark.cli.main import main; main()", "demo", "--folder", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=LIMIT_S, check=False)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return folder, done.stdout + done.stderr


def test_every_pass_runs_and_both_jobs_are_audited(shown: tuple[Path, str]) -> None:
    folder, text = shown
    assert text.count("run completed, stop confirmed") == 8
    assert "Traceback" not in text and "refused" not in text
    assert "0 not met" in text and "6 not met" in text
    (evidence,) = folder.glob("*.evidence.json")
    found = verify(evidence.read_bytes())
    kinds = [entry.kind for entry in found.entries]
    assert found.verdict == "consistent, unanchored"
    assert kinds.count("intent") == kinds.count("outcome") == kinds.count("keepalive") == 8
    assert all(entry.recorded.rate == 8 for entry in found.entries)


def test_an_intent_stands_before_its_start_leaves(shown: tuple[Path, str]) -> None:
    folder, _ = shown
    (evidence,) = folder.glob("*.evidence.json")
    entries = verify(evidence.read_bytes()).entries
    written = {entry.seq: int(entry.recorded.mono) for entry in entries if entry.kind == "intent"}
    starts = [entry.body for entry in entries if entry.kind == "exchange" and entry.body["purpose"] == "start"]
    assert len(starts) == 8
    assert all(written[start["actuation"]] < int(start["sent_mono"]) for start in starts)


def test_both_sheets_say_that_it_is_practice_and_not_released(shown: tuple[Path, str]) -> None:
    folder, text = shown
    sheets = sorted(folder.glob("*.sheet.html"))
    assert len(sheets) == 2
    for sheet in sheets:
        html = sheet.read_text(encoding="utf-8")
        assert str(sheet) in text
        assert "NOT RELEASED" in html and "8 times as fast" in html and "<svg" in html
        assert "personal:" not in html
        assert "http://" not in html.replace("http://www.w3.org", "") and "<script" not in html


def test_what_a_person_said_is_shown_where_it_is_kept_and_said_to_be_elsewhere_else(shown: tuple[Path, str]) -> None:
    folder, _ = shown
    ours = next(path for path in folder.glob("*.sheet.html") if path.name != "disputed.sheet.html")
    assert "pedal soft after the caliper was changed" in ours.read_text(encoding="utf-8")
    assert "not kept here" in (folder / "disputed.sheet.html").read_text(encoding="utf-8")


def test_a_folder_that_is_no_demo_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    command = [sys.executable, "-c", "from witnessmark.cli.main import main; main()", "demo", "--folder", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2 and "no earlier demo" in done.stderr
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == "keep"
