"""The invented procedures that ship: each is right, and each can be walked from its first step to its end."""

from __future__ import annotations

import json
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from tests.audit.shipped import QUESTIONS as BY_NUMBER
from tests.cli.test_procedure import fill_in
from tests.job.stand import LEAD, MemoryJournal, Stand

from witnessmark.audit.run import Audit, audit
from witnessmark.cli.procedure.new import TEMPLATE
from witnessmark.journal.entry import Draft
from witnessmark.mapping import load as maps
from witnessmark.procedure import load as procedures
from witnessmark.quantity import parse

DATA = Path(str(files("witnessmark_practice"))) / "data"
NUMBER = "0DU33EC1XN0000033"
VOLUMES = {"volume-removed": "240", "volume-in": "290", "volume": "150", "waste": "1450", "boiling-point": "150"}
FOUND = {"8101": "0008", "8102": "01", "8103": "00", "8104": "87"}
"""What the integrated unit tells: 0.8 bar stored, service mode, standing still, 13.5 V."""


class Walk(Stand):
    """A job of one shipped procedure, done well by a person who takes five seconds for each touch."""

    def __init__(self, name: str, map_name: str = "", text: str = "") -> None:
        self.table: dict[bytes, list[tuple[float, bytes]]] = {}
        text = text or (DATA / f"{name}.toml").read_text(encoding="utf-8")
        document = json.loads((DATA / f"{map_name}.json").read_text(encoding="utf-8")) if map_name else None
        if document is not None:
            self._speak(document)
        super().__init__(procedure=text, map_document=document, before=_signed_on)

    def start_runner(self) -> None:
        self.unit.table = dict(self.table)
        super().start_runner()

    def _speak(self, document: dict[str, Any]) -> None:
        said = {"1003": "5003006401F4", "22F190": f"62F190{NUMBER.encode().hex()}", "190209": "5902FF6A1000" + "2F"}
        said |= {f"22{one['identifier']}": f"62{one['identifier']}{one['value']}" for one in document["identification"]}
        said |= {f"22{name}": f"62{name}{value}" for name, value in FOUND.items()}
        for one in document["wire_commands"]:
            start = one["start"].replace("{seconds}", "0C")
            said |= {start: "7101" + start[4:8], one["stop"]: "7102" + one["stop"][4:8]}
        self.table = {bytes.fromhex(ask): [(0.02, bytes.fromhex(answer))] for ask, answer in said.items()}

    def follow(self) -> None:
        view = self.view
        if view["kind"] not in ("busy", "running", "armed", "arm"):
            self.wait(float(view.get("takes_s") or 5))
        if view["kind"] == "reading":
            self.read(_good(view), view["unit"])
        elif view["kind"] == "step" and view["buttons"][0]["key"] == "1":
            wanted = self.state.procedure
            said = ", ".join(part for part in (wanted.fluid, wanted.fluid_class) if part)
            self.press(next(one["key"] for one in view["buttons"] if one["label"] in (said, wanted.fluid)))
        elif view["kind"] == "done":
            self.press("f")
        else:
            super().follow()

    def to_the_end(self) -> Audit:
        for _ in range(300):
            if self.state.status == "finished":
                break
            self.follow()
        return audit(self.journal.of("J1"), tuple(BY_NUMBER.values()))


def _signed_on(journal: MemoryJournal) -> None:
    """A second person is here: some steps of the integrated unit are theirs."""
    journal.append(Draft("sign-on", None, LEAD.actor, body={"role": LEAD.role, "proven": "pin"}))


def _good(view: dict[str, Any]) -> str:
    if view["what"] == "volume-in" and view.get("pass_id"):
        return VOLUMES["volume"]  # what ran out is filled in again
    ends = [parse(text, place="limit").number for text in (view.get("low"), view.get("high")) if text]
    return VOLUMES.get(view["what"]) or str(sum(ends) / len(ends) if ends else Decimal(300))


