"""Keys of the bay's terminal: what each means in each view."""

from __future__ import annotations

import re
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from tests.cli.test_practice_hands import Keys, Script

from witnessmark import job
from witnessmark.cli.bay.dialog import ALL, ENTER, ERASE, HANDS, HANDS_CLEAR, LEAVE_SO, Dialog
from witnessmark.cli.bay.screen import UNKNOWN, Screen, keys, plain
from witnessmark.cli.job import run as run_command
from witnessmark.clock import ManualClock
from witnessmark.host.face import LIVE
from witnessmark.procedure.repeated import KEYS


def dialog(kind: str, **more: Any) -> Dialog:
    one = Dialog()
    one.show({"id": "v7", "kind": kind, **more})
    return one


def press(one: Dialog, text: str) -> list[Any]:
    return [done for key in text if (done := one.press(key)) is not None]


DONE = {"key": "y", "label": "done"}
WHY = {"key": "n", "label": "leave out, and why", "asks": True}


def test_one_key_answers_a_manual_step() -> None:
    assert press(dialog("step", buttons=[DONE]), "y") == [{"do": "key", "view": "v7", "key": "y"}]


def test_a_key_that_means_nothing_does_nothing() -> None:
    assert press(dialog("step", buttons=[DONE]), "zx\x1b ") == []


@pytest.mark.parametrize("key", ["y", "n", " ", "\r", "q", "p", "\x1b", "5"])
def test_any_key_stops_a_run(key: str) -> None:
    assert dialog("running").press(key) == "stop"


@pytest.mark.parametrize("state", sorted(LIVE))
def test_any_key_stops_from_the_first_byte_on_even_before_the_running_view(state: str) -> None:
    one = dialog("armed", buttons=[])
    one.run_state = state
    assert one.press("k") == "stop"


ARMED = [{"key": "s", "label": "start"}, {"key": "x", "label": "leave, nothing is sent"}]


@pytest.mark.parametrize("key", ["s", "x", " ", "q", "p"])
def test_any_key_after_the_one_that_starts_stops_before_anything_was_heard_of_it(key: str) -> None:
    one = dialog("armed", buttons=ARMED)
    assert one.press("s") == {"do": "key", "view": "v7", "key": "s"}
    assert one.press(key) == "stop"


def test_a_start_that_was_refused_gives_the_keys_back() -> None:
    one = dialog("armed", buttons=ARMED)
    one.press("s")
    one.show({"id": "v8", "kind": "step", "buttons": [DONE]})
    assert press(one, "zy") == [{"do": "key", "view": "v8", "key": "y"}]


def test_armed_a_key_that_means_nothing_disarms() -> None:
    assert dialog("armed", buttons=ARMED).press(" ") == "stop"


def test_a_button_of_the_running_view_is_not_stop() -> None:
    one = dialog("running", buttons=[{"key": "o", "label": "opened"}])
    assert press(one, "ox") == [{"do": "key", "view": "v7", "key": "o"}, "stop"]
    assert keys(one) == ["[o] opened", "ANY OTHER KEY: STOP"]


def test_a_reading_is_digits_and_enter() -> None:
    one = dialog("reading", unit="bar")
    assert press(one, "2,9\x7f05\r") == [{"do": "reading", "view": "v7", "value": "2.05", "unit": "bar"}]
    assert one.typed == ""


def test_a_reading_in_another_unit_goes_as_it_was_entered() -> None:
    sent = press(dialog("reading", unit="bar"), "30 psi\r")
    assert sent == [{"do": "reading", "view": "v7", "value": "30", "unit": "psi"}]


@pytest.mark.parametrize("text", ["\r", "2 mL\r", "2..1\r", "--\r", "2 furlong\r"])
def test_a_reading_that_is_none_is_said_and_sends_nothing(text: str) -> None:
    one = dialog("reading", unit="bar")
    assert press(one, text) == [] and one.complaint


