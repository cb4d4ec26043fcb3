"""A comeback opens with what the job before left open, and with the passes that need a look."""

from __future__ import annotations

from typing import Any

import msgspec
from click.testing import Result
from msgspec.structs import replace
from tests.cli.bay import PROCEDURE, VIN, Bay
from tests.host.test_carding import Blanks

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.cli.bay.screen import Screen
from witnessmark.host.closing import state_of
from witnessmark.job.screens.earlier_view import earlier_view
from witnessmark.job.walk.steps import LEFT, THE_RECORD
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft
from witnessmark.procedure.mending import REPLACED
from witnessmark.procedure.safe import ONCE_SAFE


def followed(bay: Bay) -> str:
    """Open a job that follows one which left a nipple open and read an old container; return its id."""
    first = bay.open_job()
    opened = bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")
    age = bodies.Reading(what="container-age", amount=bodies.Amount("300", "d"), step="container-age")
    with bay.shop.write() as journal:
        for kind, body in (("step", opened), ("reading", age)):
            journal.append(Draft(kind, first, "person:t-otter", body=bodies.to_body(body)))
    return bay.open_job("--scope", f"follows {first}")


def test_it_begins_with_the_open_items_of_the_job_before_and_goes_on_with_its_passes(bay: Bay) -> None:
    first = bay.open_job()
    second = bay.open_job("--scope", f"follows {first}")
    opened = bay.entries(second)[0].body
    assert opened["scope"] == f"follows {first} p1,p2,p3,p4,p5,p6,p7,p8"
    unproven, record = opened["earlier"]
    assert unproven.startswith(f"{ONCE_SAFE}no proof of ") and "Is the level right?" in unproven, (
        "one touch for all of them"
    )
    assert record.startswith(f"{THE_RECORD}.\n- ") and "- Was every nipple served? no proof" in record
    assert not any("Released" in line or "as it was written" in line for line in opened["earlier"])
    state = state_of(bay.shop, second)
    assert state.point is not None and state.point.step is not None
    assert state.point.step.text.startswith("Left open by the job before: ")
    looked = next(one.step for one in state.points if one.step is not None and one.step.id == "earlier-1")
    assert looked.text.endswith("?\nPut it right, then look: is it as it must be?")
    ids = [one.step.id for one in state.points if one.step]
    assert ids[0] == "earlier-2", "what is only read, and then what is to be looked at, once it is made safe"
    assert ids.index("earlier-1") == ids.index("make-safe") + 1


def test_what_stood_open_on_the_vehicle_comes_first_then_each_unmet_item(bay: Bay) -> None:
    second = followed(bay)
    earlier = bay.entries(second)[0].body["earlier"]
    assert earlier[0] == "Nipple rear left is OPEN: close it."
    assert earlier[1].startswith(f"{ONCE_SAFE}Was the container fresh? not met") and "no proof of" in earlier[2]


def leaked(bay: Bay, *more: bodies.StepDone) -> str:
    """Open a job of the rear that leaks at the pedal; return its id."""
    job = bay.open_job("--scope", "nipples rear-right")
    leaks = ("leak-check", "pedal-check")
    acts = [
        bodies.StepDone(step="open", act="opened", pass_id="p5", nipple="rear-right"),
        bodies.StepDone(step="close", act="closed", pass_id="p5", nipple="rear-right"),
        bodies.StepDone(step="pedal", act="skipped", looked=True, said="it leaks", also=leaks),
        *more,
    ]
    with bay.shop.write() as journal:
        for body in acts:
            journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(body)))
    return job


def test_what_a_mend_opened_is_bled_by_the_comeback_and_what_still_leaks_is_looked_at_first(bay: Bay) -> None:
    replaced = bodies.StepDone(step="mended", act="confirmed", answer=REPLACED)
    first = leaked(bay, replaced, bodies.StepDone(step="mended-at", act="confirmed", answer="front"))
    opened = bay.entries(bay.open_job("--scope", f"follows {first}"))[0].body
    assert opened["scope"] == f"follows {first} p3,p4,p5,p6,p7", "the front was opened, and the rear was not finished"
    *looked_at, record = opened["earlier"]
    assert (
        looked_at[0].startswith(f"{ONCE_SAFE}Leak check, pedal and road test done? not met: ")
        and "it leaks" in looked_at[0]
    )
    assert (
        "Opened for a mend, or perhaps, and not shown bled after it: circuit front. Bled in this job: p3, p4, p6, p7."
        in record
    )
    named = bay.open_job("--scope", f"follows {first} p5")
    assert bay.entries(named)[0].body["plan"] == ["p3", "p4", "p5", "p6", "p7"]


