"""A comeback opens with what the job before left open, and with the passes that need a look."""

from __future__ import annotations

from typing import Any

import msgspec
from msgspec.structs import replace
from tests.cli.bay import PROCEDURE, Bay

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.cli.bay.screen import Screen
from witnessmark.host.closing import state_of
from witnessmark.job.screens.earlier_view import earlier_view
from witnessmark.job.steps import LEFT
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft


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
    (unproven,) = opened["earlier"]
    assert unproven.startswith("no proof of ") and "Was every nipple served?" in unproven, "one touch for all of them"
    assert not any("Released" in line or "as it was written" in line for line in opened["earlier"])
    state = state_of(bay.shop, second)
    assert state.point is not None and state.point.step is not None
    assert state.point.step.text.startswith("Left open by the job before: ")
    assert state.point.step.text.endswith("?\nPut it right, then look: is it as it must be?")
    ids = [one.step.id for one in state.points if one.step]
    assert ids.index("make-safe") == len(opened["earlier"])


def test_what_stood_open_on_the_vehicle_comes_first_then_each_unmet_item(bay: Bay) -> None:
    second = followed(bay)
    earlier = bay.entries(second)[0].body["earlier"]
    assert earlier[0] == "Nipple rear left is OPEN: close it."
    assert earlier[1].startswith("Was the container fresh? not met") and "no proof of" in earlier[2]


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


def test_all_that_is_without_proof_stands_in_lines_of_its_own_and_is_read_page_by_page_before_a_key_counts(
    bay: Bay,
) -> None:
    second = bay.open_job("--scope", f"follows {bay.open_job()}")
    dialog, screen = Dialog(), Screen(second)
    dialog.show(shown(bay, second, "no proof of"))
    read = [screen.draw(dialog, 80, 24).plain]
    assert dialog.pages == 2
    while dialog.press("y") is None:
        read.append(screen.draw(dialog, 80, 24).plain)
    titles = [line[2:] for line in bay.entries(second)[0].body["earlier"][0].splitlines()[1:]]
    assert len(read) == 2 and len(titles) > 20
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
        for number, said in ((1, ""), (2, "nobody can show it any more")):
            body = bodies.StepDone(step=f"earlier-{number}", act="confirmed", said=said)
            journal.append(Draft("step", second, "person:t-otter", body=bodies.to_body(body)))
    assert state_of(bay.shop, second).cursor == 2
    told = bay.fine("job", "show", second)
    assert "item 1: right now" in told and "item 2: stays so: nobody can show it any more" in told