def test_a_button_that_asks_takes_words_first() -> None:
    one = dialog("step", buttons=[DONE, WHY])
    assert press(one, "n\r") == [] and one.complaint
    assert press(one, "no cap\r") == [{"do": "key", "view": "v7", "key": "n", "said": "no cap"}]
    assert press(one, "nabc\x1by") == [{"do": "key", "view": "v7", "key": "y"}]


QUESTIONS = [{"id": "a", "text": "Mounted?"}, {"id": "b", "text": "Nobody near?"}]


def test_questions_are_answered_one_by_one_and_sent_together() -> None:
    one = dialog("arm", questions=QUESTIONS)
    assert press(one, "yy") == [{"do": "answers", "view": "v7", "answers": {"a": True, "b": True}}]


def test_the_first_no_is_sent_at_once() -> None:
    assert press(dialog("arm", questions=QUESTIONS), "n") == [{"do": "answers", "view": "v7", "answers": {"a": False}}]


def test_a_new_view_drops_what_was_half_typed_and_half_answered() -> None:
    one = dialog("arm", questions=QUESTIONS)
    press(one, "y")
    one.show({"id": "v8", "kind": "reading", "unit": "bar"})
    press(one, "2")
    one.show({"id": "v9", "kind": "reading", "unit": "bar"})
    assert (one.typed, one.answers) == ("", {})
    assert press(one, "1.9\r\r")[0]["view"] == "v9"


def test_pause_and_leave_are_keys_of_every_quiet_view() -> None:
    assert dialog("step", buttons=[DONE]).press("p") == {"do": "pause", "why": "paused by the technician"}
    assert dialog("step", buttons=[DONE]).press("q") == "leave"


OPEN = {"opened": "The nipple rear right is OPEN under PRESSURE.", "stands": ("Nipple rear right is OPEN: close it.",)}


def test_with_a_nipple_open_leaving_asks_to_have_it_shut_and_takes_another_key() -> None:
    one = dialog("close", buttons=[{"key": "y", "label": "closed"}, {"key": "x", "label": "not now"}], **OPEN)
    assert one.press("q") is None and "Nipple rear right is OPEN: close it." in one.complaint
    assert keys(one) == [f"[{LEAVE_SO}] leave it as it stands", "[y] closed", "[x] not now"]
    assert one.press("q") is None and one.leaving, "the same key again is no other key"
    assert one.press(LEAVE_SO) == "leave"


@pytest.mark.parametrize("kind", ["told", "heard", "inspect", "busy"])
def test_who_leaves_what_may_still_run_is_sent_to_nothing_that_stands_open(kind: str) -> None:
    stands = ("Nipple rear right is OPEN: do not touch it until it is seen at rest.",)
    one = dialog(kind, buttons=[{"key": "x", "label": "it ended before its time"}], **OPEN | {"stands": stands})
    assert one.press("q") is None and "shut it" not in one.complaint and HANDS_CLEAR in one.complaint
    assert keys(one) == [f"[{LEAVE_SO}] leave it as it stands", "[x] it ended before its time"]
    assert one.press("x") == {"do": "key", "view": "v7", "key": "x"}, "what the view has keys for stays so"


def test_the_key_that_leaves_what_stands_open_is_a_key_of_no_view() -> None:
    source = "".join(path.read_text(encoding="utf-8") for path in Path(job.__file__).parent.rglob("*.py"))
    found = {*re.findall(r'(?:Button\(\s*|[A-Z] = |[{,] ?|^ +)"(.)"[,:\n]', source, re.MULTILINE), *KEYS}
    assert {"x", "y", "e", "k", "v", "1"} <= found and LEAVE_SO not in found
    own = [HANDS, *ALL, *ENTER, *ERASE, "h", "m", "p", "q"]
    assert LEAVE_SO not in own and not LEAVE_SO.isalnum() and not Dialog()._fits_reading(LEAVE_SO)


