"""The sheet of a clean job of eight passes on A4 and Letter, through a browser."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from tests.host.clean_job import CleanJob

from witnessmark.host.auditing import audit_evidence
from witnessmark.report.facts import facts
from witnessmark.report.sheet import sheet

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or ""
MOST_PAGES = 14
"""A clean job prints on 12; a slow machine that asks again adds entries."""


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
