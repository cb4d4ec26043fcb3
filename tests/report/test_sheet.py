"""The sheet is one file that needs nothing else, says what must be said, and escapes what people typed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html.parser import HTMLParser

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.procedures import WHOLE
from tests.audit.questions.test_lasting import PEDAL
from tests.audit.questions.test_mended import mended, no, replaced
from tests.audit.shipped import QUESTIONS
from tests.report.test_facts import of

from witnessmark.audit.run import audit
from witnessmark.procedure.mending import NOTHING, TIGHTENED
from witnessmark.report.facts import facts
from witnessmark.report.sheet import grouped, sheet
from witnessmark.report.statement import statement

VOID = {"meta", "br", "link", "img", "hr", "input"}


class Page(HTMLParser):
    """Reads a page, and refuses tags that are not closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.stack: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.stack == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.stack.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.stack.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "script"} & set(self.stack):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def page(job: Job) -> Page:
    return Page(sheet(of(job)))


def test_nothing_is_fetched_and_nothing_runs() -> None:
    text = sheet(of(clean()))
    shown = Page(text)
    names = {tag for tag, _ in shown.tags}
    assert names.isdisjoint({"script", "link", "img", "iframe", "object", "form"})
    links = [value for _, attrs in shown.tags for key, value in attrs.items() if key in ("href", "src") and value]
    assert all(link.startswith("#") for link in links)
    assert "@import" not in text
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", text))
    assert set(re.findall(r"https?://[^\"' ]+", text)) <= {"http://www.w3.org/2000/svg"}
    assert not any(key.startswith("on") for _, attrs in shown.tags for key in attrs)


def test_every_cited_entry_can_be_followed() -> None:
    shown = page(clean())
    ids = [attrs["id"] for _, attrs in shown.tags if "id" in attrs]
    targets = {attrs["href"] for tag, attrs in shown.tags if tag == "a"}
    assert targets and targets <= {f"#{name}" for name in ids}
    assert len(ids) == len(set(ids))


def test_not_released_is_large_while_it_is_so_and_gone_afterwards() -> None:
    shown = page(clean().state("finished", 700))
    assert "NOT RELEASED: DO NOT DRIVE" in shown.text
    assert ("div", {"class": "banner", "role": "alert"}) in shown.tags
    css = sheet(of(clean()))
    assert float(re.search(r"\.banner strong \{[^}]*font-size: (\d+)pt", css).group(1)) >= 18  # type: ignore[union-attr]
    assert "NOT RELEASED" not in page(clean().state("finished", 700).state("released", 710)).text


@pytest.mark.parametrize("state", ["open", "paused", "abandoned", "finished"])
def test_every_state_but_released_says_not_released(state: str) -> None:
    assert "NOT RELEASED" in page(clean().state(state, 700)).text


@dataclass(frozen=True)
class Checked:
    verdict: str
    text: str = "entry 7 is not as it was written"


@pytest.mark.parametrize("verdict", ["altered", "entries missing", "end damaged", "wrong key", "incomplete"])
def test_a_record_that_is_not_as_it_was_written_says_so_large(verdict: str) -> None:
    told = facts(audit(clean().entries(), list(QUESTIONS.values()), integrity=Checked(verdict)))
    assert f"RECORD {verdict.upper()} entry 7 is not" in Page(sheet(told)).text


@pytest.mark.parametrize("verdict", ["intact", "consistent, unanchored"])
def test_a_record_without_a_fault_says_nothing_large(verdict: str) -> None:
    told = facts(audit(clean().entries(), list(QUESTIONS.values()), integrity=Checked(verdict)))
    assert "RECORD " not in Page(sheet(told)).text


def test_practice_time_is_said_before_anything_else() -> None:
    text = page(clean(rate=8)).text
    assert "time ran 8 times as fast as real time" in text
    assert text.index("8 times as fast") < text.index("What was done")
    assert "times as fast" not in page(clean()).text


def test_an_invented_procedure_is_called_so() -> None:
    assert "Procedure and vehicle are invented" in page(clean()).text
    text = page(clean(edit(("invented = true", "invented = false")))).text
    assert "are invented" not in text
    assert "(invented)" not in text


def test_each_finding_is_there_with_its_answer_in_words() -> None:
    told = of(clean())
    text = Page(sheet(told)).text
    for one in told["findings"]:
        assert one["title"] in text
    for answer in ("met", "not met", "no proof", "does not apply"):
        assert answer in text