def test_who_shuts_it_instead_of_leaving_does_that_with_its_one_key() -> None:
    one = dialog("close", buttons=[{"key": "y", "label": "closed"}], **OPEN)
    one.press("q")
    assert one.press("y") == {"do": "key", "view": "v7", "key": "y"} and one.press(LEAVE_SO) is None
    one.press("q")
    one.show({"id": "v8", "kind": "step", "buttons": [DONE]})
    assert one.press(LEAVE_SO) is None and one.press("q") == "leave", "nothing is open any more"


@pytest.mark.parametrize(("kind", "asked"), [("decide", True), ("busy", True), ("paused", False), ("armed", False)])
def test_once_it_is_shut_leaving_is_asked_again_for_what_still_stands_open(kind: str, asked: bool) -> None:
    one = dialog("close", buttons=[{"key": "y", "label": "closed"}], **OPEN)
    one.press("q")
    one.press("y")
    on = "The feed's pressure is on."
    one.show({"id": "v8", "kind": kind, "buttons": [DONE], "opened": on, "stands": (on,)})
    assert (one.leaving, one.complaint.startswith(on)) == (asked, asked)
    one.press("7")
    one.show({"id": "v9", "kind": "step", "buttons": [DONE], "opened": on, "stands": (on,)})
    assert not one.leaving and not one.complaint, "another key goes on with the work"


def test_a_negative_reading_is_typed_where_leaving_is_asked_by_itself_and_leaves_nothing() -> None:
    one = dialog("close", buttons=[{"key": "y", "label": "closed"}], **OPEN)
    press(one, "qy")
    one.show({"id": "v8", "kind": "reading", "unit": "degC", "buttons": [], **OPEN})
    assert one.leaving and one.press("-") is None and not one.leaving
    assert press(one, "4\r") == [{"do": "reading", "view": "v8", "value": "-4", "unit": "degC"}]


def test_leaving_asks_by_itself_once_for_each_time_that_it_was_asked() -> None:
    one = dialog("close", buttons=[{"key": "y", "label": "closed"}], **OPEN)
    press(one, "qy")
    for view, kind, asks in (("v8", "busy", True), ("v9", "step", True), ("v10", "step", False)):
        one.show({"id": view, "kind": kind, "buttons": [DONE], **OPEN})
        assert one.leaving == asks


