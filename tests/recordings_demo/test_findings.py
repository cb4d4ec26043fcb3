"""Each recorded job gives the findings it says, and its bus recording holds the same requests as its evidence."""

from __future__ import annotations

import json
import re

import pytest

from tests.recordings_demo.jobs import JOBS, Recorded
from tests.recordings_demo.make import FOLDER, note
from witnessmark.host.auditing import Audited, audit_evidence
from witnessmark.recording.file import open_recording
from witnessmark.recording.reading import read_recording


def audited(job: Recorded) -> Audited:
    return audit_evidence((FOLDER / job.name / "evidence.json").read_bytes(), name=job.name)


every_job = pytest.mark.parametrize("job", JOBS, ids=lambda job: job.name)


@every_job
def test_a_recorded_job_gives_exactly_the_findings_it_says(job: Recorded) -> None:
    found = audited(job)
    answers = {str(one.number): one.answer for one in found.audit.findings}
    assert answers == json.loads((FOLDER / job.name / "expected.json").read_text(encoding="utf-8"))
    assert tuple(one.number for one in found.audit.findings if one.answer == "not met") == job.not_met
    assert found.integrity.verdict == "consistent, unanchored"


@every_job
def test_the_bus_recording_holds_the_runs_of_the_evidence(job: Recorded) -> None:
    exchanges = [one.body for one in audited(job).audit.case.entries if one.kind == "exchange"]
    told = [(one["request"].upper(), one["result"]) for one in exchanges if one["purpose"] in ("start", "stop")]
    heard = []
    for one in read_recording(open_recording(FOLDER / job.name / "bus.log.gz")).conversations:
        payload = one.request.payload if one.request is not None else b""
        if payload[:1] in (b"\x31", b"\x2f"):
            final = one.answers[-1].payload if one.answers else b""
            result = "silence" if not final else "negative" if final[0] == 0x7F else "positive"
            heard.append((payload.hex().upper(), result))
    assert heard == told


@every_job
def test_a_recorded_job_names_no_folder_of_the_machine_it_was_made_on(job: Recorded) -> None:
    text = (FOLDER / job.name / "evidence.json").read_text(encoding="utf-8")
    assert re.findall(r"(?<![\w:/])/(?:tmp|home|root|var|work|Users)/[^\"\s]*", text) == []


@every_job
def test_the_note_says_what_the_table_says(job: Recorded) -> None:
    assert (FOLDER / job.name / "note.md").read_text(encoding="utf-8") == note(job)


def test_every_folder_has_its_row() -> None:
    assert {path.name for path in FOLDER.iterdir() if path.is_dir()} == {job.name for job in JOBS}