def test_an_answer_is_told_by_shape_and_word_not_by_colour_alone() -> None:
    shown = page(Job().state("paused", 10))
    icons = [attrs for tag, attrs in shown.tags if tag == "svg" and attrs.get("class") == "icon"]
    assert icons
    assert all(attrs["aria-hidden"] == "true" for attrs in icons)


def test_what_people_typed_is_escaped() -> None:
    job = Job(vehicle={"what": "<script>alert(1)</script>"}).step("x", 10, said='"><img src=x>')
    text = sheet(of(job))
    assert "<script" not in text
    assert "<img" not in text
    assert "<script>alert(1)</script>" in Page(text).text


def test_a_job_name_cannot_leave_the_footer() -> None:
    text = sheet(of(Job(name='a"}</style><b>')))
    assert text.count("</style>") == 1


def test_count_and_head_are_printed() -> None:
    told = of(clean())
    text = Page(sheet(told)).text
    assert f"{told['record']['count']} entries" in text
    assert grouped(told["record"]["head"]) in text


def test_the_makers_procedure_comes_first() -> None:
    assert "what the vehicle's maker publishes comes first" in page(Job()).text


def test_a_run_without_a_known_end_says_what_to_do() -> None:
    assert "Treat it as running until somebody has looked" in page(Job().run("p1", 10, None, outcome=False)).text


@pytest.mark.parametrize("job", [Job(), Job(grade="told"), Job(scope="nipples fl"), Job(protocol_map=None)])
def test_a_job_with_hardly_any_entries_still_has_a_sheet(job: Job) -> None:
    assert "What the record shows" in page(job).text


def corrected() -> Job:
    job = Job(scope="nipples fl").pressurise(0).read("feed-pressure", "2.0 bar", 95, pass_id="p4")
    target = next(one.seq for one in job.entries() if one.kind == "reading")
    job.open("fl", "p4", 100).close("fl", 130, "p4").depressurise(150)
    amount = {"amount": {"unit": "bar", "value": "1.2"}}
    job.add("amendment", {"instead": amount, "reason": "misread", "target": target}, 300, by="person:l-heron")
    return job


def test_what_was_corrected_stands_beside_what_was_first_written_wherever_it_is_printed() -> None:
    """The line of the visit, the drawing's caption and the table of readings, besides the entry itself."""
    (visit,) = of(corrected())["passes"]
    assert (visit["pressure"], visit["pressure_first"]) == ("1.2 bar", "2.0 bar")
    assert [(one["text"], one["reason"], one["by"]) for one in visit["corrected"]] == [
        ("amount: 1.2 bar", "misread", "l-heron")
    ]
    front, _, lead = page(corrected()).text.partition("Timeline")
    assert (
        "1.2 bar corrected, first 2.0 bar" in front
        and "Corrected later: entry" in front
        and "amount: 1.2 bar (misread; l-heron)" in front
    )
    assert "Drawn as first written; corrected later: entries" in lead
    assert "2.0 bar corrected later: amount: 1.2 bar" in lead


def test_page_one_says_of_each_corrected_reading_what_it_was_corrected_to_and_what_was_entered_first() -> None:
    job = Job(scope="nipples fl").read("volume-removed", "48 mL", 5).open("fl", "p4", 100).close("fl", 130, "p4")
    job.read("torque", "7.5 N.m", 140, pass_id="p4", nipple="fl", low="7 N.m", high="9 N.m")
    for target, value, unit in ((1, "448", "mL"), (4, "6.5", "N.m")):
        instead = {"amount": {"unit": unit, "value": value}}
        job.add("amendment", {"instead": instead, "reason": "misread", "target": target}, 300, by="person:l-heron")
    front, _, _ = page(job).text.partition("Timeline")
    assert "Also read: volume removed 448 mL (corrected, first 48 mL)." in front
    read = "torque 6.5 N\u00b7m (corrected, first 7.5 N\u00b7m)"
    assert front.count(read) == 2 and f"Outside the limit: {read}, asked 7" in front


