"""A clean job of eight passes: how many touches it needs, what its audit says, and its sheet on paper."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from tests.host.clean_job import CleanJob

from witnessmark.errors import LocalError
from witnessmark.host.acting import Acting
from witnessmark.host.auditing import audit_evidence
from witnessmark.host.releasing import gate, ready, release
from witnessmark.people.person import Person
from witnessmark.report.facts import facts
from witnessmark.report.sheet import sheet

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or ""
MOST_PAGES = 14
"""A clean job prints on 12; a slow machine that asks again adds entries."""

MOST_TOUCHES, MOST_WITHOUT_PROOF = 60, 3
"""On a quick machine it is 57; a slow one lets a reading grow too old now and then, and is asked for it again."""


def touches_of(view: dict[str, Any]) -> int:
    """How many touches a view takes: one, and before arming one for each question with an answer of its own."""
    alone = sum(bool(one.get("alone")) for one in view.get("questions", ()))
    return alone + (len(view["questions"]) > alone) if alone else 1


def test_it_needs_at_most_sixty_touches(clean_job: CleanJob) -> None:
    """Each answer to a view is one touch; a reading's digits are typed besides.

    A touch that the runner refused (a slow machine lets a pressure grow too old) is done again and counts once.
    """
    needed = sum(touches_of(touch["view"]) for touch in clean_job.touches)
    print(f"{needed} touches, {clean_job.refused} refused")
    assert needed - clean_job.refused <= MOST_TOUCHES


def test_what_does_not_change_between_passes_is_asked_once_and_by_itself(clean_job: CleanJob) -> None:
    asked = [touch["view"]["questions"] for touch in clean_job.touches if touch["view"].get("questions")]
    alone = [[one["id"] for one in questions if one.get("alone")] for questions in asked]
    assert alone[0] == ["mounted"] and not any(alone[1:])
    assert all({"nobody-near", "hose-on"} <= {one["id"] for one in questions} for questions in asked)


def test_nothing_is_typed_but_readings(clean_job: CleanJob) -> None:
    for touch in clean_job.touches:
        command, view = touch["command"], touch["view"]
        button = next((one for one in view.get("buttons", ()) if one["key"] == command.get("key")), {})
        assert command["do"] in ("key", "reading", "answers", "start") and not button.get("asks"), view["text"]


def test_nothing_is_touched_while_a_hand_is_on_the_spanner(clean_job: CleanJob) -> None:
    """While it runs the hand is on the spanner; opening and closing are told when the hand is off it again."""
    assert not [touch["view"]["text"] for touch in clean_job.touches if touch["live"]]
    assert "running" not in {touch["view"]["kind"] for touch in clean_job.touches}


def test_its_audit_finds_nothing_not_met_and_hardly_anything_without_proof(clean_job: CleanJob) -> None:
    found = audit_evidence(clean_job.evidence).audit
    assert not [(one.number, one.text) for one in found.findings if one.answer == "not met"]
    unproven = [one.number for one in found.findings if one.answer == "no proof"]
    assert len(unproven) <= MOST_WITHOUT_PROOF and set(unproven) <= {21, 30, 37}


def test_number_codes_and_volumes_are_in_the_record(clean_job: CleanJob) -> None:
    case = audit_evidence(clean_job.evidence).audit.case
    scans = [entry.body for entry in case.entries if entry.kind == "scan"]
    assert [one["when"] for one in scans] == ["before", "after"] and "C1B41-54" in scans[0]["codes"]
    volumes = {one.pass_id: one.amount.number for one in case.timeline.readings("volume")}
    assert set(volumes) == {one.bottle_with or one.id for one in case.plan}
    assert min(volumes.values()) > 10, "every nipple was really open while it ran, the one opened on cue too"


@pytest.mark.skipif(not BROWSER, reason="no chromium on this machine: pages cannot be counted without a browser")
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_it_prints_on_few_pages(clean_job: CleanJob, tmp_path: Path, paper: str) -> None:
    text = sheet(facts(audit_evidence(clean_job.evidence).audit))
    page, printed = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    page.write_text(text.replace("@page { margin", f"@page {{ size: {paper}; margin", 1))
    command = [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run([*command, f"--print-to-pdf={printed}", str(page)], check=True, capture_output=True, timeout=120)
    assert 4 <= len(re.findall(rb"/Type\s*/Page[^s]", printed.read_bytes())) <= MOST_PAGES


def test_what_the_paper_puts_together_is_whole_in_the_facts(clean_job: CleanJob) -> None:
    audited = audit_evidence(clean_job.evidence).audit
    told = json.loads(json.dumps(facts(audited)))
    assert [one["seq"] for one in told["exchanges"]] == [e.seq for e in audited.case.entries if e.kind == "exchange"]
    grouped = {seq for one in told["reads"] for seq in one["cites"]}
    assert grouped < {one["seq"] for one in told["exchanges"]}


def test_its_gate_opens_without_anything_to_accept_and_the_audit_then_says_by_whom(clean_job: CleanJob) -> None:
    lead = Acting(Person("lead-1", "lead"), "name only")
    assert gate(clean_job.shop, clean_job.job).lines == ()
    release(clean_job.shop, lead, ready(clean_job.shop, clean_job.job))
    found = audit_evidence(clean_job.shop.evidence(clean_job.job)).audit.findings
    released = next(one for one in found if one.number == 37)
    by_name = "released by lead-1, by name only: nothing shows that it was this person"
    assert (released.answer, released.text) == ("met", by_name)
    with pytest.raises(LocalError, match="is released already"):
        ready(clean_job.shop, clean_job.job)
