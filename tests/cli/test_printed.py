"""What a shell and the bay's screen print: units with their signs, entries once; the record keeps units as entered."""

from __future__ import annotations

import json

import pytest
from tests.cli.bay import Bay
from tests.cli.test_dialog import dialog

from witnessmark.audit.run import LEAVES_OUT
from witnessmark.audit.verdict import Detail, Finding
from witnessmark.cli.audit import show
from witnessmark.cli.bay.screen import Screen, plain
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft

READING = {
    "title": "Torque",
    "text": "Close it with 8 N.m; the fluid boils at 98 degC.",
    "unit": "N.m",
    "low": "7 N.m",
    "high": "9 N.m",
    "buttons": [],
}


def test_a_reading_is_asked_for_with_the_sign_of_its_unit_on_the_screen_and_without_one() -> None:
    one = dialog("reading", **READING)
    one.press("8")
    for shown in (Screen("1").draw(one).plain, plain(one.view)):
        assert "8 N\u00b7m; the fluid boils at 98 \u00b0C." in shown and "7 N\u00b7m to 9 N\u00b7m" in shown
        assert "N.m" not in shown and "degC" not in shown
    assert "> 8_ N\u00b7m" in Screen("1").draw(one).plain


def test_a_job_is_shown_with_signs_and_its_entries_keep_what_was_entered(bay: Bay) -> None:
    job = bay.open_job()
    reading = bodies.Reading(what="torque", amount=bodies.Amount("8", "N.m"), low="7 N.m", high="9 N.m")
    with bay.shop.write() as journal:
        journal.append(Draft("reading", job, "person:t-otter", body=bodies.to_body(reading)))
    assert "torque 8 N\u00b7m, asked 7 N\u00b7m to 9 N\u00b7m" in bay.fine("job", "show", job)
    told = [json.loads(line) for line in bay.fine("job", "show", job, "--json", "--kind", "reading").splitlines()]
    assert [one["body"]["amount"] for one in told] == [{"unit": "N.m", "value": "8"}]


def test_an_audit_is_printed_with_signs(capsys: pytest.CaptureFixture[str]) -> None:
    part = Detail("p1", "not met", "5 N.m, asked 7 N.m to 9 N.m", (4,))
    show(
        [Finding(9, "torque", "Torqued?", "not met", "5 N.m at rear left", (4,), (part,))],
        "J1",
        "intact",
        True,
        graded=False,
    )
    shown = capsys.readouterr().out
    assert "5 N\u00b7m at rear left" in shown and "7 N\u00b7m to 9 N\u00b7m" in shown


def test_an_audit_cites_an_entry_once_and_a_range_by_its_ends(capsys: pytest.CaptureFixture[str]) -> None:
    found = Finding(9, "torque", "Torqued?", "not met", "no", (320, 316, 316, 317, 318, 319))
    show([found], "J1", "intact", False, graded=False)
    assert "no [entries 316-320]" in capsys.readouterr().out


@pytest.mark.parametrize(("graded", "said"), [(True, "Once? (sent and told)"), (False, "Once?")])
def test_an_answer_without_its_reason_says_which_runs_it_rests_on_where_not_all_were_sent(
    graded: bool, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = Finding(1, "order", "Once?", "met", "each once (rests on runs sent and told)", (4,), grades=("sent", "told"))
    show([ran, Finding(9, "torque", "Torqued?", "met", "each", (5,))], "J1", "intact", False, graded=graded)
    lines = [line.rstrip() for line in capsys.readouterr().out.splitlines()]
    assert lines[1].endswith(f" 1  {said}") and lines[2].endswith(" 9  Torqued?")
    show([ran], "J1", "intact", True, graded=graded)
    assert "Once? (" not in capsys.readouterr().out


def test_a_question_that_the_procedure_leaves_out_is_listed_with_its_reason(capsys: pytest.CaptureFixture[str]) -> None:
    left = Finding(9, "torque", "Torqued?", "does not apply", f"{LEAVES_OUT}we never look")
    other = Finding(12, "fall", "Held?", "does not apply", "nothing limits it")
    show([left, other], "J1", "intact", False, graded=False)
    shown = capsys.readouterr().out
    assert "leaves it out: we never look" in shown and "nothing limits it" not in shown