def test_the_leads_pages_say_of_the_fluid_what_it_was_corrected_to_and_what_was_entered_first() -> None:
    job = (
        Job(WHOLE, scope="nipples fl").step("grade", 5, "fluid-grade", answer="DOT 3").read("container-age", "3 d", 10)
    )
    job.read("boiling-point", "150 degC", 15).open("fl", "p4", 100).close("fl", 130, "p4")
    job.read("volume", "120 mL", 140, pass_id="p4", nipple="fl").read("waste", "300 mL", 150)
    for target, field in (
        (1, {"answer": "DOT 4"}),
        (2, {"amount": {"unit": "d", "value": "13"}}),
        (3, {"amount": {"unit": "degC", "value": "160"}}),
        (6, {"amount": {"unit": "mL", "value": "130"}}),
        (7, {"amount": {"unit": "mL", "value": "330"}}),
    ):
        job.add("amendment", {"instead": field, "reason": "misread", "target": target}, 300, by="person:l-heron")
    lead = page(job).text.partition("Timeline")[2]
    for said in (
        "the container says DOT 4 (corrected, first DOT 3); the procedure asks for DOT 4, class 6",
        "open for 13 d (corrected, first 3 d); at most 30 d allowed",
        "DOT 4, 155 \u00b0C (49 CFR 571.116, read in a secondary page that quotes it); corrected later to 160 \u00b0C",
        "120 mL collected; what its lines hold is not given; as corrected: 130 mL collected",
        "waste put away: 330 mL (corrected, first 300 mL)",
    ):
        assert said in lead, lead[lead.find("Fluid") :][:900]


LOOSE = "torque: no torque read after it was tightened again"


def test_what_was_seen_and_put_right_stays_on_page_one_and_in_the_statement() -> None:
    check = '[[steps_after]]\nid = "tight"\ntext = "No leak?"\nact = "check"\naffects = "leak-check"\n\n[pump]'
    job = clean(edit(("[pump]", check))).step("tight", 700, act="skipped", said="it leaks", looked=True)
    job.step("mended", 730, act="confirmed", answer=TIGHTENED).step("mended-at", 731, act="confirmed", nipple="fl")
    job.step("tight", 760, "leak-check", act="confirmed")
    loose = of(job)
    assert loose["put_right"] == [] and loose["said_put_right"][0].endswith(f" s); p4, front left, {LOOSE}")
    job.read("torque", "9 N.m", 770, pass_id="p4", step="torque", nipple="fl")
    (line,) = of(job)["put_right"]
    mended = "t-otter says what was mended: tightened and wiped dry, at front left; looked at again and right"
    assert f": it leaks (15:18:20 \u00b11.0 s); {mended}" in line
    assert line.endswith("(15:19:20 \u00b11.0 s)")
    for shown in (page(job).text.partition("Timeline")[0], Page(statement(of(job))).text):
        assert f"Seen and put right: {line}." in shown
    assert of(clean())["put_right"] == [] and "Seen and put right" not in page(clean()).text


@pytest.mark.parametrize(
    ("at", "again", "why"),
    [
        (148, 0, "; that look is no proof: 18.0 s after what was entered before it; it takes at least 1 min"),
        (200, 1, "; that look is no proof: no entry closes front left"),
        (
            200,
            2,
            "; that look is no proof: done, but not after the last nipple was closed and what was not right was mended",
        ),
        (200, 0, ""),
    ],
)
def test_a_last_look_that_the_audit_does_not_hold_for_met_put_nothing_right(at: int, again: int, why: str) -> None:
    job = Job(edit(("[pump]", PEDAL)), scope="nipples fl", u=0).open("fl", "p4", 90).close("fl", 100, "p4")
    job = mended(job.step("pedal", 110, act="skipped", said="soft", looked=True), TIGHTENED, 128, nipple="fl")
    job.step("pedal", at, "pedal-check", act="confirmed")
    job = job.open("fl", "p4", 210) if again else job
    job = job.close("fl", 220, "p4") if again == 2 else job
    told = of(job.read("torque", "9 N.m", 230, pass_id="p4", step="torque", nipple="fl"))
    assert [bool(told["put_right"]), bool(told["said_put_right"])] == ([False, True] if why else [True, False])
    assert told["said_put_right" if why else "put_right"][0].endswith(f"15:10:00){why}" if at == 200 else why)