def test_picked_words_of_a_no_are_shown_own_words_are_not_and_long_steps_by_how_they_begin(bay: Bay) -> None:
    own = bodies.StepDone(step="road-test", act="skipped", looked=True, said="she was late", affects="road-test")
    opened = bay.entries(bay.open_job("--scope", f"follows {leaked(bay, own)}"))[0].body
    (item,) = (
        one.removeprefix(ONCE_SAFE) for one in opened["earlier"] if "Leak check" in one and THE_RECORD not in one
    )
    assert item == (
        "Leak check, pedal and road test done? not met: Pump the pedal until it is firm, then hold it down for a ...: "
        "looked at, and not right: it leaks; Off the supports. Drive and brake from walking pace, ...: "
        "looked at, and not right: (in words there)"
    )


def test_named_passes_are_kept_and_a_job_that_is_not_there_is_refused(bay: Bay) -> None:
    first = bay.open_job()
    second = bay.open_job("--scope", f"follows {first} p2,p5")
    assert bay.entries(second)[0].body["plan"] == ["p2", "p5"]
    words = ("job", "open", "--procedure", PROCEDURE, "--grade", "told", "--vehicle", "v", "--scope")
    for scope in ("follows 991231-9", "follows", "follows 1 2 3"):
        assert bay.run(*words, scope).exit_code == 2, scope


def shown(bay: Bay, job: str, thing: str) -> dict[str, Any]:
    """Return the view of what the job before left open that begins so."""
    points = state_of(bay.shop, job).points
    point = next(one for one in points if one.step is not None and one.step.text.startswith(f"{LEFT} {thing}"))
    view: dict[str, Any] = msgspec.to_builtins(replace(earlier_view("Bleed", point), id="1"))
    return view


def test_all_that_only_the_record_could_show_stands_in_lines_of_its_own_and_is_read_page_by_page_before_a_key_counts(
    bay: Bay,
) -> None:
    second = bay.open_job("--scope", f"follows {bay.open_job()}")
    dialog, screen = Dialog(), Screen(second)
    dialog.show(shown(bay, second, THE_RECORD))
    read = [screen.draw(dialog, 80, 24).plain]
    assert dialog.pages == 2
    while dialog.press("y") is None:
        read.append(screen.draw(dialog, 80, 24).plain)
    titles = [line[2:] for line in bay.entries(second)[0].body["earlier"][1].splitlines()[1:]]
    assert len(read) == 2 and len(titles) > 15
    for title in titles:
        assert any(f"- {title}" in page for page in read)
    assert "read on first" in read[1] and dialog.press("y") == {"do": "key", "view": "1", "key": "y"}


def test_a_key_says_what_was_done_and_what_cannot_be_put_right_stays_so_with_a_reason(bay: Bay) -> None:
    second = followed(bay)
    labels = {
        thing: {one["key"]: one["label"] for one in shown(bay, second, thing)["buttons"]}
        for thing in ("Nipple rear left", "Was the container fresh? not met", "no proof of")
    }
    assert [*labels["Nipple rear left"]] == ["y", "n"], "what stands open is closed: no reason leaves it so"
    assert all([*keys] == ["y", "k", "n"] for thing, keys in labels.items() if not thing.startswith("Nipple"))
    assert {keys["y"] for keys in labels.values()} == {
        "closed, let off: looked at, at the vehicle",
        "it is right now: looked at, at the vehicle",
        "each is right now: looked at, at the vehicle",
    }
    with bay.shop.write() as journal:
        last = len(bay.entries(second)[0].body["earlier"])
        for step, act, said in (
            ("earlier-1", "confirmed", ""),
            (f"earlier-{last}", "done", ""),
            ("make-safe", "done", ""),
            ("earlier-2", "confirmed", "nobody can show it any more"),
        ):
            body = bodies.StepDone(step=step, act=act, said=said)  # type: ignore[arg-type]
            journal.append(Draft("step", second, "person:t-otter", body=bodies.to_body(body)))
    assert state_of(bay.shop, second).cursor == 4
    told = bay.fine("job", "show", second)
    assert "left open by the job before, Nipple rear left is OPEN: close it: right now" in told
    assert "Was the container fresh? not met: " in told and ": stays so: nobody can show it any more" in told


