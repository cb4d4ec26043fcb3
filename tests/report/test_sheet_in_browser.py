"""A sheet of a job with interruptions through a browser: no page nearly empty, no scrolling sideways on a phone."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import msgspec
import pytest
from tests.audit.jobs import Job, clean, serve
from tests.audit.procedures import WHOLE
from tests.audit.shipped import QUESTIONS
from tests.report.test_attempts import thrice
from tests.report.test_facts import of
from tests.report.test_papers import opened

from witnessmark.audit.run import audit
from witnessmark.audit.verify import verify
from witnessmark.host import dossier
from witnessmark.host.auditing import audit_evidence
from witnessmark.host.shop import Shop
from witnessmark.journal import bodies
from witnessmark.report.comparison import comparison
from witnessmark.report.facts import facts as of_audit
from witnessmark.report.sheet import sheet
from witnessmark.report.statement import statement, tag

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or ""
RECORDINGS = Path(__file__).parents[2] / "recordings_demo"
WIDTHS = (320, 390, 500, 641, 760)
MEASURE = """<body><script>
(async () => {
  const wide = [];
  for (const width of %s) {
    const frame = document.createElement("iframe");
    frame.style.width = width + "px";
    frame.src = "sheet.html";
    document.body.append(frame);
    await new Promise(loaded => frame.onload = loaded);
    const root = frame.contentDocument.documentElement;
    wide.push(width + ":" + (root.scrollWidth - root.clientWidth));
  }
  const out = document.createElement("pre");
  out.textContent = "measured " + wide.join(" ") + " end";
  document.body.append(out);
})();
</script></body>"""

PDFTOTEXT = shutil.which("pdftotext") or ""

pytestmark = pytest.mark.skipif(not BROWSER, reason="no chromium on this machine: a sheet cannot be laid out without")


@pytest.fixture
def page(tmp_path: Path) -> Path:
    """A sealed sheet whose exchanges and journal have names longer than a phone is wide."""
    facts = of(thrice())
    origin = "bay.municipaldepot.example"
    facts["record"]["seal"] = {
        "note": f"{origin}\n41\n{'Ab' * 21}=\n\n\u2014 {origin} {'xY3' * 32}=\n",
        "origin": origin,
        "size": 41,
        "root": "ab" * 32,
        "count": 41,
        "head": facts["record"]["head"],
        "key_name": origin,
        "key_id": "0a1b2c3d",
        "signature": "ab" * 64,
    }
    for one in facts["exchanges"]:
        one["meaning"] = "ReadDTCInformation reportDTCByStatusMask" + "".join(f",confirmedDTC{n}" for n in range(20))
    path = tmp_path / "sheet.html"
    path.write_text(sheet(facts), encoding="utf-8")
    return path


def browse(*words: str) -> str:
    command = [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--allow-file-access-from-files", *words]
    return subprocess.run(command, check=True, capture_output=True, text=True, timeout=120).stdout


def test_nothing_scrolls_sideways(page: Path) -> None:
    frames = page.with_name("frames.html")
    frames.write_text(MEASURE % list(WIDTHS), encoding="utf-8")
    shown = browse("--virtual-time-budget=20000", "--dump-dom", frames.as_uri())
    measured = re.search(r"measured (.*?) end", shown.rpartition("<pre>")[2])
    assert measured is not None, shown[-2000:]
    assert measured[1].split() == [f"{width}:0" for width in WIDTHS]


def test_a_comparison_with_a_corrected_pressure_lies_on_its_page(tmp_path: Path) -> None:
    told = of(clean())
    other = {**told, "passes": [{**one, "pressure_first": "2.0 bar"} for one in told["passes"]]}
    (tmp_path / "sheet.html").write_text(comparison(other, other, ["the one", "the other"]), encoding="utf-8")
    frames = tmp_path / "frames.html"
    frames.write_text(MEASURE % [700, 1000], encoding="utf-8")
    shown = browse("--virtual-time-budget=20000", "--dump-dom", frames.as_uri())
    assert "measured 700:0 1000:0 end" in shown.rpartition("<pre>")[2]


def test_the_timeline_goes_on_where_the_front_ends(page: Path) -> None:
    """A break before the timeline left a page of five lines where the front was just over two pages long."""
    style = "section.lead.first { break-before: page; }</style>"
    whole = page.read_text(encoding="utf-8")
    counts = []
    for height in ("150mm", "210mm"):
        front = whole.replace("</section>", f'<div style="height: {height}"></div></section>', 1)
        for name, text in (("goes-on", front), ("broken", front.replace("</style>", style, 1))):
            path = page.with_name(f"{name}.html")
            path.write_text(text, encoding="utf-8")
            counts.append(pages(path))
    assert sum(counts[::2]) < sum(counts[1::2])


def pages(page: Path) -> int:
    printed = page.with_suffix(".pdf")
    browse("--no-pdf-header-footer", f"--print-to-pdf={printed}", page.as_uri())
    return len(re.findall(rb"/Type\s*/Page[^s]", printed.read_bytes()))


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize(
    "job",
    [Job(), Job(WHOLE), clean(grade="told"), clean(WHOLE), serve(Job(WHOLE).pressurise(50), "p1", 100)],
    ids=["empty", "empty-whole", "told", "half-recorded", "broken-off"],
)
def test_a_statement_with_hardly_anything_shown_is_one_page(tmp_path: Path, job: Job, size: str) -> None:
    path = tmp_path / "statement.html"
    told = of(job)
    told["job"]["complaint"] = "the pedal is soft, and softer when the engine is warm"
    told["practice"] = {"rate": 8}
    path.write_text(statement(told).replace("@page {", f"@page {{ size: {size};"), encoding="utf-8")
    assert pages(path) == 1


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_statement_with_six_faults_is_one_page(tmp_path: Path, size: str) -> None:
    path = tmp_path / "statement.html"
    data = (RECORDINGS / "eight-passes-disputed" / "evidence.json").read_bytes()
    told = of_audit(audit_evidence(data, name="eight-passes-disputed").audit)
    told["job"]["complaint"] = "the pedal is soft"
    path.write_text(statement(told).replace("@page {", f"@page {{ size: {size};"), encoding="utf-8")
    assert pages(path) == 1


@pytest.mark.parametrize("unmet", [0, 20], ids=["begun", "all-wrong"])
def test_a_key_tag_is_one_small_page(tmp_path: Path, unmet: int) -> None:
    told = opened(unmet=unmet, unproven=30, endless=6 * bool(unmet))
    told["vehicle"] = {"what": "a truck of a municipal depot", "vin": "AB1ZZZ22CD3456789", "plate": "AB CD 1234"}
    stands = ["Nipple rear right is OPEN: close it.", "The feed's pressure is on."]
    told["standing"] = [{"text": one, "cites": [3]} for one in stands]
    path = tmp_path / "tag.html"
    path.write_text(tag(told).replace("@page {", "@page { size: 105mm 148mm;"), encoding="utf-8")
    assert pages(path) == 1


def test_a_key_tag_of_a_release_with_many_acceptances_is_one_small_page(tmp_path: Path) -> None:
    held = [
        f"{one} {words} no proof: nobody wrote it down"
        for one, words in enumerate(["Was the nipple open long"] * 33, 1)
    ]
    job = clean().state("finished", 700)
    job.add("state", bodies.State(state="released", why="told", accepted=tuple(held)), 710, by="person:l-heron")
    told = of(job)
    told["vehicle"] = {"what": "a truck of a municipal depot", "vin": "AB1ZZZ22CD3456789", "plate": "AB CD 1234"}
    told["standing"] = [{"text": "Nipple rear right is OPEN: close it.", "cites": [3]}]
    path = tmp_path / "tag.html"
    path.write_text(tag(told).replace("@page {", "@page { size: 105mm 148mm;"), encoding="utf-8")
    assert pages(path) == 1


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_two_jobs_with_many_differences_are_compared_on_two_pages(tmp_path: Path, size: str) -> None:
    """On three, the third held one row."""
    both = []
    for name in ("adapter-unplugged", "several-things"):
        found = dossier.of_target(Shop(tmp_path), str(RECORDINGS / name / "evidence.json"))
        both.append(of_audit(found.audited().audit, beside=found.beside))
    path = tmp_path / "compare.html"
    text = comparison(both[0], both[1], ["the one", "the other"])
    path.write_text(text.replace("@page { margin", f"@page {{ size: {size}; margin"), encoding="utf-8")
    assert pages(path) == 2


@pytest.mark.skipif(
    not PDFTOTEXT, reason="no pdftotext on this machine: what stands on page one cannot be read without"
)
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_page_one_says_what_was_done_what_was_not_met_and_what_was_not_part_of_it(tmp_path: Path, size: str) -> None:
    path = tmp_path / "sheet.html"
    data = (RECORDINGS / "eight-passes-disputed" / "evidence.json").read_bytes()
    told = of_audit(audit_evidence(data, name="eight-passes-disputed").audit)
    told["job"]["complaint"] = "the pedal is soft, and softer when the engine is warm"
    path.write_text(sheet(told).replace("@page { margin", f"@page {{ size: {size}; margin"), encoding="utf-8")
    pages(path)
    command = ["pdftotext", "-l", "1", "-layout", str(path.with_suffix(".pdf")), "-"]
    first = " ".join(subprocess.run(command, check=True, capture_output=True, text=True, timeout=60).stdout.split())
    for said in ("tech-7", "not met", "In the maker's order?", "rear left p8", "Also read:", "Not part of this job"):
        assert said in first
    assert told["record"]["head"][-8:] in first


@pytest.mark.skipif(
    not PDFTOTEXT, reason="no pdftotext on this machine: what stands on page one cannot be read without"
)
@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("count", [1, 9, 30])
def test_page_one_of_a_released_job_says_what_was_done_however_much_was_accepted(
    tmp_path: Path, count: int, size: str
) -> None:
    path = tmp_path / "sheet.html"
    told = accepted(count)
    path.write_text(sheet(told).replace("@page { margin", f"@page {{ size: {size}; margin"), encoding="utf-8")
    pages(path)
    command = ["pdftotext", "-l", "1", "-layout", str(path.with_suffix(".pdf")), "-"]
    first = " ".join(subprocess.run(command, check=True, capture_output=True, text=True, timeout=60).stdout.split())
    for said in ("Released by lead-1", "Accepted by lead-1 as open", "tech-7", "not met", "rear left p8", "Not part"):
        assert said in first
    assert told["record"]["head"][-8:] in first
    assert f"{said_of(1)} in full" not in first


def said_of(number: int) -> str:
    return f"no entry says how number {number} was left"


def accepted(count: int) -> dict[str, Any]:
    """Return the facts of the disputed job, released by a lead who accepted so many questions with long reasons."""
    data = (RECORDINGS / "eight-passes-disputed" / "evidence.json").read_bytes()
    entries = verify(data, name="disputed").entries
    held = tuple(
        f"{number} Is it {number}? no proof: {said_of(number)} in full " * 3 for number in range(1, 2 * count, 2)
    )
    why = "the customer was told, and comes back on Monday: " + "the nipples are to be looked at once more, " * 8
    body = bodies.State(state="released", why=why, accepted=held, proven="name only", may_release=("tech-7",))
    last = msgspec.structs.replace(
        entries[-1], seq=entries[-1].seq + 1, kind="state", done_by="person:lead-1", body=bodies.to_body(body)
    )
    told: dict[str, Any] = of_audit(audit((*entries, last), list(QUESTIONS.values())))
    told["job"]["complaint"] = "the pedal is soft, and softer when the engine is warm"
    return told
