"""The doctor tells every plugin of every kind with who ships it; listing marks what shows without an import."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.host.installing import Install

from witnessmark import plugin
from witnessmark.audit.question import GROUP as QUESTIONS
from witnessmark.cli.main import witnessmark
from witnessmark.clock import ManualClock
from witnessmark.errors import PluginError
from witnessmark.host import plugins
from witnessmark.host.extending import plugin_source, questions
from witnessmark.host.extending.decoders import DECODERS, Decoders

LINK = (
    "from witnessmark.plugin import hookimpl\n"
    "ADDRESS = 'nowhere:ANY'\n"
    "@hookimpl\n"
    "def open_link(address, clock, listen_only): ...\n"
)
DECODER = (
    "from witnessmark.plugin import hookimpl\n@hookimpl\ndef identify(unit, service, identifier, value): return None\n"
)
QUESTION = (
    "from witnessmark.plugin import Question, Verdict, hookimpl\n"
    "def answer(case): return Verdict('no proof', 'nobody looked')\n"
    "@hookimpl\n"
    "def audit_questions(): return [Question(1234, 'dry-floor', 'Was the floor dry?', answer)]\n"
)


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Install:
    return Install(tmp_path, monkeypatch)


def said(*command: str, code: int) -> str:
    shown = CliRunner().invoke(witnessmark, [*command])
    assert shown.exit_code == code, shown.output
    return shown.output


def below(text: str, heading: str) -> str:
    """Return what stands under one heading of the doctor, its wrapped lines joined."""
    _, _, rest = text.partition(f"{heading}:\n")
    lines = rest.splitlines()
    end = next((n for n, line in enumerate(lines) if not line.startswith(" ")), len(lines))
    return " ".join(" ".join(lines[:end]).split())


def test_decoders_and_questions_are_told_with_who_ships_them(install: Install) -> None:
    install("floor", QUESTION, "floor-things", QUESTIONS)
    install("gauge", DECODER, "gauge-things", DECODERS)
    told = said("doctor", code=0)
    assert f"plugin interface {plugin.API_VERSION}, contract of the adapters {plugin.CONTRACT_VERSION}" in told
    assert "practice witnessmark" in below(told, "decoders") and "gauge gauge-things 2.5 ok" in below(told, "decoders")
    asked = below(told, "audit questions")
    assert "floor-things 2.5 1 ok: floor" in asked and "37 ok: altered, answered, clock-steps" in asked


@pytest.mark.parametrize(
    ("group", "heading", "source", "why"),
    [
        (DECODERS, "decoders", "raise RuntimeError('no tables')", "cannot be imported: RuntimeError: no tables"),
        (DECODERS, "decoders", "import sys; sys.exit(3)", "cannot be imported: SystemExit: 3"),
        (DECODERS, "decoders", "x = 1", "it implements no identify"),
        (DECODERS, "decoders", DECODER.replace("unit, ", ""), ""),
        (DECODERS, "decoders", DECODER.replace("unit,", "units,"), "a hook does not fit"),
        (QUESTIONS, "audit questions", "raise RuntimeError('no tables')", "RuntimeError: no tables"),
        (QUESTIONS, "audit questions", "x = 1", "it implements no audit_questions"),
        (QUESTIONS, "audit questions", QUESTION.replace("1234", "1"), "question 1 (dry-floor) is already there"),
    ],
)
def test_a_broken_one_of_any_kind_is_named_with_its_reason(
    install: Install, group: str, heading: str, source: str, why: str
) -> None:
    install("faulty", source, group=group)
    if not why:  # a hook may take fewer arguments than it is offered
        assert "faulty bay-things 2.5 ok" in below(said("doctor", code=0), heading)
        return
    told = said("doctor", code=1)
    assert f"faulty bay-things 2.5 BROKEN: {why}" in below(told, heading) and " do: " in below(told, heading)
    assert told.rstrip().endswith("faulty cannot be used; all others work.")


@pytest.mark.parametrize(("group", "source"), [(plugins.ADAPTERS, LINK), (DECODERS, DECODER), (QUESTIONS, QUESTION)])
@pytest.mark.parametrize(
    ("stated", "host", "why", "hint"),
    [
        ("2", 1, "written for plugin interface 2, this host has 1", "install a newer Witnessmark"),
        ("1", 2, "written for plugin interface 1, this host has 2", "a version of bay-things for plugin interface 2"),
        (None, 2, "written for plugin interface 1, this host has 2", "a version of bay-things for plugin interface 2"),
        ("'one'", 1, "API_VERSION is 'one', not the number of a plugin interface", "API_VERSION = 1"),
    ],
)
def test_a_plugin_for_another_interface_is_refused_with_what_to_do(
    install: Install,
    monkeypatch: pytest.MonkeyPatch,
    group: str,
    source: str,
    stated: str | None,
    host: int,
    why: str,
    hint: str,
) -> None:
    monkeypatch.setattr("witnessmark.host.extending.plugin_version.API_VERSION", host)
    install("faulty", source + ("" if stated is None else f"API_VERSION = {stated}\n"), group=group)
    told = said("doctor", code=1)
    assert f"faulty       bay-things 2.5  BROKEN: {why}" in told and hint in told
    if group == plugins.ADAPTERS:
        with pytest.raises(PluginError, match="plugin interface"):
            plugins.open_link("faulty:1", ManualClock())
        assert f"BROKEN: {why}" in said("adapters", code=0)
    elif group == DECODERS:
        assert "faulty" in {error.plugin for error in Decoders().load()}
    else:
        assert "faulty" in {error.plugin for error in questions.load().broken}


def test_one_for_this_interface_and_one_that_states_none_are_used(install: Install) -> None:
    install("stated", LINK + f"API_VERSION = {plugin.API_VERSION}\n")
    install("silent", LINK)
    told = said("doctor", code=0)
    assert "stated       bay-things 2.5  ok\n" in told and "silent       bay-things 2.5  ok\n" in told


def test_an_adapter_proven_against_an_older_contract_works_and_is_told(
    install: Install, monkeypatch: pytest.MonkeyPatch
) -> None:
    install("older", LINK + "CONTRACT_VERSION = 1\n")
    monkeypatch.setattr("witnessmark.host.survey.CONTRACT_VERSION", 2)
    told = said("doctor", code=0)
    assert "older        bay-things 2.5  ok\n" in told
    assert "proven against contract 1; this kit has 2: run its tests again" in told


@pytest.mark.parametrize(
    ("source", "why"),
    [
        ("def broken(:\n", " line 1: invalid syntax"),
        ("import nothing_like_this.inside\n", "it imports nothing_like_this, which is not installed"),
        ("from nothing_like_this import that\n", "it imports nothing_like_this, which is not installed"),
        (None, "there is no module bay_things_nowhere_"),
    ],
)
def test_listing_marks_what_is_broken_and_still_imports_nothing(install: Install, source: str | None, why: str) -> None:
    install("nowhere", source)
    install("loud", 'ADDRESS = "loud:ANY"\nraise RuntimeError("imported")\n')
    told = said("adapters", code=0)
    lines = told.splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("nowhere:"))
    assert "BROKEN: " in lines[at + 1] and why in lines[at + 1] and "do: " in lines[at + 2]
    assert "BROKEN" not in lines[next(number for number, line in enumerate(lines) if line.startswith("loud:")) + 1]
    assert "`witnessmark doctor`" in lines[-1]


@pytest.mark.parametrize("group", [plugins.ADAPTERS, DECODERS, QUESTIONS])
def test_an_entry_point_that_names_no_module_is_told_and_ends_nothing(install: Install, group: str) -> None:
    install("nowhere", LINK, group=group, points_at="bay-things-nowhere")
    assert "nowhere      bay-things 2.5  BROKEN: " in said("doctor", code=1)
    if group == plugins.ADAPTERS:
        assert "BROKEN: its entry point names 'bay-things-nowhere', which is no name of a module" in said(
            "adapters", code=0
        )


def test_listing_and_the_doctor_mark_both_of_two_that_ship_one_scheme(install: Install) -> None:
    install("nowhere", LINK)
    install("nowhere", LINK, "other-things")
    why = "BROKEN: two distributions ship the scheme: bay-things and other-things"
    assert said("adapters", code=0).count(why) == 2
    assert said("doctor", code=1).count(why) == 2


def test_two_that_chose_one_name_for_their_questions_are_both_asked(install: Install) -> None:
    install("floor", QUESTION, group=QUESTIONS)
    install("floor", QUESTION.replace("1234", "1235").replace("dry-floor", "wet-floor"), "other-things", QUESTIONS)
    asked = below(said("doctor", code=0), "audit questions")
    assert "bay-things 2.5 1 ok: floor" in asked and "other-things 2.5 1 ok: floor" in asked
    assert {"dry-floor", "wet-floor"} <= {one.id for one in questions.load().asked}


def test_a_question_that_another_has_taken_is_named_and_the_first_stays(install: Install) -> None:
    install("floor", QUESTION, group=QUESTIONS)
    install("ground", QUESTION, "other-things", QUESTIONS)
    told = below(said("doctor", code=1), "audit questions")
    assert "ground other-things 2.5 BROKEN: question 1234 (dry-floor) is already there" in told
    assert "1 ok: floor" in told


def test_no_plugin_takes_the_place_of_a_shipped_question(install: Install) -> None:
    install("floor", QUESTION.replace("1234", "1"), "aaa-things", QUESTIONS)
    assert [one.id for one in questions.load().asked if one.number == 1] == ["vehicle"]


def test_the_shipped_plugins_state_what_they_were_written_for() -> None:
    ours = [one for one in plugins.installed() if one.distribution == "witnessmark"]
    assert len(ours) >= 5 and all(one.contract == plugin.CONTRACT_VERSION for one in ours)
    assert all(plugin_source.read(one.module).api == plugin.API_VERSION for one in ours)