def test_what_only_the_earlier_record_could_show_is_read_with_one_key_and_every_paper_says_no_more_of_it(
    bay: Bay,
) -> None:
    second = followed(bay)
    view = shown(bay, second, THE_RECORD)
    assert [one["label"] for one in view["buttons"]] == ["read: nothing of it is said to be right"]
    assert "Put it right" not in view["text"] and "Was every nipple served?" in view["text"]
    number = len(bay.entries(second)[0].body["earlier"])
    read = bodies.StepDone(step=f"earlier-{number}", act="done")
    with bay.shop.write() as journal:
        journal.append(Draft("step", second, "person:t-otter", body=bodies.to_body(read)))
    said = f"left open by the job before, {THE_RECORD}: "
    (line,) = (one for one in bay.fine("job", "show", second).splitlines() if said in one)
    assert "Was every nipple served?" in line and line.endswith(": read")
    bay.fine("sheet", second, "-o", bay.folder / "sheet.html")
    sheet = (bay.folder / "sheet.html").read_text(encoding="utf-8")
    assert said in sheet and "right now" not in sheet and f"item {number}" not in sheet


OTHER_VIN = "1J9RP1A36A1644345"


def test_a_comeback_is_to_the_vehicle_of_the_job_it_follows_by_its_number_and_what_else_it_rests_on_is_said(
    bay: Bay,
) -> None:
    def opened(follows: str, *more: str, vehicle: str = "depot-14") -> Result:
        words = ("job", "open", "--procedure", PROCEDURE, "--grade", "told", "--scope", f"follows {follows}")
        return bay.run(*words, "--vehicle", vehicle, *more)

    first = bay.open_job("--vin", VIN)
    refused = opened(first, "--vin", OTHER_VIN, vehicle="other-9")
    assert refused.exit_code == 2 and f"its VIN is {VIN}, not {OTHER_VIN}" in str(refused.exception)
    assert len(bay.entries(kind="job-opened")) == 1
    assert "calls" not in opened(first, "--vin", VIN).output
    named = opened(first, "--vin", VIN, vehicle="other-9")
    assert named.exit_code == 0 and f"job {first} calls this vehicle 'depot-14', not 'other-9'" in named.output
    assert "rests on what you say; both are called 'depot-14'" in opened(first).output
    plated = bay.open_job("--plate", "TT 100")
    assert opened(plated, "--plate", "TT 200").exit_code == 2
    assert "rests on" not in opened(plated, "--plate", "tt100").output


def test_not_finished_on_this_vehicle_names_no_job_of_another_number_that_had_its_plate(bay: Bay) -> None:
    first = bay.open_job("--vin", OTHER_VIN, "--plate", "TT 100")
    words = ("--procedure", PROCEDURE, "--grade", "told", "--vehicle", "v", "--vin", VIN, "--plate", "TT 100")
    assert first not in bay.run("job", "open", *words).stderr


def test_the_card_of_a_comeback_has_what_its_job_asks_for(bay: Bay) -> None:
    job = followed(bay)
    first = str(bay.entries(job)[0].body["scope"]).split()[1]
    page = bay.folder / "card.html"
    bay.fine("card", PROCEDURE, "--scope", f"follows {first}", "-o", page)
    walked = [one.split("|")[1] for one in Blanks(page.read_text(encoding="utf-8")).named if one.startswith("|")]
    asked = [point.id for point in state_of(bay.shop, job).points]
    assert asked[0] == "earlier-1" and [*dict.fromkeys(walked)] == asked
    refused = bay.run("card", PROCEDURE, "--scope", "follows 991231-9", "-o", page)
    assert refused.exit_code == 2 and "991231-9" in str(refused.exception)
