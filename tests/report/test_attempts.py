"""Page one shows every attempt at a visit, times of the one that counts, and a mark where an end is not known."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import Job
from tests.report.test_facts import of
from tests.report.test_taken_back import amend

from witnessmark.report.sheet import sheet


def visit(job: Job) -> dict[str, Any]:
    found: dict[str, Any] = of(job)["passes"][0]
    return found


def thrice() -> Job:
    """Return a job stopped after 2 s, refused, killed, and then run whole, opened anew for the last."""
    job = (
        Job(u=0)
        .open("rr", "p1", 6)
        .run("p1", 10, 12, result="stopped")
        .run("p1", 20, None, answer="negative", code="22")
    )
    job.run("p1", 30, None, outcome=False)
    killed = job.case().timeline.actuations[2].seq
    job.interrupted(killed, 60).stop_again(killed, 65).looked(killed, 70).close("rr", 80, "p1")
    return job.read("feed-pressure", "2.0 bar", 90).open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1")


def test_every_attempt_stands_on_page_one() -> None:
    one = visit(thrice())
    assert one["ran"] == "20.0 s"
    assert one["others"] == [
        "3 attempts before: stopped after 2.0 s, refused, 0.0 to 35.0 s (end not known)",
        "for that opened 15:06:46 for 74.0 s",
    ]
    assert [(it["counts"], it["end_known"]) for it in one["attempts"]] == [
        (False, True), (False, True), (False, False), (True, True),
    ]  # fmt: skip
    page = sheet(of(thrice()))
    front = page[: page.index("What the record shows")]
    assert "3 attempts before: stopped after 2.0 s, refused" in front
    assert "How a run of this visit ended is not known." in front


def test_the_times_are_those_of_the_attempt_that_counts() -> None:
    one = visit(thrice())
    assert (one["opened"], one["open_for"], one["pressure"]) == ("15:08:20", "30.0 s", "2.0 bar")


def test_one_whole_attempt_has_no_others_and_no_mark() -> None:
    one = visit(Job(u=0).open("rr", "p1", 6).run("p1", 10, 30).close("rr", 40))
    assert (one["others"], one["end_unknown"]) == ([], False)
    assert "is not known." not in sheet(of(Job(u=0).run("p1", 10, 30))).split("What the record shows")[0]


def test_attempts_after_the_one_that_counts_are_said() -> None:
    one = visit(Job().run("p1", 10, 30).run("p1", 60, 61, result="stopped"))
    assert one["others"] == ["1 attempt after: stopped after 1.0 s"]


def test_what_a_person_told_of_an_end_is_not_said_to_have_been_stopped() -> None:
    one = visit(Job(grade="told", u=0).run("p1", 10, 14, result="stopped").run("p1", 60, 80).run("p1", 90, 99))
    assert one["others"] == [
        "2 attempts before: said to have ended before its time, after 4.0 s, said to have ended after 20.0 s"
    ]


def test_a_run_of_unknown_end_that_counts_is_marked() -> None:
    one = visit(Job().run("p1", 10, None, outcome=False))
    assert (one["ran"], one["end_unknown"]) == ("a time that is not known (end not known)", True)


def test_a_start_taken_back_before_it_was_sent_never_ran() -> None:
    job = Job()
    job.run("p1", 10, None, outcome=False, leave_out="start")
    job.add("outcome", {"actuation": 1, "pass_id": "p1", "result": "stopped", "stop": "not sent"}, 11)
    job.run("p1", 30, 50)
    assert visit(job)["others"] == ["1 attempt before: stopped before anything was sent"]
    assert visit(job)["end_unknown"] is False


def twenty() -> Job:
    """Return a job with many runs at a visit: three stopped early, one refused, one killed, and the one that counts."""
    job = Job(u=0)
    at = 0.0
    for number in range(19):
        stopped = number % 6 == 0 and number < 18
        job.open("rr", "p1", at + 1)
        job.run("p1", at + 5, at + 7 if stopped else at + 25, result="stopped" if stopped else "completed")
        job.close("rr", at + 40, "p1")
        at += 100
    job.run("p1", at + 5, None, answer="negative", code="22").run("p1", at + 50, None, outcome=False)
    return job.open("rr", "p1", at + 100).run("p1", at + 104, at + 124).close("rr", at + 130, "p1")


def test_many_attempts_are_summed_up_on_page_one_and_listed_on_the_leads_pages() -> None:
    one = visit(twenty())
    before, opened = one["others"]
    assert before.startswith(
        "21 attempts before: at least 5 min 26.0 s in all, 3 stopped early, 1 refused or never sent"
    )
    assert opened.startswith("opened for that 19 times: ") and opened.endswith(" in all")
    front, _, lead = sheet(of(twenty())).partition("Every attempt")
    assert before in front and front.count("stopped after 2.0 s") == 0
    assert lead.partition("Findings")[0].count("stopped after 2.0 s") == 3
    assert lead.partition("Findings")[0].count("ran its time of 20.0 s") == 17


def test_a_visit_with_one_run_has_no_list_of_attempts() -> None:
    assert "Every attempt" not in sheet(of(Job(u=0).open("rr", "p1", 6).run("p1", 10, 30).close("rr", 40)))


def test_why_a_visit_was_done_again_is_said_in_one_line() -> None:
    job = Job(u=0).open("rr", "p1", 6).run("p1", 10, 30).close("rr", 40, "p1")
    job.step("clear", 45, act="skipped", pass_id="p1", said="bubbles", looked=True)
    job.step("run-again", 46, pass_id="p1").run("p1", 60, 80)
    job.step("nipple-missed", 81, act="skipped", pass_id="p1", nipple="rr")
    assert visit(job)["others"] == ["1 attempt before: ran its time of 20.0 s", "done again for: bubbles"]
    job.step("run-again", 90, pass_id="p1", said="its circuit was opened to mend it")
    job.open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1")
    reasons = "bubbles, nipple shut while it ran, its circuit was opened to mend it"
    assert f"done again for: {reasons}" in visit(job)["others"]
    assert f"done again for: {reasons}." in sheet(of(job))


def test_what_was_accepted_is_no_reason_for_a_redo_and_stays_on_page_one() -> None:
    job = Job(u=0).open("rr", "p1", 6).run("p1", 10, 30).close("rr", 40, "p1")
    job.step("clear", 45, act="skipped", pass_id="p1", said="bubbles", looked=True)
    job.step("run-accepted", 46, act="confirmed", pass_id="p1", said="it ran long enough")
    accepted = "bubbles seen, accepted by t-otter: it ran long enough"
    assert visit(job)["others"] == [accepted]
    assert f"{accepted}." in sheet(of(job)).split("What the record shows")[0]
    job.step("run-again", 90, pass_id="p1", said="a leak was mended")
    job.open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1")
    assert visit(job)["others"][2:] == [accepted, "done again for: a leak was mended"]


def test_what_was_seen_last_is_told_and_what_was_right_at_a_second_look_too() -> None:
    job = Job(u=0).open("rr", "p1", 6).run("p1", 10, 30).close("rr", 40, "p1")
    job.step("clear", 45, act="skipped", pass_id="p1", said="milky", looked=True)
    assert visit(job)["others"] == ["seen last: milky"]
    job.step("clear", 50, pass_id="p1")
    assert visit(job)["others"] == ["milky seen, right when it was looked at again"]


def test_a_visit_done_again_because_its_run_was_stopped_says_the_stop() -> None:
    job = Job(grade="told", u=0).open("rr", "p1", 6).run("p1", 10, 14, result="stopped").close("rr", 20, "p1")
    job.step("ended-early", 21, act="confirmed", pass_id="p1", said="the hose slipped").step(
        "run-again", 22, pass_id="p1"
    )
    job.open("rr", "p1", 60).run("p1", 64, 84).close("rr", 90, "p1")
    stop = "said to have ended before its time, after 4.0 s"
    assert visit(job)["others"][-1] == f"done again for: {stop} (the hose slipped)"
    sent = Job(u=0).run("p1", 10, 14, result="stopped").step("run-again", 22, pass_id="p1").run("p1", 64, 84)
    assert visit(sent)["others"][-1] == "done again for: stopped after 4.0 s"


def test_a_row_shows_what_was_read_at_the_attempt_that_counts_and_the_rest_below_it() -> None:
    job = Job(u=0).open("rr", "p1", 6).run("p1", 10, 30).close("rr", 40, "p1")
    job.read("volume", "60 mL", 42, pass_id="p1").read("torque", "5 N.m", 45, pass_id="p1", low="8 N.m")
    job.step("run-again", 50, pass_id="p1", said="bubbles").open("rr", "p1", 60).run("p1", 64, 84).close("rr", 90, "p1")
    job.read("torque", "9 N.m", 95, pass_id="p1", low="8 N.m")
    one = visit(job)
    assert (one["readings"], one["outside"]) == (["torque 9 N.m"], [])
    assert one["others"][-1] == "read at another attempt: volume 60 mL, torque 5 N.m, outside its limits"
    job.step("run-again", 100, pass_id="p1", said="a leak").run("p1", 110, 112, result="stopped")
    assert visit(job.read("torque", "10 N.m", 120, pass_id="p1"))["readings"] == ["torque 10 N.m"]


@pytest.mark.parametrize(("first", "now", "outside"), [("5", "8", ""), ("8", "5", ", outside its limits")])
def test_what_was_read_at_another_attempt_is_judged_as_it_was_corrected(first: str, now: str, outside: str) -> None:
    job = Job(u=0).run("p1", 10, 30).read("torque", f"{first} N.m", 45, pass_id="p1", low="7 N.m", high="9 N.m")
    read = job.last()
    job.step("run-again", 50, pass_id="p1", said="bubbles").run("p1", 64, 84)
    amend(job, read, amount={"unit": "N.m", "value": now})
    said = f"read at another attempt: torque {now} N.m (corrected, first {first} N.m){outside}"
    assert visit(job)["others"][-1] == said


def test_a_look_at_the_reservoir_before_a_pass_was_begun_is_no_attempt_at_it() -> None:
    job = Job(u=0).read("level", "0 mL", 5, pass_id="p1").step("passes-again", 6, said="it ran empty")
    one = visit(job.open("rr", "p1", 8).run("p1", 10, 30).close("rr", 40, "p1"))
    assert (one["others"], one["several"]) == (["the reservoir was looked at besides: level 0 mL"], False)
    assert "Every attempt" not in sheet(of(job))


def test_a_feed_pressure_of_another_attempt_is_told_where_it_was_corrected_or_lay_outside() -> None:
    job = Job(u=0).read("feed-pressure", "2.0 bar", 5, low="1.8 bar", high="2.2 bar")
    read = job.last()
    job.open("rr", "p1", 6).run("p1", 10, 12, result="stopped").close("rr", 20, "p1")
    job.step("run-again", 21, pass_id="p1", said="bubbles").read("feed-pressure", "2.1 bar", 90)
    job.open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1")
    assert not any("feed" in one for one in visit(job)["others"])
    one = visit(amend(job, read, amount={"unit": "bar", "value": "1.2"}))
    said = "read for another opening: feed pressure 1.2 bar (corrected, first 2.0 bar), outside its limits"
    assert one["others"][-1] == said
    assert (one["pressure"], [it["seq"] for it in one["corrected"]]) == ("2.1 bar", [read])


def test_a_correction_of_a_feed_pressure_that_was_read_again_before_any_opening_stands_below_its_line() -> None:
    job = Job(u=0).read("feed-pressure", "1.2 bar", 3, pass_id="p1")
    read = job.last()
    job.read("feed-pressure", "2.0 bar", 5, pass_id="p1").open("rr", "p1", 6).run("p1", 10, 30).close("rr", 40, "p1")
    one = visit(amend(job, read, amount={"unit": "bar", "value": "1.3"}))
    assert (one["pressure"], [it["seq"] for it in one["corrected"]]) == ("2.0 bar", [read])


def test_a_visit_done_again_after_an_acceptance_with_no_word_says_that_none_was_given() -> None:
    job = Job(u=0).open("rr", "p1", 6).run("p1", 10, 30).close("rr", 40, "p1")
    job.step("run-accepted", 46, act="confirmed", pass_id="p1").step("run-again", 90, pass_id="p1")
    job.run("p1", 104, 124)
    assert visit(job)["others"][1:] == ["accepted as it was by t-otter", "done again for: no reason given"]


def test_an_opening_that_was_over_before_the_run_is_told_as_its_own() -> None:
    """Paused with the nipple open and opened anew for the run: the row is of the opening that the run rests on."""
    job = Job(u=0).open("rr", "p1", 6).state("paused", 10).step("left-open", 12, pass_id="p1", nipple="rr")
    job.state("open", 40).close("rr", 45, "p1").open("rr", "p1", 120).run("p1", 125, 137).close("rr", 150, "p1")
    one = visit(job)
    assert (one["opened"], one["open_for"]) == ("15:08:40", "30.0 s")
    assert one["others"] == ["besides that opened 15:06:46 for 39.0 s"]


def test_an_opening_of_an_attempt_is_none_besides_it_and_their_lengths_are_not_summed() -> None:
    job = Job(u=0)
    for at in range(0, 400, 100):
        job.open("rr", "p1", at + 1).close("rr", at + 71, "p1")
    job.open("rr", "p1", 401).run("p1", 405, 407, result="stopped").close("rr", 460, "p1")
    job.step("run-again", 461, pass_id="p1").open("rr", "p1", 470).run("p1", 475, 495).close("rr", 500, "p1")
    assert visit(job)["others"] == [
        "1 attempt before: stopped after 2.0 s",
        "for that opened 15:13:21 for 59.0 s",
        "opened besides that 4 times: 4 min 40.0 s in all",
        "done again for: stopped after 2.0 s",
    ]


def by_hand(job: Job) -> dict[str, Any]:
    found: dict[str, Any] = of(job)["passes"][3]
    return found


def test_a_visit_by_hand_shows_the_whole_opening_that_came_after_one_without_its_beginning() -> None:
    job = Job(u=0).close("fl", 40, "p4").open("fl", "p4", 100).close("fl", 130, "p4")
    one = by_hand(job)
    assert (one["opened"], one["open_for"]) == ("15:08:20", "30.0 s")
    assert one["others"] == ["besides that closed 15:07:20, no entry says when it was opened"]
    assert [(it["text"], it["counts"]) for it in one["attempts"]] == [
        ("closed 15:07:20, no entry says when it was opened", False),
        ("opened 15:08:20 for 30.0 s", True),
    ]
    assert "opened 15:08:20 for 30.0 s" in sheet(of(job)).partition("Every attempt")[2].partition("Findings")[0]


def test_a_visit_by_hand_that_was_done_again_shows_the_later_one_and_two_strokes_are_one_visit() -> None:
    job = Job(u=0).open("fl", "p4", 100).close("fl", 130, "p4").open("fl", "p4", 140).close("fl", 150, "p4")
    assert (by_hand(job)["open_for"], by_hand(job)["others"]) == ("40.0 s", [])
    job.step("run-again", 160, pass_id="p4", said="a leak was mended").open("fl", "p4", 200).close("fl", 220, "p4")
    assert by_hand(job)["open_for"] == "20.0 s"
    assert by_hand(job)["others"] == [
        "besides that opened 15:08:20 for 30.0 s, opened 15:09:00 for 10.0 s",
        "done again for: a leak was mended",
    ]


def test_a_told_run_that_did_not_start_is_said_to_have_not_and_the_one_before_it_stands_beside_it() -> None:
    job = Job(grade="told", u=0).run("p1", 10, 14, result="stopped").step("run-again", 20, pass_id="p1")
    one = visit(job.run("p1", 30, 34, result="never"))
    assert one["ran"] == "said not to have started" and one["not_met"][0]["mark"] == "said not to have started"
    assert one["others"][0] == "1 attempt before: said to have ended before its time, after 4.0 s"
    for at in range(4):
        job.step("run-again", 40 + 10 * at, pass_id="p1").run("p1", 45 + 10 * at, 46 + 10 * at, result="never")
    assert "4 said not to have started" in visit(job)["others"][0]
