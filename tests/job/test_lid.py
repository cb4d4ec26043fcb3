"""The lid that comes off around a pass: the feed is let off for it, and put on and read behind the last such step."""

from __future__ import annotations

from typing import Any

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.resume import LONG_S

READ = 'id = "pressure"\ntext = "Restore it"\nact = "read"\nwhat = "feed-pressure"\nunit = "bar"\n'
FILL, TOP = (f'id = "{name}"\ntext = "{name} it up"\naffects = "refill"\n' for name in ("fill", "top"))
ON = 'id = "on"\ntext = "Put it under pressure"\naffects = "pressurise"\n'


def with_steps(before: tuple[str, ...] = (), after: tuple[str, ...] = (), procedure: str = PROCEDURE) -> str:
    """Return the procedure with these steps before and after each pass."""
    made = "".join(f"[[steps_before_each_pass]]\n{one}" for one in before)
    made += "".join(f"[[steps_after_each_pass]]\n{one}" for one in after)
    return procedure.replace("[[steps_after]]", f"{made}[[steps_after]]", 1)


def step(stand: Stand) -> None:
    """Do what the view shows, once."""
    if stand.view.get("step") == "let-off-to-fill":
        stand.press("o")
    elif stand.view.get("what") == "volume-in":
        stand.read("80", "mL")
    else:
        stand.follow()


def to_end(stand: Stand) -> list[str]:
    """Go to the end; return what was done at feed and reservoir, and each opening, in order."""
    for _ in range(80):
        if stand.view["kind"] == "done":
            break
        step(stand)
    assert stand.state.point is None, stand.view
    assert fold(stand.journal.of("J1")).points == stand.state.points
    stand.close()
    return fed(stand)


def fed(stand: Stand) -> list[str]:
    """Return what was done at feed and reservoir so far, and each opening, in order."""
    return [said for one in stand.journal.of("J1") if (said := _said(one.body))]


def _said(body: dict[str, Any]) -> str:
    if body.get("act") == "opened":
        return f"open {body['nipple']}"
    if body.get("what") == "feed-pressure":
        return "read"
    names = {"let-off-to-fill": "off", "pressurise": "on", "on": "on", "fill": "fill", "top": "top", "lid": "lid"}
    return names.get(str(body.get("step", "")), "")


RR, RL = "open rr", "open rl"


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        ((FILL,), (), f"on off fill on read {RR} off fill on {RL}"),
        ((READ, FILL), (), f"on read off fill on read {RR} read off fill on read {RL}"),
        ((READ, FILL, TOP), (), f"on read off fill top on read {RR} read off fill top on read {RL}"),
        ((FILL, READ, TOP), (), f"on off fill top on read {RR} off fill top on read {RL}"),
        ((), (FILL,), f"on read {RR} off fill on {RL} off fill"),
        ((READ,), (FILL, TOP), f"on read {RR} off fill top on read {RL} off fill top"),
        ((READ, TOP), (FILL,), f"on read off top on read {RR} off fill top on read {RL} off fill"),
        ((FILL, ON), (), f"on off fill on read {RR} off fill on {RL}"),
        ((ON, READ, FILL), (), f"on on read off fill on read {RR} on read off fill on read {RL}"),
    ],
)
def test_each_lid_step_is_done_and_then_the_feed_is_put_on_and_read_once(
    before: tuple[str, ...], after: tuple[str, ...], expected: str
) -> None:
    assert " ".join(to_end(Stand(procedure=with_steps(before, after)))) == expected


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("open", f"on read off fill on read {RR} off fill on read {RL} {RR} read off fill on read {RL}"),
        ("close", f"on read off fill on read {RR} {RL} off fill fill on read {RL}"),
    ],
)
def test_a_filling_taken_up_with_a_nipple_open_is_done_once_and_the_feed_put_on_behind_it(
    kind: str, expected: str
) -> None:
    both = PROCEDURE.replace('nipples = ["rr"]', 'nipples = ["rr", "rl"]')
    stand = Stand(procedure=with_steps((READ, FILL + "may_repeat = true\n"), procedure=both))
    while not (stand.state.open_nipples and stand.view["kind"] == kind):
        step(stand)
    stand.press(next(one["key"] for one in stand.view["buttons"] if one["label"].startswith("again")))
    assert " ".join(to_end(stand)) == expected


def test_a_feed_let_off_in_a_pause_before_a_lid_step_is_put_on_behind_it() -> None:
    stand = Stand(procedure=with_steps((READ, FILL, TOP)))
    while stand.view.get("step") != "let-off-to-fill":
        step(stand)
    stand.press("o")
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("r")
    assert " ".join(to_end(stand)) == f"on read off fill top on read {RR} read off fill top on read {RL}"


def test_a_pause_between_the_filling_and_the_feed_has_its_pressure_read_once_and_behind_it() -> None:
    stand = Stand(procedure=with_steps((READ, FILL)))
    while fed(stand)[-1:] != ["fill"]:
        step(stand)
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("r")
    assert " ".join(to_end(stand)) == f"on read off fill on read {RR} read off fill on read {RL}"


def test_with_another_pass_first_the_feed_is_put_on_behind_the_lid_step_of_that_one() -> None:
    second = PROCEDURE[PROCEDURE.index('[[passes]]\nid = "p2"') : PROCEDURE.index("[[steps_after_each_pass]]")]
    three = PROCEDURE.replace(second, second + second.replace('"p2"', '"p3"'))
    measured = TOP + 'act = "volume"\nwhat = "volume-in"\nunit = "mL"\n'
    stand = Stand(procedure=with_steps((READ, measured), (FILL,), three))
    while fed(stand)[-1:] != ["fill"]:
        step(stand)
    stand.press("t", "p3 the hose is there")
    assert (stand.view["step"], stand.view["pass_id"]) == ("top", "p3") and not stand.state.pressurised
    around = f"off fill top on read {RL}"
    assert " ".join(to_end(stand)) == f"on read off top on read {RR} {around} {around} off fill"


LID = '[[steps_before]]\nid = "lid"\ntext = "Fit the lid"\naffects = "feed-on"\n'


def with_lid(**steps: Any) -> str:
    """Return a procedure whose lid is fitted at a step of its own, before the one that puts the feed on."""
    text = with_steps(**steps)
    at = text.index('[[steps_before]]\nid = "pressurise"')
    return f"{text[:at]}{LID}{text[at:]}"


def test_a_lid_that_is_fitted_at_a_step_of_its_own_is_fitted_again_before_the_feed_is_put_on_again() -> None:
    expected = f"lid on read {RR} off fill lid on {RL} off fill"
    assert " ".join(to_end(Stand(procedure=with_lid(after=(FILL,))))) == expected


AT_ONCE = PROCEDURE.replace('id = "pressurise"', 'id = "lid"', 1)
AT_ONCE = AT_ONCE.replace('affects = "pressurise"', 'affects = "feed-on"\nalso = ["pressurise"]', 1)


def test_a_lid_is_not_fitted_again_under_pressure_once_the_job_lay() -> None:
    stand = Stand(procedure=AT_ONCE)
    stand.go_to("open", "p1")
    stand.send(do="pause", why="evening")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("n")
    stand.clock.advance(LONG_S)
    stand.press("r")
    before = len(fed(stand))
    while stand.view["kind"] != "open":
        step(stand)
    again = fed(stand)[before:]
    assert again == ["off", "lid", "read"]
    stand.close()