def test_what_the_record_does_not_show_to_be_put_right_stands_under_a_heading_of_its_own_with_each_mend() -> None:
    job = mended(no(replaced(), 900), NOTHING, 920).step("leaks", 1000, "leak-check", act="confirmed")
    told = of(job)
    (line,) = told["said_put_right"]
    assert told["put_right"] == [] and line == (
        "Dry: wet (15:18:20 \u00b11.0 s); t-otter says what was mended: the leaking part was replaced, at rear right; "
        "rear right not bled after that; wet (15:21:40 \u00b11.0 s); t-otter says what was mended: nothing was "
        "mended: the first look was wrong; then said to be right (15:23:20 \u00b11.0 s); p1, rear right, torque: no "
        "torque read after it was mended"
    )
    for shown in (page(job).text.partition("Timeline")[0], Page(statement(told)).text):
        assert f"Said to be put right, not shown by the record: {line}." in shown and "Seen and put right" not in shown


def test_what_was_put_right_only_as_first_written_is_said_and_not_shown() -> None:
    """The mend was at another nipple than first written, and that one has no torque since."""
    check = '[[steps_after]]\nid = "tight"\ntext = "No leak?"\nact = "check"\naffects = "leak-check"\n\n[pump]'
    job = clean(edit(("[pump]", check))).step("tight", 700, act="skipped", said="it leaks", looked=True)
    job = mended(job, TIGHTENED, 730, nipple="fl").read(
        "torque", "9 N.m", 750, pass_id="p4", step="torque", nipple="fl"
    )
    job.step("tight", 760, "leak-check", act="confirmed")
    where = next(one.seq for one in job.entries() if one.body.get("step") == "mended-at")
    assert of(job)["said_put_right"] == []
    job.add("amendment", {"instead": {"nipple": "fr"}, "reason": "x", "target": where}, 900, by="person:l-heron")
    told = of(job)
    assert told["put_right"] == [] and [one.partition(", at ")[2] for one in told["said_put_right"]] == [
        "front left; then said to be right (15:19:20 \u00b11.0 s) (as first written)",
        f"front right; then said to be right (15:19:20 \u00b11.0 s); p3, front right, {LOOSE} (as corrected)",
    ]


def test_nothing_says_corrected_where_nothing_was() -> None:
    assert "orrected" not in page(clean()).text.partition("Timeline")[0]


def test_the_work_is_put_down_to_who_did_it_and_other_entries_to_who_made_those() -> None:
    assert "done by t-otter; other entries by l-heron" in page(corrected()).text


def test_the_count_of_one_bay_is_not_taken_for_that_of_the_whole_job() -> None:
    told = of(clean())
    told["record"] |= {"count": 2, "bays": ["This job went through 2 bays."]}
    text = Page(sheet(told)).text
    assert "2 entries, head" in text
    assert f"(the last bay's record; {len(told['entries'])} entries in all bays)" in text


def test_page_one_marks_a_reading_outside_its_band_wherever_it_was_read() -> None:
    limits = {"low": "1.8 bar", "high": "2.2 bar"}
    job = Job(scope="nipples fl").read("feed-pressure", "1.6 bar", 95, pass_id="p4", **limits).open("fl", "p4", 100)
    job.close("fl", 130, "p4").read("wheel-torque", "120 N.m", 200, low="170 N.m").read("level", "500 mL", 210)
    front = page(job).text.partition("Timeline")[0]
    assert "Outside the limit: feed pressure 1.6 bar, asked 1.8 bar to 2.2 bar" in front
    assert "Also read: wheel torque 120 N\u00b7m, asked at least 170 N\u00b7m ; level 500 mL." in front
    assert "Outside the limit" not in page(clean()).text
    again = page(job.read("level", "500 mL", 220)).text
    assert "Also read: wheel torque 120 N\u00b7m, asked at least 170 N\u00b7m ; level 500 mL, read 2 times." in again


def test_page_one_names_what_was_not_met_above_what_was_done() -> None:
    short = clean().run("p1", 800, 803)
    above = page(short).text.partition("What was done")[0]
    assert "Did each run last long enough?" in above
    assert "long enough?" not in page(clean()).text.partition("What was done")[0]


def test_a_finding_names_each_entry_once_and_counts_those_beyond_a_few_lines() -> None:
    told = of(clean())
    told["findings"][0] |= {"cites": [4, 4, 5, 6, *range(8, 80, 2)]}
    shown = Page(sheet(told)).text
    assert "entries 4 \u2013 6 8 10 12" in shown and "and 13 more" in shown