@pytest.mark.parametrize(("typed", "sent"), [("qy", []), ("y", []), (f"q{LEAVE_SO}", [{"do": "leave"}])])
def test_right_after_a_run_the_wish_to_leave_lets_no_key_through_but_the_one_that_leaves(
    typed: str, sent: list[dict[str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run_command, "AFTER_RUN_S", 3600)
    close = {"id": "v8", "kind": "close", "buttons": [{"key": "y", "label": "closed"}], **OPEN}
    states = ({"state": "running"}, {"state": "stopped", "result": "completed"})
    script = Script([*({"run": one} for one in states), {"view": close}], typed)
    run_command.Face(script, Dialog(), Screen("J-1"), Keys(script), None).watch({"kind": "running"})  # type: ignore[arg-type]
    assert script.sent == sent


def test_at_the_end_of_the_walk_what_the_audit_leaves_open_stands_before_the_key_that_finishes_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    done = {"id": "v9", "kind": "done", "title": "All steps are done.", "buttons": [{"key": "f", "label": "finish"}]}
    asked: list[str] = []

    def left_open() -> tuple[str, ...]:
        asked.append("once")
        return ("Not met so far: 16 Long enough?",)

    script = Script([{"view": done}, {"view": {**done, "at": 1}}, {"view": {"kind": "done", "text": "Finished."}}], "")
    face = run_command.Face(script, Dialog(), Screen("J-1"), Keys(script), None, left_open)  # type: ignore[arg-type]
    face.watch({"kind": "busy"})
    assert asked == ["once"] and capsys.readouterr().out.count("Not met so far: 16 Long enough?") == 1


class Typed(Script):
    """A keyboard that can be read once something was typed."""

    def type(self, keys: str) -> None:
        self._other.send(keys.encode())

    def read(self) -> list[str]:
        return [*self._end.recv(100).decode().removeprefix("x")]


@pytest.mark.parametrize(("typed", "sent"), [("f", []), ("fq", [{"do": "leave"}]), ("", [])])
def test_what_is_pressed_while_that_is_found_out_finishes_no_job(
    typed: str, sent: list[dict[str, str]], capsys: pytest.CaptureFixture[str]
) -> None:
    done = {"id": "v9", "kind": "done", "title": "All steps are done.", "buttons": [{"key": "f", "label": "finish"}]}
    script, keyboard = Script([{"view": done}], ""), Typed([], "")
    assert keyboard.read() == []

    def left_open() -> tuple[str, ...]:
        keyboard.type(typed)
        return ()

    run_command.Face(script, Dialog(), Screen("J-1"), keyboard, None, left_open).watch({"kind": "busy"})  # type: ignore[arg-type]
    keyboard.part()
    assert script.sent == sent and (run_command.DROPPED in capsys.readouterr().out) == (typed == "f")


def test_armed_with_a_nipple_open_the_key_that_leaves_only_disarms_and_after_a_pause_one_key_leaves() -> None:
    assert dialog("armed", buttons=ARMED, **OPEN).press("q") == "stop"
    assert dialog("paused", **OPEN).press("q") == "leave"
    assert dialog("running", **OPEN).press("q") == "stop"


def drawn(screen: Screen, one: Dialog) -> str:
    from rich.console import Console

    console = Console(width=100, record=True, file=StringIO())
    console.print(screen.draw(one))
    return console.export_text()


def test_what_was_unknown_leaves_the_screen_once_somebody_has_looked_and_claims_no_time() -> None:
    screen, dialog = Screen("J1"), Dialog()
    screen.hear({"run": {"state": "unknown", "result": "unknown", "of_s": "12"}})
    dialog.show({"id": "1", "kind": "inspect", "text": "Look."})
    text = screen.draw(dialog).plain
    assert UNKNOWN in text and "0.0 of 12" not in text
    dialog.show({"id": "2", "kind": "paused", "text": "Paused."})
    assert UNKNOWN in screen.draw(dialog).plain
    dialog.show({"id": "3", "kind": "open", "text": "Open the nipple."})
    assert UNKNOWN not in screen.draw(dialog).plain


def test_a_run_that_is_heard_beyond_its_time_says_so_and_puts_away_what_was_refused_before_it() -> None:
    screen, dialog = Screen("J1"), Dialog()
    screen.hear({"error": {"what": "it did not start", "hint": "start it again"}})
    screen.hear({"run": {"state": "heard running", "of_s": "12", "elapsed_s": "0.1"}})
    assert "did not start" not in screen.draw(dialog).plain
    screen.hear({"run": {"state": "heard running", "of_s": "12", "elapsed_s": "15.0", "note": "nothing for 9 s"}})
    text = screen.draw(dialog).plain
    assert "15.0 of 12 s: ITS 12 s ARE OVER" in text and "nothing for 9 s" in text


def test_the_screen_says_unknown_with_the_next_physical_act() -> None:
    screen = Screen("261125-1", "PRACTICE at 8x: no real vehicle")
    screen.hear({"run": {"state": "unknown", "result": "unknown"}})
    text = drawn(screen, dialog("inspect", text="Look.", caution="Turn the ignition off."))
    assert UNKNOWN in text and "CAUTION: Turn the ignition off." in text and "PRACTICE at 8x" in text


def test_a_reason_is_picked_by_number_and_own_words_can_still_be_typed() -> None:
    why = {**WHY, "reasons": ["done before", "not possible here"]}
    one = dialog("step", buttons=[DONE, why])
    assert press(one, "n2") == [{"do": "key", "view": "v7", "key": "n", "said": "not possible here"}]
    assert press(one, "nz") == [] and one.complaint
    assert press(one, "\x1bn0no cap\r") == [{"do": "key", "view": "v7", "key": "n", "said": "no cap"}]


def test_words_that_must_begin_with_a_pass_are_kept_until_they_do() -> None:
    one = dialog("step", buttons=[{"key": "t", "label": "another first", "asks": True, "starts": ["p2", "p3"]}])
    assert press(one, "tno reason\r") == [] and one.typed == "no reason" and "p2, p3" in one.complaint
    assert press(one, "\x7f" * 9 + "p3 it is nearer\r")[0]["said"] == "p3 it is nearer"


def test_a_wrong_key_is_told() -> None:
    one = dialog("step", buttons=[DONE])
    one.press("z")
    assert one.complaint == "[z] does nothing here"


def test_a_value_that_can_hardly_be_is_asked_once_more() -> None:
    one = dialog("reading", unit="degC", least="60", most="320")
    assert press(one, "-150\r") == [] and "REALLY -150 degC" in one.complaint
    assert press(one, "\r")[0]["value"] == "-150"
    assert press(one, "99999\r") == []
    assert press(one, "\x7f" * 5 + "150\r")[0]["value"] == "150"
    assert press(one, "1530\r") == [] and press(one, "153\r")[0]["value"] == "153", "typed anew it is another number"
    assert press(one, "-15\r") == [] and press(one, " degF\r") == [] and "REALLY -15 degF" in one.complaint


READING: dict[str, Any] = {"id": "v8", "kind": "reading", "unit": "bar"}


def test_a_number_whose_first_digits_came_before_it_was_asked_is_asked_once_more() -> None:
    """60 bar typed as the view came is 0 bar to the reading: taken only where its person says so."""
    one = dialog("step", buttons=[DONE])
    press(one, "y6")
    one.show(READING)
    assert press(one, "0\r") == [] and "keys came before this was asked. REALLY 0 bar?" in one.complaint
    assert press(one, "\x7f60\r") == [] and "REALLY 60 bar?" in one.complaint
    assert press(one, "\r")[0]["value"] == "60"


def test_a_number_that_was_half_typed_when_the_view_changed_is_asked_once_more() -> None:
    one = dialog("reading", unit="bar")
    press(one, "1")
    one.show(READING)
    assert press(one, ".4\r") == [] and "REALLY .4 bar?" in one.complaint
    assert press(one, "\r")[0]["value"] == ".4"
    one.show(READING | {"id": "v9"})
    assert press(one, "1.4\r")[0]["value"] == "1.4", "what came after it is taken as it is"


@pytest.mark.parametrize("keys_before", ["y", "6y", "z", "y6z"])
def test_a_number_that_no_digit_came_before_is_taken_at_once(keys_before: str) -> None:
    one = dialog("step", buttons=[DONE])
    press(one, keys_before)
    one.show(READING)
    assert press(one, "2\r")[0]["value"] == "2"


def test_all_questions_have_a_plain_key() -> None:
    assert press(dialog("arm", questions=QUESTIONS), "a") == [
        {"do": "answers", "view": "v7", "answers": {"a": True, "b": True}}
    ]


@pytest.mark.parametrize("kind", ["paused", "done", "inspect"])
def test_what_stands_still_cannot_be_paused(kind: str) -> None:
    one = dialog(kind, buttons=[])
    assert one.press("p") is None and keys(one) == ["[q] leave"]


ASKED = [
    {"id": "mounted", "text": "Are the calipers mounted?", "alone": True},
    {"id": "under", "text": "Is nobody under it?"},
    {"id": "standing", "text": "Does it stand still?"},
    {"id": "first-nipples-shut", "text": "Are all nipples shut?", "alone": True},
    {"id": "first-second-person", "text": "Does a second person stand at the stop?", "alone": True},
]


@pytest.mark.parametrize("every", ["a", "Y"])
def test_one_key_for_all_never_answers_a_question_with_a_touch_of_its_own(every: str) -> None:
    one = dialog("arm", questions=ASKED)
    assert press(one, every) == [] and one.complaint
    assert press(one, "y" + every) == [] and set(one.answers) == {"mounted", "under", "standing"}
    assert "[a] yes to all of them" not in keys(one)
    assert press(one, every) == [] and one.complaint
    assert press(one, "yy") == [{"do": "answers", "view": "v7", "answers": {asked["id"]: True for asked in ASKED}}]


def test_a_no_to_the_last_question_of_its_own_is_sent_with_all_that_was_said() -> None:
    one = dialog("arm", questions=ASKED)
    assert press(one, "yayn") == [
        {"do": "answers", "view": "v7", "answers": {**{asked["id"]: True for asked in ASKED}, ASKED[-1]["id"]: False}}
    ]


def test_where_nothing_is_asked_one_key_arms() -> None:
    one = dialog("arm", questions=[])
    assert keys(one)[0] == "[y] arm"
    assert press(one, "n") == []
    assert press(one, "y") == [{"do": "answers", "view": "v7", "answers": {}}]


def test_the_screen_never_says_stopped_alone() -> None:
    screen = Screen("1")
    one = dialog("running", text="Running.")
    for state in ("running", "stop sent", "stop confirmed", "unknown"):
        screen.hear({"run": {"state": state, "elapsed_s": "3.2", "of_s": "8"}})
        one.run_state = state
        assert "stopped" not in drawn(screen, one)
    screen.hear({"error": {"what": "the pump still rests", "hint": "wait 8 s", "rule": "cool-down"}})
    assert "REFUSED: the pump still rests" in drawn(screen, one) and "do: wait 8 s" in drawn(screen, one)


def test_a_view_as_plain_lines_holds_all_that_is_asked() -> None:
    text = plain(
        {"title": "Pass 1", "text": "Read.", "caution": "Hot.", "kind": "reading", "unit": "bar", "low": "1 bar"}
    )
    assert text == "-- Pass 1\nRead.\nCAUTION: Hot.\nlimits: at least 1 bar, in bar"


def test_a_told_run_shows_how_long_it_stands_and_its_end_is_taken_with_the_first_touch() -> None:
    clock, one = ManualClock(), dialog("told", text="It runs", takes_s="11", buttons=[{"key": "e", "label": "ended"}])
    screen = Screen("J1", clock=clock)
    screen.draw(one)
    clock.advance(4)
    assert "4 s since this came up; it takes at least 11 s." in screen.draw(one).plain
    assert press(one, "e")[0]["key"] == "e", "a second touch would give it a later end"


def test_what_is_urgent_beside_a_view_stands_right_below_its_text() -> None:
    beside = {"Rest": "at least 10 s", "TOO LONG": "it runs for 25 s"}
    one = dialog("told", text="It runs", caution="Hot", shown=beside, buttons=[{"key": "e", "label": "ended"}])
    rows = [row.strip() for row in Screen("J1").draw(one).plain.splitlines() if row.strip()]
    assert rows[rows.index("It runs") + 1] == "TOO LONG: it runs for 25 s" and rows.index("Rest: at least 10 s") > 3


def test_a_step_that_takes_some_time_shows_how_long_it_stands_and_asks_once_about_an_answer_before() -> None:
    clock, one = ManualClock(), dialog("step", text="Hold it for a minute", takes_s="60", buttons=[DONE])
    screen = Screen("1", clock=clock, rate=2)
    screen.draw(one)
    clock.advance(10)
    assert "20 s since this came up; it takes at least 60 s." in screen.draw(one).plain
    assert press(one, "y") == [] and "only 20 s since this came up: did it last 60 s?" in one.complaint
    assert press(one, "y") == [{"do": "key", "view": "v7", "key": "y"}]
    clock.advance(20)
    assert "60 s since" in screen.draw(one).plain and one.early == ""
    one.show({**one.view, "id": "v8"})
    assert "0 s since this came up" in screen.draw(one).plain
    assert "it takes at least 60 s" in plain(one.view)


def test_a_step_that_was_given_its_time_is_answered_with_one_key() -> None:
    clock, one = ManualClock(), dialog("step", takes_s="60", buttons=[DONE])
    screen = Screen("1", clock=clock)
    screen.draw(one)
    clock.advance(60)
    screen.draw(one)
    assert press(one, "y") == [{"do": "key", "view": "v7", "key": "y"}]