@pytest.mark.parametrize(
    ("name", "map_name", "runs"),
    [("vacuum", "", 0), ("stored_pressure", "stored_pressure_map", 2)],
)
def test_it_is_walked_to_its_end_and_its_audit_finds_nothing_not_met(name: str, map_name: str, runs: int) -> None:
    stand = Walk(name, map_name)
    found = stand.to_the_end()
    stand.close()
    assert stand.state.status == "finished"
    assert len(stand.bodies("outcome")) == runs and len(stand.acts) == 2 * runs
    wrong = {one.number: one.text for one in found.findings if one.answer == "not met"}
    assert not wrong
    assert len([one for one in found.findings if one.answer == "met"]) >= 17
    seconds = {step.id for step in stand.state.procedure.steps_before if step.person == "second"}
    said_by = {one.body["step"]: one.done_by for one in stand.journal.of("J1") if one.kind == "step"}
    assert all(said_by[step] == LEAD.actor for step in seconds)


def test_a_new_procedure_that_was_filled_in_as_it_says_leaves_no_question_open() -> None:
    """Without a link: what reads number and codes taken out, and the question of the number left out."""
    blocks = fill_in(TEMPLATE.format(name="own")).split("\n\n")
    text = "\n\n".join(one for one in blocks if not any(act in one for act in ('"identify"', '"scan"', "codes-")))
    left = '[[leaves_out]]\nquestion = "1"\nwhy = "it has no control unit"\n\n[[nipples]]'
    stand = Walk("own", text=text.replace("[[nipples]]", left, 1))
    found = stand.to_the_end()
    stand.close()
    assert stand.state.status == "finished"
    still = {one.number for one in found.findings if one.answer not in ("met", "does not apply")}
    assert still == {30, 32, 37}, "not checked here, no dates of calibration here, and not released"


def test_stored_pressure_that_is_still_there_refuses_and_nothing_is_sent() -> None:
    stand = Walk("stored_pressure", "stored_pressure_map")
    stand.go_to("arm")
    stand.unit.table[bytes.fromhex("228101")] = [(0.02, bytes.fromhex("6281010708"))]
    stand.answer()
    stand.until(lambda: stand.errors)
    stand.close()
    assert "180 bar, wanted at most 3 bar" in stand.errors[-1]["what"] and stand.acts == []


def test_leaving_the_service_mode_comes_after_the_last_pass_and_before_the_pedal() -> None:
    steps = [one.id for one in procedures.load(DATA / "stored_pressure.toml").steps_after]
    assert steps.index("feed-off") < steps.index("leave-service-mode") < steps.index("pedal")


def test_a_leak_that_is_seen_after_the_service_mode_was_left_sends_no_hand_to_the_caliper() -> None:
    stand = Walk("stored_pressure", "stored_pressure_map")
    while stand.view.get("step") != "pedal":
        stand.follow()
    assert "NO HAND" not in stand.view["text"]
    stand.press("n", "it leaks")
    assert "NO HAND TO A NIPPLE OR A JOINT YET: the service mode was left" in stand.view["text"]
    stand.press("a")
    assert stand.view["step"] == "make-safe"
    while "mend it now" not in stand.view["text"]:
        stand.follow()
    asked = [one.body["step"] for one in stand.journal.of("J1") if one.kind in ("step", "reading")]
    assert asked[-4:] == ["make-safe", "wake", "service-mode", "let-off"]
    stand.close()


def test_procedure_and_map_fit_each_other() -> None:
    procedure = procedures.load(DATA / "stored_pressure.toml")
    known = maps.load(DATA / "stored_pressure_map.json")
    assert {one.wire_command for one in procedure.passes} == {one.id for one in known.wire_commands}
    assert {one.name for one in procedure.preconditions} == {one.name for one in known.conditions}


@pytest.mark.parametrize("name", ["procedure", "vacuum", "stored_pressure"])
def test_every_shipped_procedure_says_that_it_is_invented(name: str) -> None:
    assert procedures.load(DATA / f"{name}.toml").invented
